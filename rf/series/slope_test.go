package series

import (
	"math"
	"testing"
)

var nan = math.NaN()

func TestLeastSquares(t *testing.T) {
	tests := []struct {
		name      string
		x, y      []float64
		intercept float64
		slope     float64
		err       float64
		used      int
	}{
		{"nothing", nil, nil, nan, nan, nan, 0},
		{"one pair", []float64{1}, []float64{2}, nan, nan, nan, 1},
		{"two pairs have no error", []float64{0, 1}, []float64{30, 30.9}, 30, 0.9, nan, 2},
		{"constant", []float64{0, 1, 2, 3}, []float64{5, 5, 5, 5}, 5, 0, 0, 4},
		{"constant with binary rounding", []float64{0, 1, 2}, []float64{0.1, 0.1, 0.1}, 0.1, 0, 0, 3},
		{"all at one x", []float64{2, 2, 2}, []float64{1, 2, 3}, 2, 0, nan, 3},
		{"missing pairs are dropped", []float64{0, 1, nan, 2, 3}, []float64{1, nan, 9, 5, 7}, 1, 2, 0, 3},
		{"scatter, by hand", []float64{-1, 0, 1}, []float64{0, 3, 0}, 1, 0, math.Sqrt(3), 3},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			l := LeastSquares(tt.x, tt.y)
			if !near(l.Intercept, tt.intercept, 1e-12) || math.Abs(l.Slope-tt.slope) > 1e-12 || l.Used != tt.used {
				t.Errorf("got %v + %v x from %d, want %v + %v x from %d", l.Intercept, l.Slope, l.Used, tt.intercept, tt.slope, tt.used)
			}
			if !near(l.SlopeError, tt.err, 1e-12) && math.Abs(l.SlopeError) > 1e-12 {
				t.Errorf("error of slope: got %v, want %v", l.SlopeError, tt.err)
			}
		})
	}
}

// Sums over raw milliseconds since 1970 lose such a slope.
func TestSlopeFarFromOrigin(t *testing.T) {
	var ms, y []float64
	for i := range 97 {
		ms = append(ms, 1795471200000+300000*float64(i))
		y = append(y, 30+0.001*float64(i)/12)
	}
	const perHour = 3600e3
	if got := LeastSquares(ms, y).Slope * perHour; !near(got, 0.001, 1e-6) {
		t.Errorf("least squares: got %v per hour, want 0.001", got)
	}
	if got := TheilSen(ms, y, 0.95).PerH * perHour; !near(got, 0.001, 1e-6) {
		t.Errorf("Theil-Sen: got %v per hour, want 0.001", got)
	}
	if got := DriftSlope(ms, y).PerH * perHour; !near(got, 0.001, 1e-6) {
		t.Errorf("drift: got %v per hour, want 0.001", got)
	}
}

func TestTheilSen(t *testing.T) {
	tests := []struct {
		name            string
		h, y            []float64
		slope, low, top float64
		used            int
	}{
		{"nothing", nil, nil, nan, nan, nan, 0},
		{"two pairs have no interval", []float64{0, 1}, []float64{30, 30.9}, 0.9, nan, nan, 2},
		{"constant", []float64{0, 1, 2, 3, 4, 5}, []float64{7, 7, 7, 7, 7, 7}, 0, 0, 0, 6},
		{"one wild value of nine", []float64{0, 1, 2, 3, 4, 5, 6, 7, 8}, []float64{0, 2, 4, 6, -900, 10, 12, 14, 16}, 2, 2, 2, 9},
		{"missing pairs are dropped", []float64{0, nan, 1, 2}, []float64{0, 5, nan, 4}, 2, nan, nan, 2},
		{"two values at one time make no slope", []float64{0, 0, 1}, []float64{1, 3, 4}, 2, nan, nan, 3},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := TheilSen(tt.h, tt.y, 0.95)
			if !near(s.PerH, tt.slope, 1e-12) || !near(s.Low, tt.low, 1e-12) || !near(s.High, tt.top, 1e-12) || s.Used != tt.used {
				t.Errorf("got %+v, want %v [%v %v] of %d", s, tt.slope, tt.low, tt.top, tt.used)
			}
		})
	}
}

// NIST/SEMATECH e-Handbook of Statistical Methods, sec. 1.3.6.7.2, from memory.
func TestStudentFactor(t *testing.T) {
	for dof, want := range map[int]float64{1: 12.706, 2: 4.303, 5: 2.571, 10: 2.228, 30: 2.042, 60: 2.000, 120: 1.980} {
		if got := studentFactor(dof); math.Abs(got-want) > 5e-4 {
			t.Errorf("%d degrees: got %v, want %v", dof, got, want)
		}
	}
}
