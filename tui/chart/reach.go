package chart

import "slices"

// reach is the span of values that fall into one column.
type reach struct {
	low, high float64
	known     bool
}

// spikeFactor is how far an extreme must stand out, in units of how far they
// usually do, to be drawn: about five standard deviations for readings at one
// a second in cells of a minute.
const spikeFactor = 2

// usualReach returns how far the extremes of a cell usually lie from its mean.
func (s Series) usualReach() float64 {
	var distances []float64
	for i, mean := range s.Mean {
		if i < len(s.Min) && i < len(s.Max) && finite(mean) && finite(s.Min[i]) && finite(s.Max[i]) {
			distances = append(distances, max(mean-s.Min[i], s.Max[i]-mean))
		}
	}
	if len(distances) == 0 {
		return 0
	}
	slices.Sort(distances)
	return distances[len(distances)/2]
}

// reach returns what falls into column i of n: the means, and those extremes
// that stand out from the usual scatter. Columns finer than the cells repeat
// them; a column more than half of whose cells are missing is a gap.
func (s Series) reach(i, n int, usual float64) reach {
	from, to := share(i, n, len(s.Mean))
	var r reach
	present := 0
	for k := from; k < to; k++ {
		mean := s.Mean[k]
		if !finite(mean) {
			continue
		}
		low, high := mean, mean
		if k < len(s.Min) && mean-s.Min[k] > spikeFactor*usual && finite(s.Min[k]) {
			low = s.Min[k]
		}
		if k < len(s.Max) && s.Max[k]-mean > spikeFactor*usual && finite(s.Max[k]) {
			high = s.Max[k]
		}
		if present == 0 {
			r = reach{low, high, true}
		}
		r.low, r.high = min(r.low, low), max(r.high, high)
		present++
	}
	if 2*present < to-from {
		return reach{}
	}
	return r
}

// present returns how many of the cells of column i of n have a reading.
func (s Series) present(i, n int) (present, all int) {
	from, to := share(i, n, len(s.Mean))
	for _, v := range s.Mean[from:to] {
		if finite(v) {
			present++
		}
	}
	return present, to - from
}

// share returns which of the cells fall into column i of n: at least one, as
// long as there are any.
func share(i, n, cells int) (from, to int) {
	if n <= 0 || cells == 0 {
		return 0, 0
	}
	from, to = i*cells/n, (i+1)*cells/n
	if from >= cells {
		from = cells - 1
	}
	return from, min(max(to, from+1), cells)
}
