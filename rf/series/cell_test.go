package series

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"
)

func filledCell(values ...float64) Cell {
	var c Cell
	for _, v := range values {
		c.Add(v)
	}
	return c
}

func TestCell(t *testing.T) {
	tests := []struct {
		name   string
		cell   Cell
		want   Cell // without M2
		value  float64
		stdDev float64
	}{
		{"empty", Cell{}, Cell{}, nan, nan},
		{"one reading", filledCell(-7), Cell{Count: 1, Mean: -7, Min: -7, Max: -7, Last: -7}, -7, nan},
		{"several", filledCell(2, 4, 9, 5), Cell{Count: 4, Mean: 5, Min: 2, Max: 9, Last: 5}, 5, math.Sqrt(26. / 3)},
		{"all the same", filledCell(0.1, 0.1, 0.1), Cell{Count: 3, Mean: 0.1, Min: 0.1, Max: 0.1, Last: 0.1}, 0.1, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := tt.cell
			got.M2 = 0
			if got != tt.want {
				t.Errorf("got %+v, want %+v", got, tt.want)
			}
			if !near(tt.cell.Value(), tt.value, 0) || !near(tt.cell.StdDev(), tt.stdDev, 1e-12) {
				t.Errorf("got %v and %v, want %v and %v", tt.cell.Value(), tt.cell.StdDev(), tt.value, tt.stdDev)
			}
		})
	}
}

func TestMergeWithEmpty(t *testing.T) {
	full := filledCell(1, 2, 4)
	got := full
	got.Merge(Cell{})
	if got != full {
		t.Errorf("nothing merged into a cell: got %+v, want %+v", got, full)
	}
	got = Cell{}
	got.Merge(full)
	if got != full {
		t.Errorf("a cell merged into nothing: got %+v, want %+v", got, full)
	}
}

// Readings taken in any number of parts make the cell that they make at once, and
// that of an independent library.
func TestMergeEqualsAdd(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		base := rapid.SampledFrom([]float64{0, 30, -350, 1e6}).Draw(t, "base")
		values := rapid.SliceOfN(rapid.Float64Range(-10, 10), 2, 40).Draw(t, "values")
		for i := range values {
			values[i] += base
		}
		var merged Cell
		for rest := values; len(rest) > 0; {
			k := rapid.IntRange(0, len(rest)).Draw(t, "part")
			merged.Merge(filledCell(rest[:k]...))
			rest = rest[k:]
			if k == 0 && len(rest) > 0 {
				merged.Merge(filledCell(rest[0]))
				rest = rest[1:]
			}
		}
		whole := filledCell(values...)
		mean, stdDev := stat.MeanStdDev(values, nil)
		for _, c := range []Cell{whole, merged} {
			if c.Count != uint32(len(values)) || c.Min != slices.Min(values) || c.Max != slices.Max(values) || c.Last != values[len(values)-1] {
				t.Fatalf("got %+v of %v", c, values)
			}
			if math.Abs(c.Mean-mean) > 1e-13*(10+math.Abs(base)) || math.Abs(c.StdDev()-stdDev) > 1e-12*(10+math.Abs(base)) {
				t.Fatalf("got mean %v, deviation %v; want %v, %v", c.Mean, c.StdDev(), mean, stdDev)
			}
		}
	})
}
