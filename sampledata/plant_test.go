package sampledata

import (
	"flag"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
)

var update = flag.Bool("update", false, "write the embedded demo files anew")

func TestDemoPlantIsTheMachine(t *testing.T) {
	files := Demo().PlantFiles()
	if *update {
		if err := Demo().WritePlant("demo/plant"); err != nil {
			t.Fatal(err)
		}
	}
	for name, want := range files {
		got, err := os.ReadFile(filepath.Join("demo/plant", name))
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
