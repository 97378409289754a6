package test

import (
	"math"
	"testing"

	"dawncrest/ingest"
	"dawncrest/rf"
)

// Facts that everybody in the trade knows and no paper states: common practice.

// fiveMetres is a 3 GHz structure of the usual size and make.
func fiveMetres() rf.Structure {
	return rf.Structure{
		Kind: rf.ConstantGradient, Frequency: 2998.5 * rf.Megahertz, LengthM: 5,
		ShuntImpedanceOhmPerM: 60e6, Attenuation: 0.75, FillingTime: 1.15 * rf.Microsecond, HzPerK: math.NaN(),
	}
}

// Common practice: some forty S-band structures carry a beam from 150 MeV to 3 GeV,
// which asks a power of each that a klystron can give.
func TestFortyStructuresReachThreeGigaelectronvolt(t *testing.T) {
	s := fiveMetres()
	reached := func(p rf.Power) rf.Energy {
		forty := make([]rf.Contribution, 40)
		for i := range forty {
			forty[i] = rf.Contribution{Gain: s.NoLoadGain(p)}
		}
		return rf.EnergySum(150*rf.Megaelectronvolt, forty)
	}
	if e := reached(10 * rf.Megawatt); e > 3000*rf.Megaelectronvolt {
		t.Errorf("10 MW a structure already make %.0f MeV", megaelectronvolt(e))
	}
	if e := reached(40 * rf.Megawatt); e < 3000*rf.Megaelectronvolt {
		t.Errorf("40 MW a structure make only %.0f MeV", megaelectronvolt(e))
	}
}

// Common practice: an S-band structure about 5 m long has more than 100 cells, a
// third of a wavelength each, so that its length, filling time and attenuation go
// with waves that travel at one or two per cent of the speed of light.
func TestStructureOfFiveMetresHasOverHundredCells(t *testing.T) {
	s := fiveMetres()
	cells := 3 * s.LengthM * float64(s.Frequency) / lightMPerS
	if cells < 100 || cells > 200 {
		t.Errorf("%v m have %.0f cells", s.LengthM, cells)
	}
	// A cell holds Q radians of its own field's decay: the whole chain's filling
	// time and attenuation must give the Q of copper.
	if q := s.UnloadedQFromFilling(); q < 9000 || q > 16000 {
		t.Errorf("Q %.0f", q)
	}
	// One kelvin is a few degrees of slip in the whole, a fraction of one in a cell.
	perCell := -rf.In(s.SlipPerKelvin(rf.DefaultExpansionPerK), rf.Degree) / cells
	if perCell < 0.02 || perCell > 0.5 {
		t.Errorf("%v degrees of slip per cell and kelvin", perCell)
	}
}

// Common practice: a 3 GHz cell is as wide as a small food tin. A plain round
// box, the fair estimate of it, resonates at f = 2.405 c/(pi D); warming the box
// must detune it as rf says.
func TestCellOfThreeGigahertzIsASmallTin(t *testing.T) {
	const firstZeroOfJ0, alpha = 2.404825557695773, rf.DefaultExpansionPerK
	frequency := func(diameterM float64) float64 { return firstZeroOfJ0 * lightMPerS / (math.Pi * diameterM) }
	diameterM := firstZeroOfJ0 * lightMPerS / (math.Pi * 2998.5e6)
	if diameterM < 0.065 || diameterM > 0.1 {
		t.Errorf("a 3 GHz cell is %v m wide", diameterM)
	}
	detuning := frequency(diameterM*(1+alpha)) - frequency(diameterM)
	if got := float64(rf.ThermalDetuning(2998.5*rf.Megahertz, alpha, 1)); !near(got, detuning, 1e-4) {
		t.Errorf("one kelvin detunes by %v Hz, the box by %v", got, detuning)
	}
}

// The demo plant is invented; it has to be a machine that could stand somewhere.
func TestDemoPlantIsPlausible(t *testing.T) {
	folder, err := ingest.OpenPlant("../sampledata/demo/plant")
	if err != nil {
		t.Fatal(err)
	}
	plant := folder.Plant
	for _, s := range plant.Structures {
		if slope := s.FrequencySlope(plant.ExpansionPerK) / 1e3; slope > -40 || slope < -60 {
			t.Errorf("%s moves by %v kHz/K; S-band copper by 47 to 50", s.Name, slope)
		}
		if !s.TravellingWave() {
			continue
		}
		if q := s.UnloadedQFromFilling(); q < 9000 || q > 16000 {
			t.Errorf("%s: attenuation and filling time give a Q of %.0f", s.Name, q)
		}
		if v := s.LengthM / float64(s.FillingTime) / lightMPerS; v < 0.002 || v > 0.04 {
			t.Errorf("%s: its wave travels at %v of the speed of light", s.Name, v)
		}
		station, _ := plant.Station(s.Station)
		if !station.HasCompressor() {
			continue
		}
		m := station.Compressor(plant.Frequency).EnergyMultiplication(s, 0, 0)
		if real(m) < 1.2 || real(m) > 2 {
			t.Errorf("%s: energy multiplication %v", s.Name, m)
		}
	}
}
