package series

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/stat"
)

// Cycle is a periodic swing in a series.
type Cycle struct {
	PeriodH   float64 // NaN: none stands out
	Amplitude float64 // of its sine, half of peak to peak
	P         float64 // chance that noise alone makes a peak as high
}

const (
	cycleGrid = 240  // points that the readings are averaged to
	minCycles = 4    // that must fit into the record
	minPeriod = 4    // points of the grid
	cycleP    = 1e-8 // chance below which a cycle stands out
)

// DominantCycle returns the cycle of y that stands out most from the noise about
// its own frequency, after a straight line is taken out.
//
// The power at a frequency is held against the median power from half to twice
// that frequency, which follows noise of most colours; because it falls behind
// where the noise is red, the chance asked for is small.
//
// Valid: h rising; at least four cycles in the record, each of at least four of
// its readings or of 240 equal parts of it.
func DominantCycle(h, y []float64) Cycle {
	none := Cycle{PeriodH: math.NaN(), P: 1}
	h, y = present(h, y)
	points := min(cycleGrid, len(h))
	highest := 2 * points / minPeriod // in half turns over the record
	lowest := 2 * minCycles
	if 2*lowest > highest {
		return none
	}
	grid, filled := onGrid(h, y, points)
	power := powerByHalfTurns(grid)
	best, at := 0.0, 0
	for f := lowest; f < highest; f++ {
		about := power[f/2 : min(2*f+1, highest)]
		if power[f] < power[f-1] || power[f] < slices.Max(about) {
			continue
		}
		if ground := Median(about) / math.Ln2; power[f] > best*ground { // an exponential's mean over its median
			best, at = power[f]/ground, f
		}
	}
	p := min(1, float64(points/minPeriod)*math.Exp(-best))
	if at == 0 || p > cycleP {
		return none
	}
	width := (h[len(h)-1] - h[0]) / float64(points-1)
	return Cycle{
		PeriodH:   2 * float64(points) * width / float64(at),
		Amplitude: 2 * math.Sqrt(power[at]) / float64(filled),
		P:         p,
	}
}

// onGrid averages what a straight line leaves of y to equal parts of the record,
// zero where a part is empty.
func onGrid(h, y []float64, points int) (grid []float64, filled int) {
	intercept, slope := stat.LinearRegression(h, y, nil, false)
	grid = make([]float64, points)
	count := make([]float64, points)
	scale := float64(points-1) / (h[len(h)-1] - h[0])
	for i := range h {
		k := int((h[i]-h[0])*scale + 0.5)
		grid[k] += y[i] - intercept - slope*h[i]
		count[k]++
	}
	for k := range grid {
		if count[k] > 0 {
			grid[k] /= count[k]
			filled++
		}
	}
	return grid, filled
}

// powerByHalfTurns returns the squared size of the Fourier sums of v at 0, 1/2,
// 1, 3/2 ... turns over its length: twice as fine as its own frequencies, so that
// none falls between.
func powerByHalfTurns(v []float64) []float64 {
	padded := make([]float64, 2*len(v))
	copy(padded, v)
	sums := fourier.NewFFT(len(padded)).Coefficients(nil, padded)
	power := make([]float64, len(sums))
	for k, c := range sums {
		power[k] = real(c)*real(c) + imag(c)*imag(c)
	}
	return power
}
