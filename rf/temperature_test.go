package rf

import (
	"math"
	"math/cmplx"
	"testing"
)

func TestTemperature(t *testing.T) {
	s := tenFeet(ConstantGradient)
	linac := s
	linac.Frequency, linac.FillingTime, linac.LengthM = 2998.5*Megahertz, 0.9*Microsecond, 0
	third := ThermalDetuning(linac.Frequency, 16.6e-6, 0.3)
	factor := linac.DetunedFactor(third)
	tuned := s
	tuned.HzPerK = -51e3
	// Wants: worked by hand from alpha f and 360 alpha f t_f.
	tests := []struct {
		name           string
		got, want, rel float64
	}{
		{"2856 MHz, 16.5e-6", s.FrequencySlope(16.5e-6), -47.12400e3, 1e-9},
		{"2856 MHz, 16.64e-6", s.FrequencySlope(16.64e-6), -47.52384e3, 1e-9},
		{"measured slope wins", tuned.FrequencySlope(16.5e-6), -51e3, 0},
		{"2998.5 MHz, 16.7e-6", float64(ThermalDetuning(2998.5*Megahertz, 16.7e-6, 1)), -50.07495e3, 1e-9},
		{"11.424 GHz, 16.5e-6", float64(ThermalDetuning(11424*Megahertz, 16.5e-6, 1)), -188.496e3, 1e-9},
		{"slip per kelvin", In(s.SlipPerKelvin(16.5e-6), Degree), -14.0807, 1e-5},
		{"0.3 K, detuning", float64(third), -14.932530e3, 1e-9},
		{"0.3 K, slip", In(linac.PhaseSlip(third), Degree), -4.838140, 1e-6},
		{"0.3 K, magnitude", cmplx.Abs(factor), 0.999721281, 1e-9},
		{"0.3 K, real part", real(factor), 0.999130976, 1e-9},
		{"0.3 K too warm, water change", linac.WaterChangeK(third, 16.6e-6), -0.3, 1e-12},
		{"water change by measured slope", tuned.WaterChangeK(10.2e3, 16.6e-6), 0.2, 1e-12},
		{"cavity, slip per kelvin", float64(cavity(1).SlipPerKelvin(16.6e-6)), -2 * 6500 * 16.6e-6, 1e-12},
	}
	for _, test := range tests {
		if !near(test.got, test.want, test.rel) {
			t.Errorf("%s: got %.10g, want %.10g", test.name, test.got, test.want)
		}
	}
}

// The ladder from temperature to energy: a kelvin too many in water costs a
// quarter of a per cent for good, three quarters where the phase stays.
func TestTemperatureLadder(t *testing.T) {
	s := tenFeet(ConstantGradient)
	s.LengthM = 0
	tests := []struct{ riseK, kHz, slipDeg, lost, lostAtPhase float64 }{
		{0.1, -4.752, -1.420, 2.40e-5, 7.49e-5},
		{1, -47.524, -14.200, 2.399e-3, 7.468e-3},
		{2, -95.048, -28.400, 9.574e-3, 2.963e-2},
		{5, -237.619, -71.001, 5.883e-2, 0.1747},
	}
	for _, test := range tests {
		d := ThermalDetuning(s.Frequency, 16.64e-6, test.riseK)
		f := s.DetunedFactor(d)
		for name, pair := range map[string][2]float64{
			"kHz": {In(d, Kilohertz), test.kHz}, "slip": {In(s.PhaseSlip(d), Degree), test.slipDeg},
			"lost": {1 - cmplx.Abs(f), test.lost}, "lost where the phase stays": {1 - real(f), test.lostAtPhase},
		} {
			if !near(pair[0], pair[1], 1e-3) {
				t.Errorf("%v K: %s %v, want %v", test.riseK, name, pair[0], pair[1])
			}
		}
	}
}

// Too warm is negative, everywhere.
func TestTooWarmIsNegative(t *testing.T) {
	const alpha = DefaultExpansionPerK
	warm := ThermalDetuning(2998.5*Megahertz, alpha, 0.5)
	c := typicalCompressor()
	signs := map[string]float64{
		"detuning of a resonator that is too warm": float64(warm),
		"phase of its compressed pulse":            float64(c.Phase(warm)),
		"phase at the end of that pulse":           float64(c.PhaseAt(c.Pulse, warm)),
		"detuning found from a lagging compressor": float64(c.DetuningFromPhase(-8 * Degree)),
	}
	for _, s := range []Structure{tenFeet(ConstantGradient), tenFeet(ConstantImpedance), cavity(1.2)} {
		kind := string(s.Kind) + ": "
		signs[kind+"slope of its frequency with temperature"] = s.FrequencySlope(alpha)
		signs[kind+"slip per kelvin"] = float64(s.SlipPerKelvin(alpha))
		signs[kind+"phase slip when too warm"] = float64(s.PhaseSlip(warm))
		signs[kind+"argument of the gain when too warm"] = cmplx.Phase(s.DetunedFactor(warm))
		signs[kind+"water change that cures it"] = s.WaterChangeK(warm, alpha)
		signs[kind+"detuning found from a lag"] = float64(s.DetuningFromSlip(-5 * Degree))
		signs[kind+"argument of the gain behind a warm compressor"] = cmplx.Phase(c.EnergyMultiplication(s, warm, 0))
		signs[kind+"argument of the gain of a warm structure behind a compressor"] = cmplx.Phase(c.EnergyMultiplication(s, 0, warm))
	}
	for what, value := range signs {
		if !(value < 0) {
			t.Errorf("%s: %v", what, value)
		}
	}
	// Sampled at one instant a warm compressor makes structures look cold.
	if got := c.FalseAdvance(tenFeet(ConstantGradient), warm); !(got > 0) {
		t.Errorf("false advance behind a warm compressor: %v", got)
	}
	if got := tenFeet(ConstantGradient).WaterChangeK(0, alpha); got != 0 || math.Signbit(got) {
		t.Errorf("water change on tune: %v", got)
	}
}
