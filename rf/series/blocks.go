package series

import "math"

// Run is a stretch of cells or values, from one index up to, not including,
// another.
type Run struct{ From, To int }

// fewestStretches is the number below which equal stretches tell less than the
// values themselves.
const fewestStretches = 4

// equalStretches cuts rising times into at most so many stretches of equal
// length, each a whole number of periods where one is given (NaN: none), of
// steps between times else. They end at the last time; what is left over at the
// start, and any stretch less than half as full as the fullest, is left out.
// Where hardly any is left, every value is its own stretch.
func equalStretches(h []float64, most int, period float64) []Run {
	n := len(h)
	step := math.Inf(1)
	for i := 1; i < n; i++ {
		if d := h[i] - h[i-1]; d > 0 {
			step = min(step, d)
		}
	}
	unit := step
	if period > 0 {
		unit = period
	}
	end := h[n-1] + step/2
	span := end - h[0] + step/2
	// The margin keeps binary rounding from making one stretch too many.
	width := unit * max(1, math.Ceil(span/unit/float64(most)-1e-6))
	if math.IsInf(step, 1) || !(span/width >= fewestStretches-1e-6) {
		return single(n)
	}
	runs := make([]Run, int(span/width+1e-6))
	to, fullest := n, 0
	for k := len(runs) - 1; k >= 0; k-- {
		from, edge := to, end-width*float64(len(runs)-k)
		for from > 0 && h[from-1] > edge {
			from--
		}
		runs[k] = Run{from, to}
		fullest = max(fullest, to-from)
		to = from
	}
	full := runs[:0]
	for _, r := range runs {
		if 2*(r.To-r.From) >= fullest {
			full = append(full, r)
		}
	}
	if len(full) < fewestStretches {
		return single(n)
	}
	return full
}

// single returns one run for each of n values.
func single(n int) []Run {
	runs := make([]Run, n)
	for i := range runs {
		runs[i] = Run{i, i + 1}
	}
	return runs
}

// meansOver returns the mean of v in each run.
func meansOver(runs []Run, v []float64) []float64 {
	means := make([]float64, len(runs))
	for k, r := range runs {
		for _, x := range v[r.From:r.To] {
			means[k] += x
		}
		means[k] /= float64(r.To - r.From)
	}
	return means
}
