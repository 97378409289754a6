package rf

import (
	"math"
	"testing"
)

func TestKlystron(t *testing.T) {
	drift := func(m float64) Station { return Station{DriftLengthM: m, PhasePushingDegPerPercent: math.NaN()} }
	// Wants: worked by hand in double precision.
	tests := []struct {
		name           string
		got, want, rel float64
	}{
		{"microperveance", MicroperveanceOf(350*Kilovolt, 414), 1.99939349, 1e-8},
		{"microperveance, twice 265 kV's current", MicroperveanceOf(265*Kilovolt, 272.8342), 2, 1e-6},
		{"beam power", In(BeamPower(350*Kilovolt, 414.12558), Megawatt), 144.94395, 1e-7},
		{"efficiency", EfficiencyOf(65.22478*Megawatt, 350*Kilovolt, 414.12558), 0.45, 1e-7},
		{"gain", GainDB(65*Megawatt, 325), 10 * math.Log10(2e5), 1e-12},
		{"pushing, 0.5 m, 350 kV", drift(0.5).PushingDegPerPercent(350*Kilovolt, 2856*Megahertz), 4.70961959, 1e-7},
		{"pushing, 0.6 m, 350 kV", drift(0.6).PushingDegPerPercent(350*Kilovolt, 2856*Megahertz), 5.65154351, 1e-7},
		{"pushing, 0.5 m, 250 kV", drift(0.5).PushingDegPerPercent(250*Kilovolt, 2856*Megahertz), 6.24238320, 1e-7},
		{"pushing, measured", Station{PhasePushingDegPerPercent: 7.5}.PushingDegPerPercent(350*Kilovolt, 2856*Megahertz), 7.5, 0},
		{"a per cent of voltage in gain, %", 100 * (math.Pow(1.01, PowerExponent/2) - 1), 1.25155861, 1e-8},
		{"saturated", SaturationCurve(1), 1, 1e-12},
		{"exponent of small drive", DriveExponent(1e-9), 1, 1e-6},
		{"exponent of no drive", DriveExponent(0), 1, 0},
		{"reflected, ratio 1.1", ReflectedFractionFrom(1.1), 0.0022675737, 1e-8},
		{"reflected, ratio 1.2", ReflectedFractionFrom(1.2), 0.0082644628, 1e-8},
		{"reflected, ratio 1.5", ReflectedFractionFrom(1.5), 0.04, 1e-12},
		{"ratio back from 1.5", StandingWaveRatio(0.04), 1.5, 1e-12},
		{"return loss, ratio 1.1", ReturnLossDB(ReflectedFractionFrom(1.1)), 26.44438589, 1e-8},
		{"return loss, ratio 2", ReturnLossDB(ReflectedFractionFrom(2)), 9.54242509, 1e-8},
		{"reflected fraction", ReflectedFractionOf(0.9*Megawatt, 45*Megawatt), 0.02, 1e-12},
	}
	for _, test := range tests {
		if !near(test.got, test.want, test.rel) {
			t.Errorf("%s: got %.10g, want %.10g", test.name, test.got, test.want)
		}
	}
	if got := DriveExponent(1); math.Abs(got) > 1e-12 {
		t.Errorf("exponent at saturation %v", got)
	}
	if got := DriveExponent(1.2); !(got < 0) {
		t.Errorf("over-driven, more drive must give less: exponent %v", got)
	}
	if got := drift(math.NaN()).PushingDegPerPercent(350*Kilovolt, 2856*Megahertz); !math.IsNaN(got) {
		t.Errorf("pushing of a tube of which nothing is known: %v", got)
	}
}

// A ratio to nothing is not known: an infinity would be flagged as a fault.
func TestNoRatioToZero(t *testing.T) {
	for name, got := range map[string]float64{
		"perveance without voltage": MicroperveanceOf(0, 1), "efficiency without beam": EfficiencyOf(1, 0, 0),
		"gain without drive": GainDB(1, 0), "reflected without forward": ReflectedFractionOf(1, 0),
		"reflected of negative forward": ReflectedFractionOf(1, -1), "ratio when all comes back": StandingWaveRatio(1),
		"pushing without voltage": Station{DriftLengthM: 0.5, PhasePushingDegPerPercent: math.NaN()}.PushingDegPerPercent(0, 2856e6),
	} {
		if !math.IsNaN(got) {
			t.Errorf("%s: %v", name, got)
		}
	}
}
