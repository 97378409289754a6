package rf

import (
	"math"
	"testing"
)

func fiveStations() []Contribution {
	cs := []Contribution{{Gain: 50e6}, {Gain: 50e6}, {Gain: 60e6, Crest: -20 * Degree}, {Gain: 60e6, Crest: -20 * Degree}, {Gain: 70e6, Crest: 5 * Degree}}
	for i := range cs {
		cs[i].AmplitudeSigma, cs[i].PhaseSigma = 1e-3, 0.1*Degree
	}
	return cs
}

func TestBudget(t *testing.T) {
	wobbling := []Contribution{{Gain: 1, PhaseSigma: 0.1}, {Gain: 1, PhaseSigma: 0.1}} // on crest: second order
	equal := make([]Contribution, 25)
	for i := range equal {
		equal[i] = Contribution{Gain: 40e6, AmplitudeSigma: 5e-4}
	}
	// Wants: worked by hand in double precision.
	tests := []struct {
		name           string
		got, want, rel float64
	}{
		{"sum", In(EnergySum(4*Megaelectronvolt, fiveStations()), Megaelectronvolt), 4 + 282.496743361, 1e-11},
		{"jitter, each on its own", In(JitterIndependent(fiveStations()), Megaelectronvolt), 0.137475563, 1e-5},
		{"jitter, all together", In(JitterCommon(fiveStations()), Megaelectronvolt), 0.289004348, 1e-5},
		{"equal stations share their jitter", float64(JitterIndependent(equal)) / 1e9, 5e-4 / 5, 1e-12},
		{"and not when all move together", float64(JitterCommon(equal)) / 1e9, 5e-4, 1e-12},
		{"phase on crest, each on its own", float64(JitterIndependent(wobbling)), 0.01, 1e-12},
		{"phase on crest, all together", float64(JitterCommon(wobbling)), 0.01 * math.Sqrt2, 1e-12},
		{"tolerance of one of 28", PerStationTolerance(28, 0.07), 0.370405, 1e-6},
		{"tolerance of one of 48", PerStationTolerance(48, 0.08), 0.554256, 1e-6},
		{"30 ppm of voltage on crest, ppm", 30 * float64(Contribution{Gain: 1}.PerVoltage(5)), 37.5, 1e-12},
		{"across the beam", In(AcrossSum(fiveStations()), Megaelectronvolt), -34.941515, 1e-6},
	}
	for _, test := range tests {
		if !near(test.got, test.want, test.rel) {
			t.Errorf("%s: got %.10g, want %.10g", test.name, test.got, test.want)
		}
	}
	late := Contribution{Gain: 1, Crest: 30 * Degree}
	if got := late.PerVoltage(6); !(got < late.PerVoltage(0)) {
		t.Errorf("pushing must take from a station whose RF leads already: %v", got)
	}
}

func TestBunch(t *testing.T) {
	// Wants: worked by hand.
	tests := []struct {
		name           string
		got, want, rel float64
	}{
		{"arrival, ps", In(ArrivalShift(-0.05, 1e-3), Picosecond), -0.16678, 1e-4},
		{"chirp", ChirpPerM(-75e6, 250e6, 2997.92458*Megahertz), 18.850, 1e-4},
		{"compression", BunchCompression(ChirpPerM(-75e6, 250e6, 2997.92458*Megahertz), -0.05), 17.38, 1e-3},
		{"the wrong side of the crest", BunchCompression(ChirpPerM(75e6, 250e6, 2997.92458*Megahertz), -0.05), 0.51, 2e-2},
		{"no chirp, no compression", BunchCompression(0, -0.05), 1, 0},
	}
	for _, test := range tests {
		if !near(test.got, test.want, test.rel) {
			t.Errorf("%s: got %.10g, want %.10g", test.name, test.got, test.want)
		}
	}
}
