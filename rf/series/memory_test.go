package series

import (
	"math"
	"testing"
)

// NIST Statistical Reference Datasets, univariate: the lag-1 autocorrelation is
// exact by construction; from memory, and easily done by hand.
func TestAutocorrelation(t *testing.T) {
	alternating := func(base float64) []float64 {
		y := []float64{base + 0.2}
		for range 500 {
			y = append(y, base+0.1, base+0.3)
		}
		return y
	}
	tests := []struct {
		name string
		y    []float64
		lag  int
		want float64
		rel  float64
	}{
		{"NumAcc1", []float64{10000001, 10000003, 10000002}, 1, -0.5, 1e-12},
		{"NumAcc2", alternating(1), 1, -0.999, 1e-12},
		{"NumAcc3", alternating(1000000), 1, -0.999, 1e-8},
		{"NumAcc4", alternating(10000000), 1, -0.999, 1e-6},
		{"lag 0", []float64{1, 5, 2}, 0, 1, 1e-12},
		{"constant", []float64{30, 30, 30}, 1, nan, 0},
		{"nothing", []float64{nan, nan}, 1, nan, 0},
		{"no pair", []float64{1, nan, 2, nan, 4}, 1, nan, 0},
		{"lag beyond the end", []float64{1, 2}, 2, nan, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := Autocorrelation(tt.y, tt.lag); !near(got, tt.want, tt.rel) {
				t.Errorf("got %v, want %v", got, tt.want)
			}
		})
	}
}

// First-order noise with a correlation phi of neighbours has a mean that n values
// tell as well as n(1-phi)/(1+phi) independent ones, for n far beyond the memory.
func TestEffectiveSize(t *testing.T) {
	for _, tt := range []struct {
		phi, rel float64
	}{{0, 0.1}, {0.5, 0.15}, {0.8, 0.2}, {0.9, 0.25}} {
		n := noise{minutes: 720, wander: 1, memory: -1 / math.Log(max(tt.phi, 1e-9))}
		r := seeded()
		var got float64
		for range 100 {
			_, y := n.record(r)
			got += EffectiveSize(y) / 100
		}
		if want := 720 * (1 - tt.phi) / (1 + tt.phi); !near(got, want, tt.rel) {
			t.Errorf("phi %v: got %.1f on average, want %.1f", tt.phi, got, want)
		}
	}
}

func TestEffectiveSizeOfLittle(t *testing.T) {
	tests := []struct {
		name string
		y    []float64
		want float64
	}{
		{"nothing", nil, 0},
		{"all missing", []float64{nan, nan}, 0},
		{"one value", []float64{4, nan}, 1},
		{"constant", []float64{7, 7, 7, 7, nan}, 4},
		{"alternating is not more than its number", []float64{1, -1, 1, -1, 1, -1, 1, -1}, 8},
	}
	for _, tt := range tests {
		if got := EffectiveSize(tt.y); got != tt.want {
			t.Errorf("%s: got %v, want %v", tt.name, got, tt.want)
		}
	}
}

// One sigma of a mean: what means of records really scatter by.
func TestLevelError(t *testing.T) {
	for _, tt := range []struct {
		name  string
		noise noise
		rel   float64
	}{
		{"white, 15 values", noise{minutes: 15, white: 1}, 0.15},
		{"white, 720 values", noise{minutes: 720, white: 1}, 0.1},
		{"memory 4.5 min, 60 values", noise{minutes: 60, wander: 1, memory: 4.5}, 0.15},
		{"memory 10 min, 720 values", noise{minutes: 720, wander: 1, memory: 10}, 0.1},
		{"memory 33 min, 720 values", noise{minutes: 720, wander: 1, memory: 33}, 0.15},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := seeded()
			var squares, told float64
			for range 1000 {
				_, y := tt.noise.record(r)
				squares += Mean(y) * Mean(y) / 1000
				told += LevelError(y) / 1000
			}
			if want := math.Sqrt(squares); !near(told, want, tt.rel) {
				t.Errorf("got %.3f on average, means scatter by %.3f", told, want)
			}
		})
	}
	if got := LevelError([]float64{1, 2, nan}); !math.IsNaN(got) {
		t.Errorf("two values: got %v, want none", got)
	}
	if got := LevelError([]float64{3, 3, 3}); got != 0 {
		t.Errorf("constant: got %v, want 0", got)
	}
}
