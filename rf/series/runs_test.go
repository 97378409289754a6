package series

import (
	"math"
	"slices"
	"testing"
)

// cellsOf puts one reading in each cell, none where it is NaN.
func cellsOf(values []float64) []Cell {
	cells := make([]Cell, len(values))
	for i, v := range values {
		if !math.IsNaN(v) {
			cells[i].Add(v)
		}
	}
	return cells
}

func TestStuck(t *testing.T) {
	r := seeded()
	rounded := func(n int, scatter, count float64) []float64 {
		y := make([]float64, n)
		wander := 0.0
		for i := range y {
			wander = 0.97*wander + 0.24*scatter*r.NormFloat64()
			y[i] = math.Round((30+wander+scatter*r.NormFloat64())/count) * count
		}
		return y
	}
	freeze := func(y []float64, from, to int) []float64 {
		for i := from; i < to; i++ {
			y[i] = y[from]
		}
		return y
	}
	y := freeze(rounded(161, 0.012, 0.01), 70, 161)
	holed := slices.Clone(y)
	for i := 90; i < 110; i++ {
		holed[i] = nan
	}
	steps := make([]float64, 160)
	for i := range steps {
		steps[i] = []float64{350, 352, 349}[i/60]
	}
	tests := []struct {
		name  string
		cells []Cell
		want  []Run
	}{
		{"live sensor", cellsOf(rounded(161, 0.012, 0.01)), nil},
		{"freezes for good", cellsOf(y), []Run{{70, 161}}},
		{"empty cells do not end a run", cellsOf(holed), []Run{{70, 161}}},
		{"freezes twice", cellsOf(freeze(freeze(rounded(200, 0.012, 0.01), 40, 90), 120, 190)), []Run{{40, 90}, {120, 190}}},
		{"freezes at the start", cellsOf(freeze(rounded(161, 0.012, 0.01), 0, 80)), []Run{{0, 80}}},
		{"a short stop is usual", cellsOf(freeze(rounded(161, 0.012, 0.01), 70, 77)), nil},
		{"coarse sensor, most values equal", cellsOf(rounded(161, 0.02, 0.1)), nil},
		{"coarse sensor that stands for hours in its drift", cellsOf(freeze(rounded(300, 0.04, 0.1), 100, 250)), nil},
		{"never moves", cellsOf(make([]float64, 160)), nil},
		{"set value", cellsOf(steps), nil},
		{"nothing", make([]Cell, 100), nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := Stuck(tt.cells)
			// The run may begin a cell early where the last live reading is the same.
			same := slices.EqualFunc(got, tt.want, func(g, w Run) bool {
				return g.From <= w.From && g.From >= w.From-2 && g.To >= w.To && g.To <= w.To+2
			})
			if !same {
				t.Errorf("got %v, want %v", got, tt.want)
			}
		})
	}
}

// Several readings to a cell: a live one never stands in a cell.
func TestStuckAmongManyReadings(t *testing.T) {
	r := seeded()
	cells := make([]Cell, 240)
	for i := range cells {
		for range 6 {
			v := math.Round((30+0.02*r.NormFloat64())*100) / 100
			if i >= 200 {
				v = 30.01
			}
			cells[i].Add(v)
		}
	}
	if got := Stuck(cells); !slices.Equal(got, []Run{{200, 240}}) {
		t.Errorf("got %v, want one run from 200", got)
	}
}
