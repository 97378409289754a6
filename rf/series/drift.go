package series

import "math"

const (
	minDrift  = 8  // values below which a slope has no interval
	maxBlocks = 32 // a slope is told by what is slow: more of them add nothing
	wild      = 5  // robust sigmas off the line at which a block is left out
	minWild   = 16 // blocks from which a robust sigma tells
)

// DriftSlope returns how fast y changes over the hours h, with a 95 % interval
// that allows for readings that remember.
//
// Means over at most 32 equal stretches, of whole cycles where a cycle stands
// out, are fitted with a wander of unknown memory beside the white noise. Blocks
// far off their Theil-Sen line are left out, so that a spike does not tilt it.
//
// Valid: h rising, in hours from an origin near the data. Below eight values the
// interval is NaN.
// Error: over simulated records the interval contains the truth in 94 to 99 of
// 100 for white noise, for a memory up to a twentieth of the record and for
// cycles; in more, being twice as wide as it need be, for a memory of a tenth; in
// 95 for a quarter, 85 for the whole and 78 beyond: no record tells such a wander
// from a drift.
func DriftSlope(h, y []float64) Slope {
	h, y = present(h, y)
	used := len(h)
	if used < minDrift {
		s := TheilSen(h, y, 0.95)
		return newSlope(s.PerH, math.NaN(), math.NaN(), used)
	}
	cycle := DominantCycle(h, y)
	stretches := equalStretches(h, maxBlocks, cycle.PeriodH)
	bh, by := withoutWild(meansOver(stretches, h), meansOver(stretches, y))
	f := wanderFit(bh, bh, by)
	s := newSlope(f.slope, f.low, f.high, used)
	s.CycleH = cycle.PeriodH
	return s
}

// withoutWild leaves out the values that stand far off the line through all.
func withoutWild(h, y []float64) (hs, ys []float64) {
	if len(h) < minWild {
		return h, y
	}
	slope := Median(pairSlopes(h, y))
	away := make([]float64, len(y))
	for i := range y {
		away[i] = y[i] - slope*h[i]
	}
	mid, scale := Median(away), RobustScale(away)
	if scale == 0 {
		return h, y
	}
	for i := range y {
		if math.Abs(away[i]-mid) <= wild*scale {
			hs, ys = append(hs, h[i]), append(ys, y[i])
		}
	}
	return hs, ys
}
