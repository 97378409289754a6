package rf

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

func TestDetunedFactor(t *testing.T) {
	alone := func(kind StructureKind, tau float64, fill Interval) Structure {
		s := tenFeet(kind)
		s.LengthM, s.Attenuation, s.FillingTime = 0, tau, fill // no length: the beam's flight left out
		return s
	}
	short := 0.83 * Microsecond
	// Wants: Simpson's rule along the structure, double precision. Too warm, so
	// the argument is negative.
	tests := []struct {
		name           string
		s              Structure
		d              Frequency
		magnitude, deg float64
		rel            float64
	}{
		{"constant gradient, 50 kHz", alone(ConstantGradient, 0.57, short), -50e3, 0.997344391341, -6.079065470, 1e-9},
		{"constant gradient, 100 kHz", alone(ConstantGradient, 0.57, short), -100e3, 0.989405977081, -12.149349288, 1e-9},
		{"constant gradient, 200 kHz", alone(ConstantGradient, 0.57, short), -200e3, 0.958076210978, -24.226904890, 1e-9},
		{"constant gradient, 0.75 Np, 1 us", alone(ConstantGradient, 0.75, Microsecond), -100e3, 0.985326640337, -13.635111314, 1e-9},
		{"constant impedance, 50 kHz", alone(ConstantImpedance, 0.57, short), -50e3, 0.997214847359, -6.763378251, 1e-9},
		{"constant impedance, 100 kHz", alone(ConstantImpedance, 0.57, short), -100e3, 0.988888143363, -13.522016643, 1e-9},
		// The beam's flight of 10 ns followed exactly: 0.3 % in the small angle.
		{"flight of the beam, 50 kHz", tenFeet(ConstantGradient), -50e3, 0.9974103869, -5.987598, 4e-3},
	}
	for _, test := range tests {
		f := test.s.DetunedFactor(test.d)
		if got := cmplx.Abs(f); !near(got, test.magnitude, min(test.rel, 1e-5)) {
			t.Errorf("%s: magnitude %.12f, want %.12f", test.name, got, test.magnitude)
		}
		if got := cmplx.Phase(f) * 180 / math.Pi; !near(got, test.deg, test.rel) {
			t.Errorf("%s: argument %.9f deg, want %.9f", test.name, got, test.deg)
		}
	}
}

// Near tune the argument is the mean slip, the loss its variance. Wants: moments
// of the weights, worked for 0.57 Np.
func TestSmallDetuning(t *testing.T) {
	tests := []struct {
		kind           StructureKind
		mean, variance float64
	}{
		{ConstantGradient, 0.4069960318, 0.0781854055},
		{ConstantImpedance, 0.4527552388, 0.0819968406},
	}
	for _, test := range tests {
		s := tenFeet(test.kind)
		s.LengthM = 0
		const d = -2 * Kilohertz
		slip := float64(s.PhaseSlip(d))
		f := s.DetunedFactor(d)
		if got := cmplx.Phase(f) / slip; !near(got, test.mean, 1e-4) {
			t.Errorf("%s: mean slip %v of the whole, want %v", test.kind, got, test.mean)
		}
		if got := 2 * (1 - cmplx.Abs(f)) / (slip * slip); !near(got, test.variance, 1e-3) {
			t.Errorf("%s: variance %v, want %v", test.kind, got, test.variance)
		}
	}
}

func TestDetunedFactorBounds(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 9))
	for range 2000 {
		s := tenFeet(ConstantGradient)
		switch random.IntN(3) {
		case 0:
			s.Kind = ConstantImpedance
		case 1:
			s = cavity(0.3 + 4*random.Float64())
		}
		s.Attenuation = 0.01 + 1.5*random.Float64()
		d := Frequency(300e3 * random.NormFloat64())
		warm, cold := s.DetunedFactor(d), s.DetunedFactor(-d)
		if !near(cmplx.Abs(warm), cmplx.Abs(cold), 1e-12) {
			t.Fatalf("%v, %v Hz: magnitude %v, %v on the other side", s.Kind, d, cmplx.Abs(warm), cmplx.Abs(cold))
		}
		if cmplx.Abs(warm) > 1+1e-14 || real(warm) > cmplx.Abs(warm) {
			t.Fatalf("%v, %v Hz: factor %v gains by detuning", s.Kind, d, warm)
		}
		if f := s.DetunedFactor(0); cmplx.Abs(f-1) > 1e-14 {
			t.Fatalf("%v: factor on tune %v", s.Kind, f)
		}
	}
}

func TestDetuningFromSlip(t *testing.T) {
	for _, s := range []Structure{tenFeet(ConstantGradient), tenFeet(ConstantImpedance), cavity(1.3)} {
		for _, d := range []Frequency{-1e6, -40e3, -1, 0, 3e3, 250e3} {
			if got := s.DetuningFromSlip(s.PhaseSlip(d)); !near(float64(got), float64(d), 1e-9) {
				t.Errorf("%s: %v Hz comes back as %v", s.Kind, d, got)
			}
		}
	}
	for _, slip := range []Phase{90 * Degree, -90 * Degree, 100 * Degree} {
		if got := cavity(1).DetuningFromSlip(slip); Known(got) {
			t.Errorf("a cavity cannot slip by %v, but is said to be off by %v", slip, got)
		}
	}
	// A travelling wave slips by whole turns too.
	if got := tenFeet(ConstantGradient).DetuningFromSlip(-400 * Degree); !near(float64(got), -400.0/360/0.83e-6, 1e-12) {
		t.Errorf("slip of more than a turn: %v", got)
	}
}

// Wants: worked from tan(psi) = 2 Q_L d/f in double precision.
func TestCavityOffTune(t *testing.T) {
	tests := []struct {
		beta             float64
		d                Frequency
		psiDeg, percents float64
	}{
		{1, -50e3, -12.23105423, 4.48823391},
		{1.5, -50e3, -9.83838710, 6.80285850},
		{2, 115e3, 18.38620924, 19.95468262},
		{1.5, 0, 0, 4},
		{2, 0, 0, 100.0 / 9},
	}
	for _, test := range tests {
		s := cavity(test.beta)
		if got := In(s.PhaseSlip(test.d), Degree); !near(got, test.psiDeg, 1e-8) {
			t.Errorf("beta %v, %v Hz: psi %v deg, want %v", test.beta, test.d, got, test.psiDeg)
		}
		if got := 100 * s.CavityReflectedFraction(test.d); !near(got, test.percents, 1e-8) {
			t.Errorf("beta %v, %v Hz: reflected %v %%, want %v", test.beta, test.d, got, test.percents)
		}
		// On tune the standing-wave ratio on the line is beta, or one over it.
		ratio := StandingWaveRatio(s.CavityReflectedFraction(0))
		if want := max(test.beta, 1/test.beta); !near(ratio, want, 1e-7) {
			t.Errorf("beta %v: standing-wave ratio %v", test.beta, ratio)
		}
	}
	if got := tenFeet(ConstantGradient).CavityReflectedFraction(0); !math.IsNaN(got) {
		t.Errorf("a travelling-wave structure has no coupler to reflect from like this: %v", got)
	}
}
