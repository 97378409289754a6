package sampledata

import (
	"embed"
	"io/fs"
	"time"
)

//go:embed demo
var demoFiles embed.FS

// PlantFS returns the plant folder of the demo linac.
func PlantFS() fs.FS {
	plant, err := fs.Sub(demoFiles, "demo/plant")
	if err != nil {
		panic(err) // the folder is compiled in
	}
	return plant
}

var demoStart = time.Date(2026, time.February, 17, 18, 30, 0, 0, time.UTC)

// Demo returns the demo linac: twelve stations at an invented place.
func Demo() Machine {
	m := Build(12, 7)
	m.Name = "Harrow Fen"
	for i, energyMeV := range []float64{150, 650, 1050} {
		m.Waypoints[i].RequiredEnergyMeV = energyMeV
	}
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
