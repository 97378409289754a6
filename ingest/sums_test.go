package ingest

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"
)

// Readings taken many at a time and one by one come to the same sums, and to those
// of an independent library.
func TestPlainReadings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		quick := treatment{low: -1e6, high: 1e6, bend: math.Inf(1),
			scale: rapid.SampledFrom([]float64{1, 1e-3, -1, 60}).Draw(t, "scale"), offset: rapid.SampledFrom([]float64{0, -273.15}).Draw(t, "offset")}
		var many, single sums
		var all []float64
		for range rapid.IntRange(1, 4).Draw(t, "batches") {
			batch := rapid.SliceOfN(rapid.Float64Range(-1000, 1000), 1, batchRows).Draw(t, "readings")
			if !many.addPlain(&quick, batch) {
				t.Fatalf("%v: not plain", batch)
			}
			for _, v := range batch {
				v = v*quick.scale + quick.offset
				if single.count == 0 {
					single = sums{first: v, low: v, high: v}
				}
				single.add(v)
				all = append(all, v)
			}
		}
		mean, deviation := stat.MeanStdDev(all, nil)
		for _, s := range []sums{many, single} {
			c := s.cell()
			if c.Min != floats.Min(all) || c.Max != floats.Max(all) || c.Last != all[len(all)-1] || int(c.Count) != len(all) {
				t.Errorf("%v came to %+v", all, c)
			}
			if size := floats.Max([]float64{math.Abs(c.Min), math.Abs(c.Max)}); math.Abs(c.Mean-mean) > 1e-12*size || len(all) > 1 && math.Abs(c.StdDev()-deviation) > 1e-7*size {
				t.Errorf("%v: mean %v, deviation %v; a library says %v, %v", all, c.Mean, c.StdDev(), mean, deviation)
			}
		}
	})
}

func TestReadingsThatAreNotPlain(t *testing.T) {
	angle := treatment{low: -360, high: 360, scale: 1, bend: halfTurn}
	for _, test := range []struct {
		name     string
		readings []float64
	}{
		{"missing", []float64{1, missing, 2}},
		{"missing first", []float64{missing, 1}},
		{"beyond the range", []float64{1, 400}},
		{"below the range", []float64{-400, 1}},
		{"over the turn", []float64{179, -179}},
	} {
		t.Run(test.name, func(t *testing.T) {
			var s sums
			if s.addPlain(&angle, test.readings) || s.count != 0 {
				t.Errorf("taken as plain: %+v", s)
			}
		})
	}
}
