package ingest

import (
	"errors"
	"math"
	"strings"
	"testing"

	"dawncrest/rf"
)

func FuzzOpenPlant(f *testing.F) {
	add := func(files map[string]string) {
		f.Add(files["plant.toml"], files["stations.csv"], files["structures.csv"], files["tolerances.csv"], files["planned.csv"], files["columns.csv"])
	}
	add(goodPlant)
	for _, mistake := range plantMistakes {
		if len(mistake.to) < 1000 {
			files := map[string]string{}
			for name, text := range goodPlant {
				files[name] = strings.Replace(text, mistake.from, mistake.to, 1)
			}
			add(files)
		}
	}
	f.Fuzz(func(t *testing.T, plant, stations, structures, tolerances, planned, columns string) {
		got, err := openFiles(map[string]string{"plant.toml": plant, "stations.csv": stations, "structures.csv": structures,
			"tolerances.csv": tolerances, "planned.csv": planned, "columns.csv": columns})
		if err == nil {
			checkInvariants(t, got)
			return
		}
		var faults PlantFaults
		if !errors.As(err, &faults) || len(faults) == 0 {
			t.Fatalf("error is no list of faults: %v", err)
		}
		for _, fault := range faults {
			if strings.ContainsFunc(fault.Error(), unprintable) || fault.Wrong == "" {
				t.Errorf("message not fit to print: %q", fault.Error())
			}
		}
	})
}

// checkInvariants checks what the formulas rely on in any plant that was
// accepted.
func checkInvariants(t *testing.T, folder PlantFolder) {
	t.Helper()
	p := folder.Plant
	within := func(name string, v, low, high float64) {
		if !(v >= low && v <= high) {
			t.Errorf("%s = %g, not within %g to %g", name, v, low, high)
		}
	}
	ifKnown := func(name string, v, low, high float64) {
		if !math.IsNaN(v) {
			within(name, v, low, high)
		}
	}
	if p.Zone == nil || p.Name == "" || len(p.Stations) == 0 || len(p.Structures) == 0 {
		t.Fatalf("plant without zone, name, stations or structures: %+v", p)
	}
	within("frequency", float64(p.Frequency), 1e8, 1e11)
	within("repetition rate", float64(p.RepetitionRate), 0.01, 1e5)
	within("injection energy", float64(p.InjectionEnergy), 0, 1e12)
	within("expansion", p.ExpansionPerK, 1e-6, 1e-4)
	within("beam current", float64(p.BeamCurrent), 0, 1e3)
	seen := map[string]bool{}
	oneName := func(name string) {
		if nameTrouble(name) != "" || name == "" || seen[name] || p.KindOf(name) == 0 {
			t.Errorf("name %q", name)
		}
		seen[name] = true
	}
	shares := map[string]float64{}
	for _, s := range p.Stations {
		oneName(s.Name)
		shares[s.Name] = 0
		within("rated power", float64(s.RatedPower), 1e3, 500e6)
		within("microperveance", s.Microperveance, 0.01, 20)
		within("efficiency", s.Efficiency, 0.01, 1)
		within("loss", s.WaveguideLossDB, 0, 10)
		within("crest offset", float64(s.CrestOffset), -math.Pi, math.Pi)
		ifKnown("drift length", s.DriftLengthM, 0.01, 5)
		ifKnown("conditioned power", float64(s.ConditionedPower), 1e3, 500e6)
		ifKnown("trips", s.TripsPerDay, 0, 1e4)
		if s.HasCompressor() {
			within("phase flip", float64(s.PhaseFlip), 0, float64(s.RFPulse))
			within("compressor Q0", s.CompressorQ0, 1e3, 1e7)
			within("compressor beta", s.CompressorBeta, 0.1, 100)
		} else if rf.Known(s.CompressorQ0) || rf.Known(s.CompressorBeta) || rf.Known(s.CompressorTuned) {
			t.Errorf("half a compressor: %+v", s)
		}
	}
	for _, s := range p.Structures {
		oneName(s.Name)
		if _, ok := shares[s.Station]; !ok {
			t.Errorf("structure %s on station %q", s.Name, s.Station)
		}
		shares[s.Station] += s.PowerShare
		within("share", s.PowerShare, 0.001, 1)
		within("own frequency", float64(s.Frequency), 1e8, 1e11)
		within("phase error", float64(s.TunedPhaseError), 1e-4, 4)
		ifKnown("tuned water", s.TunedWater.Celsius(), 0.99, 99.01)
		ifKnown("slope", s.HzPerK, -1e7, -1)
		if s.TravellingWave() {
			within("length", s.LengthM, 0.01, 20)
			within("shunt impedance", s.ShuntImpedanceOhmPerM, 1e6, 1e9)
			within("attenuation", s.Attenuation, 0.001, 3)
			within("filling time", float64(s.FillingTime), 0.9e-9, 101e-6)
		} else {
			within("unloaded Q", s.UnloadedQ, 100, 1e7)
			within("coupling", s.CouplingBeta, 0.01, 1e3)
			within("cavity shunt impedance", s.ShuntImpedanceOhm, 999, 1.01e10)
		}
	}
	for station, sum := range shares {
		within("shares of "+station, sum, 0, 1+2*shareSlack)
	}
	for _, w := range p.Waypoints {
		oneName(w.Name)
		if _, ok := p.Station(w.AfterStation); !ok {
			t.Errorf("waypoint after %q", w.AfterStation)
		}
		within("required energy", float64(w.Required), 1e4, 1e12)
		within("tolerance", w.TolerancePercent, 0.001, 50)
	}
	for _, tolerance := range p.Tolerances {
		if _, ok := tolerance.Quantity.Info(); !ok || tolerance.Unit == "" || !(tolerance.DriftLimit <= tolerance.ActLimit) {
			t.Errorf("tolerance %+v", tolerance)
		}
	}
	for _, stop := range p.Planned {
		if !stop.From.Before(stop.To) || stop.Place != "" && p.KindOf(stop.Place) == 0 {
			t.Errorf("planned stop %+v", stop)
		}
	}
	for _, rule := range folder.Columns {
		if rule.Column == "" || rule.Scale == 0 || math.IsNaN(rule.Scale+rule.Offset) || (rule.Place == "") != strings.Contains(rule.Column, placeMark) {
			t.Errorf("column rule %+v", rule)
		}
	}
}
