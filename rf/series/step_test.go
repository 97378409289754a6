package series

import (
	"math"
	"testing"
)

// night12 returns twelve hours of one value a minute made by y of the hour.
func night12(y func(h float64) float64) (hours, values []float64) {
	hours, values = make([]float64, 720), make([]float64, 720)
	for i := range hours {
		hours[i] = float64(i) / 60
		values[i] = y(hours[i])
	}
	return hours, values
}

func TestOnset(t *testing.T) {
	r := seeded()
	white := func() float64 { return 0.05 * r.NormFloat64() }
	ramp := func(h, from, to float64) float64 { return min(max((h-from)/(to-from), 0), 1) }
	tests := []struct {
		name   string
		y      func(h float64) float64
		since  float64 // hours
		within float64
		step   bool
		ok     bool
	}{
		{"constant", func(float64) float64 { return 30 }, 0, 12, false, false},
		{"quiet", func(float64) float64 { return 30 + white() }, 0, 12, false, false},
		{"step", func(h float64) float64 { return 30 + 0.3*ramp(h, 4.99, 5) + white() }, 5, 0.1, true, true},
		{"step without noise", func(h float64) float64 { return 30 + 0.3*ramp(h, 4.99, 5) }, 5, 1e-9, true, true},
		{"step behind a lag of 7 min", func(h float64) float64 {
			return 30 + 0.3*(1-math.Exp(-max(h-5, 0)*60/7)) + white()
		}, 5, 0.2, true, true},
		{"ramp to the end", func(h float64) float64 { return 30 - 0.1*max(h-3, 0) + white() }, 3, 0.5, false, true},
		{"ramp that ends", func(h float64) float64 { return 30 + 0.5*ramp(h, 3, 6) + white() }, 3, 0.5, false, true},
		{"ramp from the start", func(h float64) float64 { return 30 + 0.1*h + white() }, 0.5, 0.5, false, true},
		{"step with the values about it missing", func(h float64) float64 {
			if h > 4.8 && h < 5.2 {
				return nan
			}
			return 30 + 0.3*ramp(h, 4.99, 5) + white()
		}, 5.2, 0.1, true, true},
		{"a spike is no onset", func(h float64) float64 {
			if h > 11.89 && h < 11.91 {
				return -67.1
			}
			return 30 + white()
		}, 0, 12, false, false},
		{"a swing that comes back is none", func(h float64) float64 { return 30 + 0.05*math.Sin(2*math.Pi*h*2) + white() }, 0, 12, false, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			h, y := night12(tt.y)
			at, step, ok := Onset(h, y, Mean(y[:60]), 0.02)
			if ok != tt.ok {
				t.Fatalf("got onset %v at %.2f h, want %v", ok, h[at], tt.ok)
			}
			if ok && (math.Abs(h[at]-tt.since) > tt.within || step != tt.step) {
				t.Errorf("got %.2f h, step %v; want %.2f h within %v, step %v", h[at], step, tt.since, tt.within, tt.step)
			}
		})
	}
}

// quarterHourNoise returns one sigma of the difference of two levels.
func quarterHourNoise(y []float64) float64 {
	means := groupMeans(y, 15)
	var steps []float64
	for i := 1; i < len(means); i++ {
		steps = append(steps, means[i]-means[i-1])
	}
	return RobustScale(steps)
}

// How often each course is known for what it is.
func TestOnsetRates(t *testing.T) {
	const records = 200
	for _, tt := range []struct {
		name       string
		noise      noise
		height     float64
		falseOnset float64 // at most
		found      float64 // at least, and told rightly
	}{
		{"white", noise{minutes: 720, white: 1}, 2, 0.01, 0.95},
		{"memory 10 min", noise{minutes: 720, wander: 1, memory: 10}, 6, 0.04, 0.95},
		{"chiller of 30 min", noise{minutes: 720, white: 1, cycle: 3, period: 30, jitter: 0.1}, 20, 0.01, 0.95},
		{"memory 33 min: levels of hours do differ", noise{minutes: 720, wander: 1, memory: 33}, 8, 0.12, 0.8},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := seeded()
			var quiet, step, ramp float64
			for range records {
				h, y := tt.noise.record(r)
				level := quarterHourNoise(y)
				if _, _, ok := Onset(h, y, Mean(y[:60]), level); ok {
					quiet++
				}
				at := 120 + r.IntN(480)
				stepped, ramped := make([]float64, len(y)), make([]float64, len(y))
				for i := range y {
					stepped[i], ramped[i] = y[i], y[i]+1.5*tt.height*max(0, float64(i-240)/480)
					if i >= at {
						stepped[i] += tt.height
					}
				}
				if k, isStep, ok := Onset(h, stepped, Mean(stepped[:60]), level); ok && isStep && k > at-30 && k < at+30 {
					step++
				}
				if k, isStep, ok := Onset(h, ramped, Mean(ramped[:60]), level); ok && !isStep && k > 120 && k < 360 {
					ramp++
				}
			}
			if quiet/records > tt.falseOnset {
				t.Errorf("%.3f of quiet records have an onset, want at most %v", quiet/records, tt.falseOnset)
			}
			if step/records < tt.found || ramp/records < tt.found {
				t.Errorf("found and told %.3f of steps and %.3f of ramps, want %v", step/records, ramp/records, tt.found)
			}
		})
	}
}

func TestOnsetOfLittle(t *testing.T) {
	h := []float64{0, 1, 2, 3, 4, 5, 6}
	if _, _, ok := Onset(h, []float64{0, 0, 0, 9, 9, 9, 9}, 0, 0.1); ok {
		t.Error("seven values: got an onset, want none")
	}
	if _, _, ok := Onset(nil, nil, 0, 0.1); ok {
		t.Error("nothing: got an onset, want none")
	}
}

func BenchmarkOnset(b *testing.B) {
	h, y := noise{minutes: 720, white: 1, wander: 1, memory: 20}.record(seeded())
	for b.Loop() {
		Onset(h, y, 0, 1)
	}
}
