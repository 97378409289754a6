package test

import (
	"math"
	"testing"

	"dawncrest/rf"
)

const (
	park       = "S. Park, SPEAR3 klystron slides, 2003"
	slacTube   = "65 MW S-band tube of the SLAC linac, from memory"
	iapws      = "IAPWS SR6-08(2011), table 8"
	kell       = "G. S. Kell (1975), density of water, from memory"
	lclsTables = "LCLS Conceptual Design Report, tables 7.4 and 7.5"
)

func TestPublishedKlystrons(t *testing.T) {
	compare(t, []printedValue{
		{"microperveance at 82 kV, 23.5 A", park, rf.MicroperveanceOf(82*rf.Kilovolt, 23.5), 1.00, 0.005},
		{"microperveance at 72.08 kV, 19.4 A", park, rf.MicroperveanceOf(72.08*rf.Kilovolt, 19.4), 1.00, 0.005},
		{"beam power at 82 kV, 23.5 A, MW", park, rf.In(rf.BeamPower(82*rf.Kilovolt, 23.5), rf.Megawatt), 1.93, 0.005},
		{"efficiency at 1.2 MW, %", park, 100 * rf.EfficiencyOf(1.2*rf.Megawatt, 82*rf.Kilovolt, 23.5), 62, 0.5},
		{"gain from 40 W, dB", park, rf.GainDB(1.2*rf.Megawatt, 40), 45, 0.5},
		{"microperveance at 350 kV, 414 A", slacTube, rf.MicroperveanceOf(350*rf.Kilovolt, 414), 2.0, 0.005},
		{"efficiency of 65 MW at 350 kV, 414 A, %", slacTube, 100 * rf.EfficiencyOf(65*rf.Megawatt, 350*rf.Kilovolt, 414), 45, 0.5},
	})

	// One operating point predicts the other by the three-halves power, and RF
	// power at constant efficiency follows the voltage by rf.PowerExponent.
	first, second := 82*rf.Kilovolt, 72.08*rf.Kilovolt
	k := rf.MicroperveanceOf(first, 23.5) / 1e6
	compare(t, []printedValue{
		{"current at 72.08 kV, A", park, k * math.Pow(float64(second), 1.5), 19.4, 0.05},
		{"beam power at 72.08 kV over that at 82 kV", park,
			math.Pow(float64(second/first), rf.PowerExponent), float64(rf.BeamPower(second, 19.4) / rf.BeamPower(first, 23.5)), 0.002},
	})
}

func TestPublishedWater(t *testing.T) {
	compare(t, []printedValue{
		{"density at 298.15 K, kg/m3", iapws, rf.WaterDensity(298.15), 997.047013, 5e-7},
		{"heat capacity at 298.15 K, J/(kg K)", iapws, rf.WaterHeatCapacity(298.15), 4181.44618, 5e-6},
		{"density at 20 degC, kg/m3", kell, rf.WaterDensity(rf.Celsius(20)), 998.2041, 0.004},
		{"density at 30 degC, kg/m3", kell, rf.WaterDensity(rf.Celsius(30)), 995.6473, 0.004},
		{"density at 45 degC, kg/m3", kell, rf.WaterDensity(rf.Celsius(45)), 990.2132, 0.004},
	})
}

func TestPublishedTolerances(t *testing.T) {
	// What takes the energy off by 0.1 %, and what is allowed, for the RF of each
	// part: a ratio of 1 would use up the whole tolerance.
	rows := []struct{ allowed, sensitivity float64 }{
		{0.10, -3.6}, {0.10, -0.24}, {0.5, 12}, {0.07, 0.36}, {0.15, 0.47}, // phases, deg
		{0.10, -0.33}, {0.10, -0.34}, {0.25, 1.9}, {0.10, 0.64}, {0.08, 0.15}, // amplitudes, %
	}
	var parts []rf.Contribution
	for _, row := range rows {
		parts = append(parts, rf.Contribution{Gain: 1, AmplitudeSigma: row.allowed / row.sensitivity})
	}
	used := float64(rf.JitterIndependent(parts))
	compare(t, []printedValue{
		{"share of the energy tolerance used, squared", "sum over " + lclsTables, used * used, 0.8203, 1e-4},
		{"phase of one of 28 klystrons, deg", "computed from " + lclsTables, rf.PerStationTolerance(28, 0.07), 0.3704, 1e-4},
		{"phase of one of 48 klystrons, deg", "computed from " + lclsTables, rf.PerStationTolerance(48, 0.15), 1.0392, 1e-4},
	})
	if used >= 1 {
		t.Errorf("the printed tolerances use up %v of what they are to keep", used)
	}
}
