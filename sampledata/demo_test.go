package sampledata

import (
	"bytes"
	"compress/gzip"
	"flag"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"testing"
	"time"
)

var update = flag.Bool("update", false, "write the embedded demo anew")

func TestMain(m *testing.M) {
	flag.Parse()
	if *update {
		// The embedded files are compiled in: what is written now shows in the next run.
		if err := os.RemoveAll("demo"); err != nil {
			panic(err)
		}
		if _, err := WriteDemo("demo", DemoScenario()); err != nil {
			panic(err)
		}
	}
	os.Exit(m.Run())
}

func TestDemoPlantIsTheMachine(t *testing.T) {
	files := Demo().PlantFiles()
	for name, want := range files {
		got, err := fs.ReadFile(PlantFS(), name)
		if err != nil {
			t.Fatal(err)
		}
		if string(got) != want {
			t.Errorf("%s differs from the machine: run go test ./sampledata -update", name)
		}
	}
	entries, err := fs.ReadDir(PlantFS(), ".")
	if err != nil {
		t.Fatal(err)
	}
	if len(entries) != len(files) {
		t.Errorf("%d files embedded, the machine writes %d", len(entries), len(files))
	}
}

func TestDemoNightIsTheScenarioPlayed(t *testing.T) {
	if runtime.GOARCH != "amd64" {
		t.Skip("other processors may round a product and a sum together, and then a last digit differs")
	}
	var played bytes.Buffer
	truth, err := Prepare(Demo()).WriteCSV(DemoScenario(), &played)
	if err != nil {
		t.Fatal(err)
	}
	packed, err := gzip.NewReader(bytes.NewReader(NightGz()))
	if err != nil {
		t.Fatal(err)
	}
	stored, err := io.ReadAll(packed)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(stored, played.Bytes()) {
		t.Error("the embedded night differs from the scenario: run go test ./sampledata -update")
	}
	if !bytes.Equal(embedded("truth.json"), truth.text()) || !bytes.Equal(DemoTruth().text(), truth.text()) {
		t.Error("the embedded truth differs from the scenario: run go test ./sampledata -update")
	}
	if size := len(NightGz()); size >= 1_000_000 {
		t.Errorf("the embedded night has %d bytes, must stay under 1 MB", size)
	}
}

func TestWriteDemo(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "demo")
	s := DemoScenario()
	s.Length, s.Faults = time.Hour, nil
	files, err := WriteDemo(dir, s)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range files {
		if _, err := os.Stat(name); err != nil {
			t.Error(err)
		}
	}
	// The demo's planned stop lies outside the first hour: no planned.csv.
	if want := len(Demo().PlantFiles()) - 1 + 2; len(files) != want {
		t.Errorf("%d files, want %d", len(files), want)
	}
	if _, err := WriteDemo(dir, s); err == nil {
		t.Error("a folder with files in it was written over")
	}
	s.Faults = []Fault{{Kind: "water_detuning", Place: "nowhere"}}
	other := filepath.Join(t.TempDir(), "other")
	if _, err := WriteDemo(other, s); err == nil {
		t.Error("a fault at no place was accepted")
	}
	if _, err := os.Stat(other); err == nil {
		t.Error("a refused scenario left files behind")
	}
}

func TestPlantFilesAreStable(t *testing.T) {
	if !maps.Equal(Build(24, 3).PlantFiles(), Build(24, 3).PlantFiles()) {
		t.Error("the same seed gives two machines")
	}
	if maps.Equal(Build(24, 3).PlantFiles(), Build(24, 4).PlantFiles()) {
		t.Error("two seeds give the same machine")
	}
	names := slices.Sorted(maps.Keys(Build(24, 3).PlantFiles()))
	if want := []string{"plant.toml", "stations.csv", "structures.csv"}; !slices.Equal(names, want) {
		t.Errorf("got %v, want %v", names, want)
	}
}
