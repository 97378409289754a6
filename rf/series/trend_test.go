package series

import (
	"math"
	"testing"
)

func TestMannKendall(t *testing.T) {
	tests := []struct {
		name     string
		y        []float64
		s        int
		variance float64
		z        float64
		used     int
	}{
		{"nothing", nil, 0, 0, 0, 0},
		{"constant", []float64{3, 3, 3, 3}, 0, 0, 0, 4},
		{"Gilbert 1987 sec. 16.4, from memory", []float64{10, 15, 14, 20}, 4, 4 * 3 * 13 / 18., 3 / math.Sqrt(4*3*13/18.), 4},
		{"missing values are dropped", []float64{10, nan, 15, 14, nan, 20}, 4, 4 * 3 * 13 / 18., 3 / math.Sqrt(4*3*13/18.), 4},
		{"falling", []float64{4, 3, 2, 1}, -6, 4 * 3 * 13 / 18., -5 / math.Sqrt(4*3*13/18.), 4},
		{"a tie takes from the variance", []float64{1, 2, 2, 3}, 5, (4*3*13 - 2*1*9) / 18., 4 / math.Sqrt((4*3*13-2*1*9)/18.), 4},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := MannKendall(tt.y)
			if got.S != tt.s || !near(got.Variance, tt.variance, 1e-12) || !near(got.Z, tt.z, 1e-12) || got.Used != tt.used {
				t.Errorf("got %+v, want S %d, variance %v, Z %v of %d", got, tt.s, tt.variance, tt.z, tt.used)
			}
			if !math.IsNaN(got.P) {
				t.Errorf("got P = %v from %d values, want none: too few", got.P, got.Used)
			}
		})
	}
}
