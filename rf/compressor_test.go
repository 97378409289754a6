package rf

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// typicalCompressor is that of a 3 GHz station.
func typicalCompressor() Compressor {
	return Compressor{Q0: 1e5, Beta: 5.5, Frequency: 2998.5 * Megahertz, Pulse: 4.5 * Microsecond, Flip: 3.55 * Microsecond}
}

// textbookCompressor gives back its last 0.83 us.
func textbookCompressor(pulse Interval) Compressor {
	return Compressor{Q0: 1e5, Beta: 5, Frequency: 2856 * Megahertz, Pulse: pulse, Flip: pulse - 0.83*Microsecond}
}

func TestCompressedPulse(t *testing.T) {
	s := tenFeet(ConstantGradient)
	multiplication := func(c Compressor) float64 { return real(c.EnergyMultiplication(s, 0, 0)) }
	end := func(c Compressor) float64 { return real(c.OutputField(c.Pulse, 0)) }
	short, usual, long := textbookCompressor(2.5*Microsecond), textbookCompressor(3.5*Microsecond), textbookCompressor(5*Microsecond)
	perfect := Compressor{Q0: 1e12, Beta: 1e6, Frequency: 2856 * Megahertz, Pulse: 10000 * Microsecond, Flip: 9999.999 * Microsecond}
	// Wants: Runge-Kutta and Simpson, double precision.
	tests := []struct {
		name           string
		got, want, rel float64
	}{
		{"time constant", float64(usual.TimeConstant()), 1.85755069e-6, 1e-8},
		{"coupling", usual.Coupling(), 1.66666667, 1e-8},
		{"2.5 us, peak power gain", short.PeakPowerGain(0), 3.95371557, 1e-8},
		{"2.5 us, end field", end(short), 1.03165925, 1e-8},
		{"2.5 us, energy multiplication", multiplication(short), 1.38657748, 1e-8},
		{"2.7 us, energy multiplication", multiplication(textbookCompressor(2.7 * Microsecond)), 1.44011874, 1e-8},
		{"3.5 us, peak power gain", usual.PeakPowerGain(0), 5.15630467, 1e-8},
		{"3.5 us, end field", end(usual), 1.21226902, 1e-8},
		{"3.5 us, energy multiplication", multiplication(usual), 1.60493129, 1e-8},
		{"5 us, peak power gain", long.PeakPowerGain(0), 6.20060614, 1e-8},
		{"5 us, energy multiplication", multiplication(long), 1.77456306, 1e-8},
		{"no loss and no end of time: nine times", perfect.PeakPowerGain(0), 9, 1e-3},
	}
	for _, test := range tests {
		if !near(test.got, test.want, test.rel) {
			t.Errorf("%s: got %.10g, want %.10g", test.name, test.got, test.want)
		}
	}
}

// Wants: Runge-Kutta and Simpson, double precision.
func TestCompressorOffTune(t *testing.T) {
	s := tenFeet(ConstantGradient)
	c := textbookCompressor(3.5 * Microsecond)
	tuned := c.EnergyMultiplication(s, 0, 0)
	tests := []struct {
		d                     Frequency
		lossPercent, phaseDeg float64
	}{
		{-5e3, 0.0482, -1.521699}, {-10e3, 0.192759, -3.042222}, {-20e3, 0.769419, -6.075006},
		{-40e3, 3.051872, -12.073395}, {80e3, 11.798800, 23.496053},
	}
	for _, test := range tests {
		m := c.EnergyMultiplication(s, test.d, 0)
		if got := 100 * (1 - cmplx.Abs(m)/real(tuned)); !near(got, test.lossPercent, 1e-3) {
			t.Errorf("%v Hz: loses %v %%, want %v", test.d, got, test.lossPercent)
		}
		if got := cmplx.Phase(m) * 180 / math.Pi; !near(got, test.phaseDeg, 1e-6) {
			t.Errorf("%v Hz: turned by %v deg, want %v", test.d, got, test.phaseDeg)
		}
	}

	s.LengthM = 0 // flight of the beam left out
	m := c.EnergyMultiplication(s, 0, -100e3)
	if got := cmplx.Abs(m) / real(tuned); !near(got, 0.988895416, 1e-8) {
		t.Errorf("structure off by 100 kHz behind a compressor: %v, want 0.988895416", got)
	}
	if got := cmplx.Phase(m) * 180 / math.Pi; !near(got, -13.665056, 1e-6) {
		t.Errorf("structure off by 100 kHz behind a compressor: %v deg, want -13.665056", got)
	}
}

