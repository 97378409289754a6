package series

import (
	"math"
	"testing"
)

func TestDominantCycle(t *testing.T) {
	tests := []struct {
		name   string
		noise  noise
		period float64 // minutes; NaN: none
	}{
		{"sine under noise", noise{minutes: 720, white: 1, cycle: 0.7, period: 31}, 31},
		{"sine of 20 min", noise{minutes: 720, white: 0.1, cycle: 2, period: 20}, 20},
		{"sine in 4 h", noise{minutes: 240, white: 0.5, cycle: 2, period: 24}, 24},
		{"chiller", noise{minutes: 720, white: 1, cycle: 3, period: 27, jitter: 0.05}, 27},
		{"chiller on a wander", noise{minutes: 720, white: 1, wander: 3, memory: 60, cycle: 3, period: 30, jitter: 0.05}, 30},
		{"white noise", noise{minutes: 720, white: 1}, nan},
		{"wander", noise{minutes: 720, wander: 1, memory: 33}, nan},
		{"slow wander", noise{minutes: 720, wander: 1, memory: 300, white: 0.1}, nan},
		{"constant", noise{minutes: 720}, nan},
		{"two turns are no cycle yet", noise{minutes: 720, white: 0.1, cycle: 2, period: 360}, nan},
		{"too little", noise{minutes: 20, cycle: 1, period: 4}, nan},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := seeded()
			for range 20 {
				h, y := tt.noise.record(r)
				for i := range y {
					y[i] += 0.5 * h[i]
				}
				c := DominantCycle(h, y)
				if !near(c.PeriodH*60, tt.period, 0.05) {
					t.Fatalf("got %+v, want %v min", c, tt.period)
				}
				if tt.noise.cycle > 0 && tt.noise.jitter == 0 && c.PeriodH > 0 && !near(c.Amplitude, tt.noise.cycle, 0.25) {
					t.Errorf("amplitude: got %v, want %v", c.Amplitude, tt.noise.cycle)
				}
			}
		})
	}
}

func TestDominantCycleThroughGaps(t *testing.T) {
	h, y := noise{minutes: 720, white: 0.5, cycle: 2, period: 31}.record(seeded())
	for i := range y {
		if i > 300 && i < 420 || i%50 < 10 {
			y[i] = nan
		}
	}
	if c := DominantCycle(h, y); !near(c.PeriodH*60, 31, 0.03) || !near(c.Amplitude, 2, 0.25) {
		t.Errorf("got %+v, want 31 min of 2", c)
	}
}

// One in a thousand records of any noise shows a cycle that is not there.
func TestDominantCycleFalse(t *testing.T) {
	for _, n := range []noise{
		{minutes: 720, white: 1},
		{minutes: 720, wander: 1, memory: 10},
		{minutes: 720, wander: 1, memory: 66, white: 0.3},
	} {
		r := seeded()
		seen := 0
		for range 500 {
			if c := DominantCycle(n.record(r)); !math.IsNaN(c.PeriodH) {
				seen++
			}
		}
		if seen > 3 {
			t.Errorf("%+v: %d of 500 records show a cycle", n, seen)
		}
	}
}
