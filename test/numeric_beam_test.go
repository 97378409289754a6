package test

import (
	"math"
	"math/rand/v2"
	"testing"

	"dawncrest/rf"
)

// besselJ1 by its integral representation.
func besselJ1(x float64) float64 {
	return real(simpson(func(a float64) complex128 {
		return complex(math.Cos(a-x*math.Sin(a)), 0)
	}, 0, math.Pi, 400)) / math.Pi
}

func TestSaturationAgainstBesselIntegral(t *testing.T) {
	for _, x := range []float64{0.01, 0.2, 0.7, 0.95, 1, 1.1, 1.6} {
		j := besselJ1(1.8411837813406593*math.Sqrt(x)) / besselJ1(1.8411837813406593)
		if got := rf.SaturationCurve(x); !near(got, j*j, 1e-9) {
			t.Errorf("drive %v of saturation: power %v, integrated %v", x, got, j*j)
		}
		const step = 1e-5
		slope := math.Log(rf.SaturationCurve(x*(1+step))/rf.SaturationCurve(x*(1-step))) / (2 * step)
		if got := rf.DriveExponent(x); !within(got, slope, 1e-7) {
			t.Errorf("drive %v of saturation: exponent %v, differences %v", x, got, slope)
		}
		if rf.SaturationCurve(x) > 1 {
			t.Errorf("drive %v gives more than the saturated power", x)
		}
	}
}

// An electron's flight through the drift, at the speed that the voltage gives it.
func TestPushingAgainstTransitTime(t *testing.T) {
	s := rf.Station{DriftLengthM: 0.55, PhasePushingDegPerPercent: math.NaN()}
	for _, v := range []float64{80e3, 250e3, 350e3, 420e3} {
		lag := func(v float64) float64 { // degrees at the output gap
			momentum := math.Sqrt(v*v + 2*v*510998.95)
			beta := momentum / (v + 510998.95)
			return 360 * 2856e6 * s.DriftLengthM / (beta * lightMPerS)
		}
		want := (lag(v*0.9999) - lag(v*1.0001)) / 0.02
		if got := s.PushingDegPerPercent(rf.Voltage(v), 2856e6); !near(got, want, 1e-6) {
			t.Errorf("%v V: pushing %v deg per per cent, flight time says %v", v, got, want)
		}
	}
}

func linac() []rf.Contribution {
	return []rf.Contribution{
		{Gain: 62e6, Crest: -25 * rf.Degree, AmplitudeSigma: 1.2e-3, PhaseSigma: 0.3 * rf.Degree},
		{Gain: 58e6, Crest: -25 * rf.Degree, AmplitudeSigma: 0.8e-3, PhaseSigma: 0.2 * rf.Degree},
		{Gain: 75e6, Crest: 0, AmplitudeSigma: 0.5e-3, PhaseSigma: 1.5 * rf.Degree},
		{Gain: 75e6, Crest: 4 * rf.Degree, AmplitudeSigma: 0.6e-3, PhaseSigma: 0.1 * rf.Degree},
	}
}

// pulses returns mean and standard deviation of the beam energy over many pulses.
// rolls gives the two throws of a station: alone, or the same for all.
func pulses(cs []rf.Contribution, rolls func(pulse []float64)) (mean, sd float64) {
	const n = 400000
	var sum, squares float64
	thrown := make([]float64, 2*len(cs))
	reference := float64(rf.EnergySum(0, cs))
	for range n {
		rolls(thrown)
		energy := -reference
		for i, c := range cs {
			energy += float64(c.Gain) * (1 + c.AmplitudeSigma*thrown[2*i]) *
				math.Cos(float64(c.Crest+c.PhaseSigma*rf.Phase(thrown[2*i+1])))
		}
		sum += energy
		squares += energy * energy
	}
	return reference + sum/n, math.Sqrt(squares/n - sum/n*sum/n)
}

func TestJitterAgainstPulses(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	_, sd := pulses(linac(), func(pulse []float64) {
		for i := range pulse {
			pulse[i] = random.NormFloat64()
		}
	})
	if got := float64(rf.JitterIndependent(linac())); !near(got, sd, 0.01) {
		t.Errorf("independent jitter %v eV, thrown %v", got, sd)
	}
	_, sd = pulses(linac(), func(pulse []float64) {
		amplitude, phase := random.NormFloat64(), random.NormFloat64()
		for i := range pulse {
			pulse[i] = amplitude
			if i%2 == 1 {
				pulse[i] = phase
			}
		}
	})
	if got := float64(rf.JitterCommon(linac())); !near(got, sd, 0.01) {
		t.Errorf("common jitter %v eV, thrown %v", got, sd)
	}
}

func TestPerVoltageAgainstDifferences(t *testing.T) {
	const pushing = 6.0 // degrees per per cent
	for _, c := range linac() {
		at := func(part float64) float64 { // energy with the voltage up by a part
			power := math.Pow(1+part, 2.5)
			phase := float64(c.Crest) + part*100*pushing*math.Pi/180
			return float64(c.Gain) * math.Sqrt(power) * math.Cos(phase)
		}
		want := (at(1e-5) - at(-1e-5)) / 2e-5
		if got := float64(c.PerVoltage(pushing)); !near(got, want, 1e-6) {
			t.Errorf("crest %v: %v eV per unit of voltage, differences %v", c.Crest, got, want)
		}
	}
}

// Two particles through a station off crest and a chicane: the longer way of the
// slower one is what compresses the bunch.
func TestCompressionAgainstTwoParticles(t *testing.T) {
	const hz, r56M, entry = 2998.5e6, -0.05, 175e6
	for _, crest := range []rf.Phase{-12 * rf.Degree, -5 * rf.Degree, 0, 8 * rf.Degree} {
		station := rf.Contribution{Gain: 120e6, Crest: crest}
		energy := func(lateM float64) float64 {
			return entry + float64(station.Gain)*math.Cos(float64(crest)+2*math.Pi*hz/lightMPerS*lateM)
		}
		arrival := func(lateM float64) float64 { // m behind the middle of the bunch
			return lateM + r56M*(energy(lateM)/energy(0)-1)
		}
		const late = 1e-6
		want := 2 * late / (arrival(late) - arrival(-late))
		sum := rf.EnergySum(entry, []rf.Contribution{station})
		chirp := rf.ChirpPerM(rf.AcrossSum([]rf.Contribution{station}), sum, hz)
		if got := rf.BunchCompression(chirp, r56M); !near(got, want, 1e-6) {
			t.Errorf("crest %v: compression %v, two particles %v", crest, got, want)
		}
		delta := energy(late)/energy(0) - 1
		if got := float64(rf.ArrivalShift(r56M, delta)) * lightMPerS; !near(got, arrival(late)-late, 1e-9) {
			t.Errorf("crest %v: arrival shift %v m, particle %v", crest, got, arrival(late)-late)
		}
	}
	if rf.ArrivalShift(r56M, 1e-3) >= 0 {
		t.Error("a beam of too much energy must arrive early behind a chicane")
	}
}
