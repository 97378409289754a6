package series

import (
	"math"
)

const (
	minDrift   = 8  // values below which a slope has no interval
	maxBlocks  = 32 // a slope is told by what is slow: more blocks add nothing
	wildBlocks = 5  // robust sigmas from the line at which a block is left out
)

// DriftSlope returns how fast y changes over the hours h, with a 95 % interval
// that allows for readings that remember.
//
// Up to 32 block means are fitted by [wanderFit]; blocks far from their
// Theil-Sen line are left out, so that a spike does not tilt it.
//
// Valid: h rising, in hours from an origin near the data.
// Error: below eight values the interval is NaN. A record shorter than about
// three memory times of its wander cannot show the wander in full: the interval
// then covers less often than it says.
func DriftSlope(h, y []float64) Slope {
	h, y = present(h, y)
	used := len(h)
	nan := math.NaN()
	if used < minDrift {
		s := TheilSen(h, y, 0.95)
		return newSlope(s.PerH, nan, nan, used)
	}
	bh, by := blockMeans(h, y, maxBlocks)
	bh, by = withoutWild(bh, by)
	f := wanderFit(bh, bh, by)
	return newSlope(f.slope, f.low, f.high, used)
}

// blockMeans returns the means of at most the given number of groups of
// neighbouring values, all of nearly the same size.
func blockMeans(h, y []float64, most int) (bh, by []float64) {
	n := len(h)
	blocks := min(most, n)
	bh, by = make([]float64, blocks), make([]float64, blocks)
	for b := range blocks {
		from, to := b*n/blocks, (b+1)*n/blocks
		for i := from; i < to; i++ {
			bh[b] += h[i]
			by[b] += y[i]
		}
		bh[b] /= float64(to - from)
		by[b] /= float64(to - from)
	}
	return bh, by
}

func withoutWild(h, y []float64) (hs, ys []float64) {
	slope := TheilSen(h, y, 0.95).PerH
	if math.IsNaN(slope) {
		return h, y
	}
	away := make([]float64, len(y))
	for i := range y {
		away[i] = y[i] - slope*h[i]
	}
	mid, scale := Median(away), RobustScale(away)
	if scale == 0 {
		return h, y
	}
	for i := range y {
		if math.Abs(away[i]-mid) <= wildBlocks*scale {
			hs, ys = append(hs, h[i]), append(ys, y[i])
		}
	}
	return hs, ys
}
