package series

import (
	"math"
	"testing"
)

func TestQuantile(t *testing.T) {
	tests := []struct {
		y    []float64
		p    float64
		want float64
	}{
		{nil, 0.5, nan},
		{[]float64{nan}, 0.5, nan},
		{[]float64{3, nan, 1}, 0.5, 2},
		{[]float64{1, 1, 2, 2, 4, 6, 9}, 0.5, 2},
		{[]float64{4, 1, 3, 2}, 0, 1},
		{[]float64{4, 1, 3, 2}, 1, 4},
		{[]float64{0, 10}, 0.9, 9},
	}
	for _, tt := range tests {
		if got := Quantile(tt.y, tt.p); !near(got, tt.want, 1e-12) {
			t.Errorf("%v of %v: got %v, want %v", tt.p, tt.y, got, tt.want)
		}
	}
}

func TestRobustScale(t *testing.T) {
	tests := []struct {
		name string
		y    []float64
		want float64
	}{
		{"nothing", nil, nan},
		{"one value", []float64{5}, 0},
		{"constant", []float64{-0.087, -0.087, -0.087}, 0},
		{"median deviation 1, a worked textbook set", []float64{1, 1, 2, 2, 4, 6, 9}, 1 / 0.674489750196},
		{"a constant with one spike has no scale", []float64{30, 30, 30, 30, 30, -67.1}, 0},
		{"coarse: over half equal, scale from the count", []float64{30, 30, 30, 30, 30, 30, 30.1, 30.1, 29.9, 29.9}, 0.1 / math.Sqrt(12)},
		{"missing values are left out", []float64{nan, 1, 1, 2, 2, nan, 4, 6, 9}, 1 / 0.674489750196},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := RobustScale(tt.y); !near(got, tt.want, 1e-9) {
				t.Errorf("got %v, want %v", got, tt.want)
			}
		})
	}
	r := seeded()
	y := make([]float64, 20000)
	for i := range y {
		y[i] = 3 * r.NormFloat64()
	}
	if got := RobustScale(y); !near(got, 3, 0.03) {
		t.Errorf("normal scatter of 3: got %v", got)
	}
}

func TestResolution(t *testing.T) {
	tests := []struct {
		name string
		y    []float64
		want float64
	}{
		{"nothing", nil, 0},
		{"constant", []float64{30, 30}, 0},
		{"no value comes back", []float64{1.234, 5.1, 2.7}, 0},
		{"tenths, with binary rounding", []float64{30, 29.9, 30.1, 30.1, 30, 0.1 + 29.8, 29.9}, 0.1},
		{"a spike is no step", []float64{30, 30, -67.1, 30.2, 30.2}, 0.2},
	}
	for _, tt := range tests {
		if got := Resolution(tt.y); !near(got, tt.want, 1e-9) {
			t.Errorf("%s: got %v, want %v", tt.name, got, tt.want)
		}
	}
}
