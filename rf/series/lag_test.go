package series

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

func TestLowPass(t *testing.T) {
	const step, tau = 1. / 60, 7. / 60
	ramp := make([]float64, 120)
	for i := range ramp {
		ramp[i] = 30 + 0.5*float64(i)*step
	}
	// Behind a lasting ramp from rest: x - r tau (1 - exp(-t/tau)).
	for i, got := range LowPass(ramp, step, tau) {
		want := ramp[i] - 0.5*tau*(1-math.Exp(-float64(i)*step/tau))
		if !near(got, want, 1e-12) {
			t.Fatalf("ramp, value %d: got %v, want %v", i, got, want)
		}
	}
	// A straight line with a hole in it is the same line.
	holed := slices.Clone(ramp)
	for i := 40; i < 60; i++ {
		holed[i] = nan
	}
	whole, through := LowPass(ramp, step, tau), LowPass(holed, step, tau)
	for i := range whole {
		if i >= 40 && i < 60 {
			if !math.IsNaN(through[i]) {
				t.Errorf("value %d in the hole: got %v, want none", i, through[i])
			}
		} else if !near(through[i], whole[i], 1e-12) {
			t.Errorf("value %d: got %v behind the hole, want %v", i, through[i], whole[i])
		}
	}
	if got := LowPass([]float64{nan, 5, 5}, step, tau); got[1] != 5 || got[2] != 5 || !math.IsNaN(got[0]) {
		t.Errorf("constant: got %v, want it at rest", got)
	}
	if got, want := LowPass([]float64{5, 5}, step, tau, 3)[1], 5-2*math.Exp(-step/tau); !near(got, want, 1e-12) {
		t.Errorf("from 3: got %v, want %v", got, want)
	}
	if got := LowPass(nil, step, tau); len(got) != 0 {
		t.Errorf("nothing: got %v", got)
	}
}

// The second route: small steps of the differential equation itself.
func TestLowPassAgainstIntegration(t *testing.T) {
	const step, tau, fine = 1. / 60, 5. / 60, 20000
	r := seeded()
	x := make([]float64, 60)
	for i := range x {
		x[i] = r.NormFloat64()
	}
	got := LowPass(x, step, tau)
	y := x[0]
	for i := 1; i < len(x); i++ {
		for k := range fine {
			in := x[i-1] + (x[i]-x[i-1])*(float64(k)+0.5)/fine
			y += (in - y) / tau * step / fine
		}
		if math.Abs(got[i]-y) > 2e-5 {
			t.Fatalf("value %d: got %v, integrated %v", i, got[i], y)
		}
	}
}

// body is a structure whose phase follows its water behind a lag, in small steps.
type body struct {
	minutes      int
	slope, tau   float64 // per kelvin; minutes
	drift, cycle float64 // of the water over the record; of a chiller of 30 min
	waterNoise   float64
	phaseNoise   float64
	pickUp       float64 // one sigma of a wander of four hours in the phase
}

func (b body) record(r *rand.Rand) (water, phase []float64) {
	const fine = 6
	chiller := noise{minutes: b.minutes * fine, cycle: b.cycle, period: 30 * fine, jitter: 0.1}
	_, inlet := chiller.record(r)
	_, wander := noise{minutes: b.minutes * fine, wander: b.pickUp, memory: 240 * fine}.record(r)
	water, phase = make([]float64, b.minutes), make([]float64, b.minutes)
	metal := inlet[0]
	for i, w := range inlet {
		w += b.drift * float64(i) / float64(len(inlet))
		metal += (w - metal) * (1 - math.Exp(-1/(b.tau*fine)))
		water[i/fine] += (30 + w + b.waterNoise*math.Sqrt(fine)*r.NormFloat64()) / fine
		phase[i/fine] += (-120 + b.slope*metal + wander[i] + b.phaseNoise*math.Sqrt(fine)*r.NormFloat64()) / fine
	}
	return water, phase
}

