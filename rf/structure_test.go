package rf

import (
	"math"
	"math/rand/v2"
	"testing"
)

// tenFeet is the usual textbook section.
func tenFeet(kind StructureKind) Structure {
	return Structure{
		Name: "ten feet", Kind: kind, Frequency: 2856 * Megahertz, LengthM: 3.048, ShuntImpedanceOhmPerM: 53e6,
		Attenuation: 0.57, FillingTime: 0.83 * Microsecond, HzPerK: math.NaN(),
	}
}

func cavity(beta float64) Structure {
	return Structure{
		Name: "cavity", Kind: StandingWave, Frequency: 2998.5 * Megahertz, UnloadedQ: 13000,
		CouplingBeta: beta, ShuntImpedanceOhm: 3e6, HzPerK: math.NaN(),
	}
}

func TestStructureGains(t *testing.T) {
	gradient, impedance := tenFeet(ConstantGradient), tenFeet(ConstantImpedance)
	// Wants: integrated along the structure in double precision, all digits good.
	tests := []struct {
		name           string
		got, want, rel float64
	}{
		{"constant gradient, 1 MW", In(gradient.NoLoadGain(Megawatt), Megaelectronvolt), 10.48232588, 1e-9},
		{"constant impedance, 1 MW", In(impedance.NoLoadGain(Megawatt), Megaelectronvolt), 10.34397208, 1e-9},
		{"constant gradient, 1 A", In(gradient.BeamLoading(Ampere), Megaelectronvolt), 37.47622717, 1e-9},
		{"constant impedance, 1 A", In(impedance.BeamLoading(Ampere), Megaelectronvolt), 38.40933591, 1e-9},
		{"constant gradient, 20 MW, 0.1 A", In(gradient.EnergyGain(20*Megawatt, 0, 0.1), Megaelectronvolt), 43.13076376, 1e-9},
		{"constant impedance, 20 MW, 0.1 A", In(impedance.EnergyGain(20*Megawatt, 0, 0.1), Megaelectronvolt), 42.41871585, 1e-9},
		{"constant gradient, to load", In(gradient.OutputPower(20*Megawatt, 0.1), Megawatt), 4.130369863, 1e-9},
		{"constant impedance, to load", In(impedance.OutputPower(20*Megawatt, 0.1), Megawatt), 4.047773978, 1e-9},
		{"to load, no beam", In(gradient.OutputPower(20*Megawatt, 0), Megawatt), 20 * 0.3198190218, 1e-9},
		{"copper fraction", gradient.CopperFraction(), 1 - 0.3198190218, 1e-9},
		{"Q from 0.57 Np and 0.83 us", gradient.UnloadedQFromFilling(), 13065.06, 1e-6},
		{"gain of 15 MW, 20 mA", In(gradient.EnergyGain(15*Megawatt, 0, 20*Milliampere), Megaelectronvolt), 39.84834, 1e-6},
		// Four structures on one klystron gain twice what one gains of all its power.
		{"power shared by four", 4 * float64(gradient.NoLoadGain(10*Megawatt)), 2 * float64(gradient.NoLoadGain(40*Megawatt)), 1e-12},
		{"cavity at critical coupling", In(cavity(1).NoLoadGain(Megawatt), Megaelectronvolt), math.Sqrt(3), 1e-12},
		{"back from a cavity, beta 1.5", In(cavity(1.5).OutputPower(Megawatt, 0), Megawatt), 0.04, 1e-9},
		{"back from a cavity, beta 2", In(cavity(2).OutputPower(Megawatt, 0), Megawatt), 1.0 / 9, 1e-9},
	}
	for _, test := range tests {
		if !near(test.got, test.want, test.rel) {
			t.Errorf("%s: got %.10g, want %.10g", test.name, test.got, test.want)
		}
	}
}

