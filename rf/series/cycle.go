package series

import "math"

// Cycle is a periodic swing in a series.
type Cycle struct {
	PeriodH   float64 // NaN: none stands out
	Amplitude float64 // half of peak to peak, of its sine
	P         float64 // chance that noise alone makes a peak as high
}

const (
	cycleGrid  = 240  // points that the readings are averaged to
	minCycles  = 3    // turns that must fit into the record
	cycleP     = 1e-4 // chance below which a peak stands out
	cyclePlace = 4    // grid points of the shortest period
)

// DominantCycle returns the cycle that stands out most from the noise about its
// own frequency, with a straight line taken out first.
//
// The power at each frequency is held against the median power from half to
// twice that frequency, which follows noise of any colour.
func DominantCycle(h, y []float64) Cycle {
	none := Cycle{math.NaN(), math.NaN(), 1}
	h, y = present(h, y)
	if len(h) < 8*cyclePlace {
		return none
	}
	span := h[len(h)-1] - h[0]
	l := LeastSquares(h, y)
	points := min(cycleGrid, len(h))
	grid, count := make([]float64, points), make([]float64, points)
	for i := range h {
		k := min(int((h[i]-h[0])/span*float64(points)), points-1)
		grid[k] += y[i] - l.Intercept - l.Slope*h[i]
		count[k]++
	}
	filled := 0.0
	for k := range grid {
		if count[k] > 0 {
			grid[k] /= count[k]
			filled++
		}
	}
	most := points / cyclePlace
	power := make([]float64, 2*most+1) // by half turns in the record
	for f := 2; f < len(power); f++ {
		power[f] = sinePower(grid, float64(f)/2) * 2 / filled
	}
	best, at := 0.0, 0
	for f := 2 * minCycles; f < len(power); f++ {
		ground := Median(power[f/2:min(2*f+1, len(power))]) / math.Ln2
		if ratio := power[f] / ground; ratio > best {
			best, at = ratio, f
		}
	}
	p := math.Min(1, float64(most)*math.Exp(-best))
	if at == 0 || p > cycleP {
		return none
	}
	return Cycle{span * 2 / float64(at), math.Sqrt(2 * power[at] / filled), p}
}

// sinePower returns the sum of squares of the projections of v on sine and
// cosine with so many turns over its length.
func sinePower(v []float64, turns float64) float64 {
	sin, cos := math.Sincos(2 * math.Pi * turns / float64(len(v)))
	s, c := 0.0, 1.0
	var vs, vc float64
	for _, x := range v {
		vs += x * s
		vc += x * c
		s, c = s*cos+c*sin, c*cos-s*sin
	}
	return vs*vs + vc*vc
}
