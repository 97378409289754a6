package series

import (
	"math"
	"slices"
	"testing"
)

func TestUnwrap(t *testing.T) {
	tests := []struct {
		name      string
		deg, want []float64
	}{
		{"nothing", nil, nil},
		{"through the seam upwards", []float64{170, 179, -175, -160}, []float64{170, 179, 185, 200}},
		{"through the seam downwards", []float64{-170, 175, 160}, []float64{-170, -185, -200}},
		{"the first stays where it is", []float64{-166, 179}, []float64{-166, -181}},
		{"missing values at the seam", []float64{170, nan, nan, -170, -165}, []float64{170, nan, nan, 190, 195}},
		{"missing at the start", []float64{nan, 10, 359}, []float64{nan, 10, -1}},
		{"readings from 0 to 360", []float64{350, 2, 12}, []float64{350, 362, 372}},
		{"a step of less than half a turn stays", []float64{0, 170}, []float64{0, 170}},
		{"two turns at once", []float64{10, 731}, []float64{10, 11}},
		{"degrees, not radians", []float64{0, 5, 10}, []float64{0, 5, 10}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := Unwrap(slices.Clone(tt.deg))
			if !slices.EqualFunc(got, tt.want, func(a, b float64) bool { return near(a, b, 1e-12) }) {
				t.Errorf("got %v, want %v", got, tt.want)
			}
		})
	}
}

func TestCircularMean(t *testing.T) {
	tests := []struct {
		name            string
		deg             []float64
		mean, resultant float64
	}{
		{"nothing", nil, nan, nan},
		{"all missing", []float64{nan, nan}, nan, nan},
		{"about the seam", []float64{179, -179}, 180, math.Cos(math.Pi / 180)},
		{"about zero", []float64{359, 1, nan}, 0, math.Cos(math.Pi / 180)},
		{"one", []float64{-90}, -90, 1},
		{"opposite", []float64{0, 180}, nan, 0},
		{"all round", []float64{0, 90, 180, 270}, nan, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			mean, resultant := CircularMean(tt.deg)
			apart := math.Remainder(mean-tt.mean, 360)
			if !(math.Abs(apart) < 1e-9) && !(math.IsNaN(mean) && math.IsNaN(tt.mean)) {
				t.Errorf("mean: got %v, want %v", mean, tt.mean)
			}
			if !(math.Abs(resultant-tt.resultant) < 1e-12) && !math.IsNaN(tt.resultant) {
				t.Errorf("resultant: got %v, want %v", resultant, tt.resultant)
			}
		})
	}
}

// A narrow scatter on the circle is an ordinary standard deviation.
func TestCircularSpread(t *testing.T) {
	r := seeded()
	deg := make([]float64, 20000)
	for i := range deg {
		deg[i] = 175 + 12*r.NormFloat64()
	}
	_, resultant := CircularMean(deg)
	if got := CircularSpread(resultant); !near(got, 12, 0.02) {
		t.Errorf("got %v, want 12", got)
	}
	if got := CircularSpread(1); got != 0 {
		t.Errorf("all one direction: got %v, want 0", got)
	}
}