func TestEnergyGainOffCrest(t *testing.T) {
	s := tenFeet(ConstantGradient)
	full, loading := s.NoLoadGain(20*Megawatt), s.BeamLoading(0.1)
	for _, crest := range []Phase{-90 * Degree, -20 * Degree, 0, 20 * Degree, 60 * Degree, 180 * Degree} {
		want := float64(full)*math.Cos(float64(crest)) - float64(loading)
		if got := s.EnergyGain(20*Megawatt, crest, 0.1); !near(float64(got), want, 1e-12) {
			t.Errorf("crest offset %v: got %v, want %v: beam loading does not turn with the crest", crest, got, want)
		}
		if got := s.EnergyGainWith(1, 20*Megawatt, crest, 0.1); !near(float64(got), want, 1e-12) {
			t.Errorf("crest offset %v, factor 1: got %v, want %v", crest, got, want)
		}
	}
}

// With no attenuation left both kinds are one: a level field and a level speed.
func TestKindsAgreeWithoutAttenuation(t *testing.T) {
	gradient, impedance := tenFeet(ConstantGradient), tenFeet(ConstantImpedance)
	gradient.Attenuation, impedance.Attenuation = 1e-5, 1e-5
	pairs := []struct {
		name string
		a, b float64
	}{
		{"gain", float64(gradient.NoLoadGain(Megawatt)), float64(impedance.NoLoadGain(Megawatt))},
		{"beam loading", float64(gradient.BeamLoading(1)), float64(impedance.BeamLoading(1))},
		{"to load", float64(gradient.OutputPower(Megawatt, 0)), float64(impedance.OutputPower(Megawatt, 0))},
		{"real part off tune", real(gradient.DetunedFactor(-80e3)), real(impedance.DetunedFactor(-80e3))},
		{"imaginary part off tune", imag(gradient.DetunedFactor(-80e3)), imag(impedance.DetunedFactor(-80e3))},
	}
	for _, pair := range pairs {
		if !near(pair.a, pair.b, 2e-5) {
			t.Errorf("%s: constant gradient %v, constant impedance %v", pair.name, pair.a, pair.b)
		}
	}
	// Of a level wave the mean slip is half, its spread a twelfth.
	gradient.Attenuation, gradient.LengthM = 0, 0
	if f := gradient.DetunedFactor(-1e3); !near(imag(f), float64(gradient.PhaseSlip(-1e3))/2, 1e-5) {
		t.Errorf("no attenuation at all: factor %v", f)
	}
}

// Walls, load and beam share the input power, and nothing else does.
func TestPowerBalance(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 7))
	for range 300 {
		s := tenFeet(ConstantGradient)
		s.Attenuation = 0.05 + random.Float64()
		s.LengthM = 0.5 + 5*random.Float64()
		input := (1 + 79*Power(random.Float64())) * Megawatt
		beam := Current(0.3 * random.Float64())

		// Wall power is the field squared over r: E = E0 + (i r/2) ln(1 - g z/L).
		r, l, tau := s.ShuntImpedanceOhmPerM, s.LengthM, s.Attenuation
		g := -math.Expm1(-2 * tau)
		level := math.Sqrt(r * float64(input) * g / l)
		sag := float64(beam) * r / 2
		mean := -1 + 2*tau*(1-g)/g                  // of ln(u) along the structure
		meanSquare := 2 - (1-g)*(4*tau*tau+4*tau)/g // of ln(u)^2
		wall := (level*level + 2*level*sag*mean + sag*sag*meanSquare) * l / r
		sum := wall + float64(s.OutputPower(input, beam)) + float64(beam)*float64(s.EnergyGain(input, 0, beam))
		if !near(sum, float64(input), 1e-12) {
			t.Fatalf("%+v, %v W, %v A: walls, load and beam take %v", s, input, beam, sum)
		}
	}
}

func TestUnknownKindIsUnknown(t *testing.T) {
	s := tenFeet("travelling")
	for name, got := range map[string]float64{
		"gain": float64(s.NoLoadGain(1)), "loading": float64(s.BeamLoading(1)), "output": float64(s.OutputPower(1, 1)),
		"copper": s.CopperFraction(), "factor": real(s.DetunedFactor(1)),
	} {
		if !math.IsNaN(got) {
			t.Errorf("%s of a structure of no kind: %v", name, got)
		}
	}
}