// The phase is the witness of a warm compressor: the peak power hardly moves.
// Wants: Runge-Kutta, expansion 16.5e-6.
func TestWarmCompressor(t *testing.T) {
	c := typicalCompressor()
	s := tenFeet(ConstantGradient)
	s.Frequency, s.FillingTime = 2998.5*Megahertz, 0.9*Microsecond
	tests := []struct{ riseK, peakPercent, gainDeg float64 }{
		{0.1, -0.08, -1.9}, {0.4, -1.3, -7.6}, {1, -7.8, -18.66},
	}
	for _, test := range tests {
		d := ThermalDetuning(c.Frequency, 16.5e-6, test.riseK)
		if got := 100 * (c.PeakPowerGain(d)/c.PeakPowerGain(0) - 1); math.Abs(got-test.peakPercent) > 0.06 {
			t.Errorf("%v K: peak power %v %%, want %v", test.riseK, got, test.peakPercent)
		}
		got := cmplx.Phase(c.EnergyMultiplication(s, d, 0)) * 180 / math.Pi
		if math.Abs(got-test.gainDeg) > 0.03 {
			t.Errorf("%v K: gain turned by %v deg, want %v", test.riseK, got, test.gainDeg)
		}
		if middle := In(c.Phase(d), Degree); !near(middle, got, 0.035) {
			t.Errorf("%v K: middle of the pulse turned by %v deg, the gain by %v", test.riseK, middle, got)
		}
	}
	warm := ThermalDetuning(c.Frequency, 16.6e-6, 1)
	if got := In(c.PhaseAt(c.Flip, warm), Degree); math.Abs(got+12.4) > 0.05 {
		t.Errorf("just after the flip %v deg, want -12.4", got)
	}
	if got := In(c.PhaseAt(c.Pulse, warm), Degree); math.Abs(got+23.8) > 0.1 {
		t.Errorf("at the end %v deg, want -23.8", got)
	}
	long := s
	long.FillingTime = c.Pulse - c.Flip
	if got := In(c.FalseAdvance(long, warm), Degree); math.Abs(got-11.4) > 0.1 {
		t.Errorf("false advance %v deg, want 11.4", got)
	}
}

func TestDetuningFromPhase(t *testing.T) {
	compressors := []Compressor{
		typicalCompressor(), textbookCompressor(2.5 * Microsecond), textbookCompressor(5 * Microsecond),
		{Q0: 1.9e5, Beta: 8, Frequency: 5712 * Megahertz, Pulse: 2.8 * Microsecond, Flip: 2.3 * Microsecond},
		{Q0: 1.8e5, Beta: 3, Frequency: 2998.55 * Megahertz, Pulse: 4.2 * Microsecond, Flip: 2.9 * Microsecond},
	}
	random := rand.New(rand.NewPCG(5, 5))
	for len(compressors) < 200 {
		c := Compressor{
			Q0: 5e4 + 2e5*random.Float64(), Beta: 2 + 10*random.Float64(), Frequency: (2 + 10*Frequency(random.Float64())) * 1e9,
			Pulse: (1 + 5*Interval(random.Float64())) * Microsecond,
		}
		c.Flip = c.Pulse * Interval(0.5+0.49*random.Float64())
		if real(c.OutputField(c.middle(), 0)) > 1 {
			compressors = append(compressors, c)
		}
	}
	for _, c := range compressors {
		// The end of the branch, by walking along it.
		end := Frequency(0)
		for _, part := range []float64{1e-2, 1e-3, 1e-4, 1e-5} {
			step := Frequency(part / float64(c.TimeConstant()))
			for c.Phase(end+step) > c.Phase(end) {
				end += step
			}
		}
		for _, part := range []float64{-0.98, -0.7, -0.2, -1e-3, 0, 1e-6, 0.1, 0.5, 0.9, 0.98} {
			want := end * Frequency(part)
			if got := c.DetuningFromPhase(c.Phase(want)); !near(float64(got), float64(want), 1e-6) {
				t.Errorf("%+v: detuning %v comes back as %v", c, want, got)
			}
		}
		if got := c.DetuningFromPhase(c.Phase(end) * 1.01); Known(got) {
			t.Errorf("%+v: no detuning turns the pulse by %v, got %v", c, c.Phase(end)*1.01, got)
		}
		if got := c.DetuningFromPhase(-c.Phase(end) - 1); Known(got) {
			t.Errorf("%+v: beyond the other end: %v", c, got)
		}
	}
}

// A structure that remembers longer than the compressed pulse still holds the
// field of before the flip, which is against it.
func TestCompressedPulseTooShort(t *testing.T) {
	s := tenFeet(ConstantGradient)
	full := textbookCompressor(3.5 * Microsecond)
	late := full
	late.Flip += 0.2 * Microsecond
	if a, b := real(full.EnergyMultiplication(s, 0, 0)), real(late.EnergyMultiplication(s, 0, 0)); b >= a {
		t.Errorf("a late flip gives %v, the right one %v", b, a)
	}
}

func TestNoCompressor(t *testing.T) {
	c := Station{RFPulse: 3.5 * Microsecond, PhaseFlip: Unknown[Interval]()}.Compressor(2856 * Megahertz)
	if got := c.PeakPowerGain(0); !math.IsNaN(got) {
		t.Errorf("no compressor has a peak power gain of %v", got)
	}
	if got := c.EnergyMultiplication(tenFeet(ConstantGradient), 0, 0); !math.IsNaN(real(got)) {
		t.Errorf("no compressor has an energy multiplication of %v", got)
	}
}
