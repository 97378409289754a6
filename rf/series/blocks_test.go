package series

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestEqualStretches(t *testing.T) {
	every := func(step float64, n int) []float64 {
		h := make([]float64, n)
		for i := range h {
			h[i] = 5 + step*float64(i)
		}
		return h
	}
	tests := []struct {
		name   string
		h      []float64
		most   int
		period float64
		want   []Run
	}{
		{"fewer than asked for", every(0.1, 5), 32, nan, []Run{{0, 1}, {1, 2}, {2, 3}, {3, 4}, {4, 5}}},
		{"three to a stretch", every(0.1, 12), 4, nan, []Run{{0, 3}, {3, 6}, {6, 9}, {9, 12}}},
		{"what is left over is at the start", every(0.1, 23), 5, nan, []Run{{3, 8}, {8, 13}, {13, 18}, {18, 23}}},
		{"whole periods", every(0.25, 21), 32, 1, []Run{{1, 5}, {5, 9}, {9, 13}, {13, 17}, {17, 21}}},
		{"one time", []float64{1, 1, 1}, 32, nan, []Run{{0, 1}, {1, 2}, {2, 3}}},
		{"a hole", slices.Concat(every(0.5, 8), []float64{20, 20.5, 21, 21.5}), 17, nan, []Run{{0, 2}, {2, 4}, {4, 6}, {6, 8}, {8, 10}, {10, 12}}},
		{"nearly empty ones are left out", slices.Concat([]float64{4.4}, every(0.1, 16)), 6, nan, []Run{{1, 5}, {5, 9}, {9, 13}, {13, 17}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := equalStretches(tt.h, tt.most, tt.period)
			if !slices.Equal(got, tt.want) {
				t.Errorf("got %v, want %v", got, tt.want)
			}
		})
	}
}

// No record, however odd, breaks the statistics or makes them claim what they
// cannot know.
func TestOddRecords(t *testing.T) {
	value := rapid.OneOf(
		rapid.Just(math.NaN()), rapid.Just(30.0), rapid.Float64Range(-1e6, 1e6), rapid.Float64Range(29.9, 30.1),
	)
	rapid.Check(t, func(t *rapid.T) {
		y := rapid.SliceOfN(value, 0, 60).Draw(t, "y")
		x := rapid.SliceOfN(value, len(y), len(y)).Draw(t, "x")
		h := make([]float64, len(y))
		at := 0.0
		for i := range h {
			at += rapid.SampledFrom([]float64{1, 1, 1, 1, 2, 17, 400}).Draw(t, "step") / 60
			h[i] = at
		}
		used := 0
		for i := range y {
			if !math.IsNaN(y[i]) {
				used++
			}
		}
		s := DriftSlope(h, y)
		if s.Used != used || s.Low > s.PerH || s.PerH > s.High {
			t.Fatalf("slope %+v of %d values", s, used)
		}
		if used < minDrift && (s.Significant || !math.IsNaN(s.Low)) {
			t.Fatalf("%d values: slope %+v", used, s)
		}
		if k, _, ok := Onset(h, y, 30, math.NaN()); ok && (k < 0 || k >= len(y) || math.IsNaN(y[k])) {
			t.Fatalf("onset at %d of %v", k, y)
		}
		if f := FitLag(x, y, 1./60, 2./60, 20./60); f.Low > f.Slope || f.Slope > f.High {
			t.Fatalf("lag %+v", f)
		}
		if n := EffectiveSize(y); n < min(1, float64(used)) || n > float64(used) {
			t.Fatalf("effective size %v of %d", n, used)
		}
		if scale := RobustScale(y); scale < 0 || math.IsNaN(scale) != (used == 0) {
			t.Fatalf("scale %v of %d", scale, used)
		}
		Stuck(cellsOf(y))
		LevelError(y)
	})
}