func TestFitLagCovers(t *testing.T) {
	const records, step = 100, 1. / 60
	for _, tt := range []struct {
		name      string
		body      body
		low, high float64 // share of intervals of the slope that contain it
		tauError  float64 // rms, minutes, at most
	}{
		{"clean", body{720, -8, 7, 0.1, 0.03, 0.001, 0.02, 0}, 0.91, 0.99, 0.25},
		{"noisy", body{720, -8, 7, 0.1, 0.03, 0.005, 0.1, 0}, 0.91, 0.99, 0.7},
		{"pick-ups wander by 0.3 deg", body{720, -8, 7, 0.1, 0.03, 0.003, 0.05, 0.3}, 0.90, 0.99, 1.6},
		{"the same behind 15 min", body{720, -8, 15, 0.1, 0.03, 0.003, 0.05, 0.3}, 0.90, 0.99, 3},
		{"the same in 4 h", body{240, -8, 7, 0.1, 0.03, 0.003, 0.05, 0.2}, 0.90, 0.99, 2},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := seeded()
			var covered, tau float64
			for range records {
				water, phase := tt.body.record(r)
				fit := FitLag(water, phase, step, 2*step, 20*step)
				if fit.Low <= tt.body.slope && tt.body.slope <= fit.High {
					covered++
				}
				tau += math.Pow(fit.TauH*60-tt.body.tau, 2) / records
			}
			if got := covered / records; got < tt.low || got > tt.high {
				t.Errorf("%v of intervals contain the slope, want %v to %v", got, tt.low, tt.high)
			}
			if got := math.Sqrt(tau); got > tt.tauError {
				t.Errorf("time constant: rms error %.2f min, want at most %v", got, tt.tauError)
			}
		})
	}
}

func TestFitLag(t *testing.T) {
	const step = 1. / 60
	r := seeded()
	water, phase := body{720, -8, 7, 0.1, 0.03, 0.001, 0.02, 0}.record(r)
	still := slices.Repeat([]float64{30.02}, 720)
	alternating := slices.Repeat([]float64{-1, 1, -1, 1, 0}, 144)

	t.Run("without the lag a healthy structure shows less than its slope", func(t *testing.T) {
		direct := FitLag(water, phase, step, 0.01*step, 0.01*step)
		fit := FitLag(water, phase, step, 2*step, 20*step)
		if !near(fit.Slope, -8, 0.02) || math.Abs(direct.Slope) > 0.8*math.Abs(fit.Slope) {
			t.Errorf("got %.2f behind a lag and %.2f without", fit.Slope, direct.Slope)
		}
		if fit.Correlation > -0.95 || !near(fit.Intercept, -120+8*30, 0.02) || fit.Used != 720 {
			t.Errorf("got %+v", fit)
		}
	})
	t.Run("a time constant that is known", func(t *testing.T) {
		fit := FitLag(water, phase, step, 7*step, 7*step)
		if !near(fit.TauH, 7*step, 1e-12) || !near(fit.TauLow, 7*step, 1e-12) || !near(fit.TauHigh, 7*step, 1e-12) || !near(fit.Slope, -8, 0.02) {
			t.Errorf("got %+v", fit)
		}
	})
	t.Run("missing values", func(t *testing.T) {
		x, y := slices.Clone(water), slices.Clone(phase)
		for i := 200; i < 320; i++ {
			y[i] = nan
		}
		for i := 400; i < 410; i++ {
			x[i] = nan
		}
		fit := FitLag(x, y, step, 2*step, 20*step)
		if fit.Used != 590 || !near(fit.Slope, -8, 0.03) {
			t.Errorf("got %+v, want slope -8 from 590 pairs", fit)
		}
	})
	t.Run("still water tells nothing", func(t *testing.T) {
		for _, fit := range []LagFit{
			FitLag(still, phase, step, 2*step, 20*step),
			FitLag(water, still, step, 2*step, 20*step),
			FitLag(water, alternating, step, 2*step, 20*step),
			FitLag(water[:5], phase[:5], step, 2*step, 20*step),
			FitLag(nil, nil, step, 2*step, 20*step),
		} {
			if !math.IsNaN(fit.Slope) || !math.IsNaN(fit.Low) || !math.IsNaN(fit.TauH) {
				t.Errorf("got %+v, want no fit", fit)
			}
		}
	})
	t.Run("a phase that does not follow", func(t *testing.T) {
		_, other := noise{minutes: 720, white: 0.05, wander: 0.3, memory: 60}.record(r)
		fit := FitLag(water, other, step, 2*step, 20*step)
		if !(fit.Low < 0 && fit.High > 0) || fit.TauHigh < 2*fit.TauLow {
			t.Errorf("got slope %v [%v %v], time constant [%v %v] h: want neither known", fit.Slope, fit.Low, fit.High, fit.TauLow, fit.TauHigh)
		}
	})
}

func BenchmarkFitLag(b *testing.B) {
	water, phase := body{720, -8, 7, 0.1, 0.03, 0.003, 0.05, 0.2}.record(seeded())
	for b.Loop() {
		FitLag(water, phase, 1./60, 2./60, 20./60)
	}
}
