package series

import (
	"math"
	"testing"
)

// How often the 95 % interval contains the truth, by kind of noise. The bounds
// leave three sigmas of 400 trials about what the method reaches.
func TestDriftSlopeCovers(t *testing.T) {
	const records, trend = 400, 0.3
	tests := []struct {
		name      string
		noise     noise
		low, high float64
	}{
		{"white, 12 h", noise{minutes: 720, white: 1}, 0.93, 0.995},
		{"white, 4 h", noise{minutes: 240, white: 1}, 0.93, 0.99},
		{"memory 10 min, 12 h", noise{minutes: 720, wander: 1, memory: 10}, 0.93, 0.99},
		{"memory 20 min under white noise, 12 h", noise{minutes: 720, white: 3, wander: 1, memory: 20}, 0.92, 0.98},
		{"memory 33 min, 12 h", noise{minutes: 720, wander: 1, memory: 33}, 0.95, 1},
		{"memory 66 min, 12 h", noise{minutes: 720, wander: 1, memory: 66}, 0.97, 1},
		{"memory a quarter of the record", noise{minutes: 241, wander: 1, memory: 66}, 0.92, 0.98},
		{"sine of 20 min, 12 h", noise{minutes: 720, white: 1, cycle: 2, period: 20}, 0.93, 0.995},
		{"sine of 31 min over little noise, 12 h", noise{minutes: 720, white: 1, cycle: 20, period: 31}, 0.92, 0.99},
		{"sine of 40 min, 4 h", noise{minutes: 240, white: 1, cycle: 3, period: 40}, 0.93, 0.99},
		{"chiller of 27 min, 12 h", noise{minutes: 720, white: 1, cycle: 3, period: 27, jitter: 0.05}, 0.94, 1},
		{"chiller of 40 min, 12 h", noise{minutes: 720, white: 1, cycle: 3, period: 40, jitter: 0.15}, 0.95, 1},
		{"chiller of 30 min on a wander, 12 h", noise{minutes: 720, white: 1, wander: 1, memory: 33, cycle: 3, period: 30, jitter: 0.1}, 0.92, 0.99},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := seeded()
			covered := 0
			for range records {
				h, y := tt.noise.record(r)
				for i := range y {
					y[i] += trend * h[i]
				}
				if s := DriftSlope(h, y); s.Low <= trend && trend <= s.High {
					covered++
				}
			}
			if got := float64(covered) / records; got < tt.low || got > tt.high {
				t.Errorf("%v of intervals contain the truth, want %v to %v", got, tt.low, tt.high)
			}
		})
	}
}

func TestDriftSlope(t *testing.T) {
	hours := func(n int) []float64 {
		h := make([]float64, n)
		for i := range h {
			h[i] = float64(i) / 12
		}
		return h
	}
	r := seeded()
	of := func(f func(h float64) float64) func(h []float64) []float64 {
		return func(h []float64) []float64 {
			y := make([]float64, len(h))
			for i := range h {
				y[i] = f(h[i])
			}
			return y
		}
	}
	tests := []struct {
		name        string
		values      int
		y           func(h []float64) []float64
		perH, slack float64
		interval    bool
		significant bool
		used        int
	}{
		{"constant", 97, of(func(float64) float64 { return -0.087 }), 0, 0, true, false, 97},
		{"two values", 2, of(func(h float64) float64 { return 30 + 0.9*h }), 0.9, 1e-9, false, false, 2},
		{"five values", 5, of(func(h float64) float64 { return 30 + 0.01*r.NormFloat64() }), 0, 0.2, false, false, 5},
		{"exact ramp", 97, of(func(h float64) float64 { return 30 + 0.25*h }), 0.25, 1e-9, true, true, 97},
		{"drift in noise", 97, of(func(h float64) float64 { return 38 - 0.05*h + 0.02*r.NormFloat64() }), -0.05, 0.005, true, true, 97},
		{"drift behind missing values", 97, func(h []float64) []float64 {
			y := of(func(h float64) float64 { return 38 - 0.05*h + 0.02*r.NormFloat64() })(h)
			for i := 30; i < 55; i++ {
				y[i] = nan
			}
			return y
		}, -0.05, 0.005, true, true, 72},
		{"one spike near the end of a quiet record", 97, func(h []float64) []float64 {
			y := of(func(h float64) float64 { return 30 + 0.03*r.NormFloat64() })(h)
			y[95] = -67.1
			return y
		}, 0, 0.006, true, false, 97},
		{"one slow cycle as long as the record", 97, of(func(h float64) float64 { return 30 + 0.25*math.Sin(2*math.Pi*h/8) }), 0, 0.03, true, false, 97},
		{"nothing", 0, of(math.Sin), nan, 0, false, false, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			h := hours(tt.values)
			s := DriftSlope(h, tt.y(h))
			if !(math.Abs(s.PerH-tt.perH) <= tt.slack) && !near(s.PerH, tt.perH, 0) {
				t.Errorf("slope: got %v, want %v within %v", s.PerH, tt.perH, tt.slack)
			}
			if got := !math.IsNaN(s.Low) && !math.IsNaN(s.High); got != tt.interval {
				t.Errorf("interval [%v %v]: want one: %v", s.Low, s.High, tt.interval)
			}
			if s.Significant != tt.significant || s.Used != tt.used {
				t.Errorf("got significant %v from %d values, want %v from %d", s.Significant, s.Used, tt.significant, tt.used)
			}
		})
	}
}

// A cycle is averaged over whole turns: the slope under one is known better than
// least squares knows it.
func TestDriftSlopeAveragesCycles(t *testing.T) {
	r := seeded()
	n := noise{minutes: 720, white: 1, cycle: 20, period: 31}
	var drift, line float64
	for range 100 {
		h, y := n.record(r)
		s := DriftSlope(h, y)
		if math.Abs(s.CycleH*60-n.period) > 1.5 {
			t.Fatalf("cycle: got %v min, want %v", s.CycleH*60, n.period)
		}
		drift += s.PerH * s.PerH
		line += math.Pow(LeastSquares(h, y).Slope, 2)
	}
	if drift > line/9 {
		t.Errorf("rms error is %.2f of that of least squares, want less than a third", math.Sqrt(drift/line))
	}
}

// How it compares with all pairs of a whole night shows in the same run.
func BenchmarkDriftSlope(b *testing.B) {
	h, y := noise{minutes: 720, white: 1, wander: 1, memory: 20}.record(seeded())
	b.Run("DriftSlope", func(b *testing.B) {
		for b.Loop() {
			DriftSlope(h, y)
		}
	})
	b.Run("TheilSen", func(b *testing.B) {
		for b.Loop() {
			TheilSen(h, y, 0.95)
		}
	})
}
