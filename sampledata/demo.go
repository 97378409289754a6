package sampledata

import (
	"compress/gzip"
	"embed"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"time"
)

//go:embed demo
var demoFiles embed.FS

// NightName is the file name of the demo night.
const NightName = "harrow-fen-2026-02-17.csv.gz"

// PlantFS returns the plant folder of the demo linac.
func PlantFS() fs.FS {
	plant, err := fs.Sub(demoFiles, "demo/plant")
	if err != nil {
		panic(err) // the folder is compiled in
	}
	return plant
}

// NightGz returns the demo night as it is stored: wide CSV, gzip.
func NightGz() []byte { return embedded(NightName) }

// DemoTruth returns what truly happened in the demo night.
func DemoTruth() Truth {
	var t Truth
	if err := json.Unmarshal(embedded("truth.json"), &t); err != nil {
		panic(err) // compiled in
	}
	return t
}

func embedded(name string) []byte {
	data, err := demoFiles.ReadFile("demo/" + name)
	if err != nil {
		panic(err) // compiled in
	}
	return data
}

var demoStart = time.Date(2026, time.February, 17, 18, 30, 0, 0, time.UTC)

// Demo returns the demo linac: twelve stations at an invented place.
func Demo() Machine {
	m := Build(12, 7)
	m.Name = "Harrow Fen"
	m.Waypoints[1].RequiredEnergyMeV = 758
	m.Tolerances = []string{
		"beam_energy,chicane,relative,0.25,0.8,%",
		"vacuum_pressure,S01,ratio,4,12,1",
	}
	m.Planned = []Planned{{
		From:  demoStart.Add(3 * time.Hour),
		To:    demoStart.Add(3*time.Hour + 40*time.Minute),
		Place: "S12",
		Note:  "spare off for a fan change",
	}}
	return m
}

// DemoScenario returns the demo night.
func DemoScenario() Scenario {
	return Scenario{
		Seed:     20260217,
		Start:    demoStart,
		Length:   12 * time.Hour,
		Interval: 30 * time.Second,
		Faults:   DemoFaults(),
	}
}

// DemoFaults returns what goes wrong in the demo night: a handful to learn from.
func DemoFaults() []Fault {
	return []Fault{
		{Kind: "water_detuning", Place: "S06B", Size: 0.5, After: 4 * time.Hour, Ramp: 150 * time.Minute},
		{Kind: "temperature_sensor", Place: "S10A", Size: 0.5, After: 390 * time.Minute, Ramp: 2 * time.Hour},
		{Kind: "compressor_detuning", Place: "S04", Size: 0.6, After: 135 * time.Minute, Ramp: 2 * time.Hour},
		{Kind: "modulator_voltage", Place: "S07", Size: -0.9, After: 270 * time.Minute, Ramp: 5 * time.Hour},
		{Kind: "trips", Place: "S11", Size: 11, After: 3 * time.Hour, Ramp: 7 * time.Hour},
		{Kind: "data_gap", Place: "S03", Size: 35, After: 462 * time.Minute},
	}
}

// WriteDemo writes the demo linac's plant folder into dir/plant, the scenario's
// night beside it and the truth in truth.json, and returns the names of the
// files, the night first. A folder with something in it is left alone.
func WriteDemo(dir string, s Scenario) ([]string, error) {
	if entries, err := os.ReadDir(dir); err == nil && len(entries) > 0 {
		return nil, fmt.Errorf("write demo: %s is not empty; name a new folder", dir)
	}
	m := Demo()
	m.Planned = slices.DeleteFunc(m.Planned, func(p Planned) bool {
		return !p.From.Before(s.end()) || !p.To.After(s.Start)
	})
	l := Prepare(m)
	if _, err := l.newNight(s); err != nil {
		return nil, err // before anything is written
	}
	if err := m.WritePlant(filepath.Join(dir, "plant")); err != nil {
		return nil, err
	}
	night := filepath.Join(dir, "harrow-fen-"+s.Start.UTC().Format(time.DateOnly)+".csv.gz")
	truth, err := l.writeNight(night, s)
	if err != nil {
		return nil, err
	}
	told := filepath.Join(dir, "truth.json")
	if err := os.WriteFile(told, truth.text(), 0o644); err != nil {
		return nil, fmt.Errorf("write truth: %w", err)
	}
	files := []string{night, told}
	for _, name := range slices.Sorted(maps.Keys(m.PlantFiles())) {
		files = append(files, filepath.Join(dir, "plant", name))
	}
	return files, nil
}

func (l *Linac) writeNight(name string, s Scenario) (Truth, error) {
	file, err := os.Create(name)
	if err != nil {
		return Truth{}, fmt.Errorf("write night: %w", err)
	}
	truth, err := l.writeGz(s, file)
	if closed := file.Close(); err == nil {
		err = closed
	}
	if err != nil {
		return Truth{}, fmt.Errorf("write night %s: %w", name, err)
	}
	return truth, nil
}

func (l *Linac) writeGz(s Scenario, w io.Writer) (Truth, error) {
	packed, err := gzip.NewWriterLevel(w, gzip.BestCompression)
	if err != nil {
		return Truth{}, err
	}
	truth, err := l.WriteCSV(s, packed)
	if err != nil {
		return Truth{}, err
	}
	return truth, packed.Close()
}

// text writes the truth as JSON for people to read.
func (t Truth) text() []byte {
	data, err := json.MarshalIndent(t, "", "  ")
	if err != nil {
		panic(err) // plain numbers, none of them NaN
	}
	return append(data, '\n')
}
