package series

import (
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Slope is how fast a quantity changes, per hour, with its interval.
type Slope struct {
	PerH        float64
	Low, High   float64 // NaN: too few values to tell
	Used        int     // pairs without NaN
	Significant bool    // the interval is known and excludes zero
	CycleH      float64 // period of a cycle that was averaged over; NaN: none
}

func newSlope(perH, low, high float64, used int) Slope {
	return Slope{perH, low, high, used, low > 0 || high < 0, math.NaN()}
}

// Line is a straight line by ordinary least squares.
type Line struct {
	Intercept, Slope           float64
	InterceptError, SlopeError float64 // one sigma; NaN below three pairs
	ResidualStdDev             float64 // NaN below three pairs
	SlopeLow, SlopeHigh        float64 // 95 % interval, for departures that are independent
	RSquared                   float64
	Used                       int // pairs without NaN
}

// LeastSquares returns the ordinary least-squares line of y over x. Where all x
// are one the line is flat.
//
//	b1 = Sxy/Sxx   s^2 = RSS/(n-2)   sd(b1) = s/sqrt(Sxx)
//
// Valid: departures independent of one another; readings with memory need
// [DriftSlope].
// Source: NIST Statistical Reference Datasets, linear regression.
func LeastSquares(x, y []float64) Line {
	x, y = present(x, y)
	n := len(x)
	nan := math.NaN()
	l := Line{nan, nan, nan, nan, nan, nan, nan, nan, n}
	if n < 2 {
		return l
	}
	xMean, sxx := meanSquares(x)
	yMean, syy := meanSquares(y)
	if sxx == 0 {
		l.Intercept, l.Slope = yMean, 0
		return l
	}
	l.Intercept, l.Slope = stat.LinearRegression(x, y, nil, false)
	var rss float64
	for i := range x {
		r := y[i] - yMean - l.Slope*(x[i]-xMean)
		rss += r * r
	}
	if syy > 0 {
		l.RSquared = 1 - rss/syy
	}
	if n < 3 {
		return l
	}
	l.ResidualStdDev = math.Sqrt(rss / float64(n-2))
	l.SlopeError = l.ResidualStdDev / math.Sqrt(sxx)
	l.InterceptError = l.ResidualStdDev * math.Sqrt(1/float64(n)+xMean*xMean/sxx)
	half := studentFactor(n-2) * l.SlopeError
	l.SlopeLow, l.SlopeHigh = l.Slope-half, l.Slope+half
	return l
}

// TheilSen returns the median of the slopes between all pairs of readings with
// the interval that ranks give at the confidence (0.95: 95 %). It takes time
// with the square of the number of readings.
//
// Valid: departures independent of one another, from any distribution; up to
// nearly a third of the readings may be wild.
// Source: P. K. Sen, J. Am. Stat. Assoc. 63 (1968) 1379.
func TheilSen(h, y []float64, confidence float64) Slope {
	h, y = present(h, y)
	slopes := pairSlopes(h, y)
	n := len(slopes)
	if n == 0 {
		return newSlope(math.NaN(), math.NaN(), math.NaN(), len(h))
	}
	slices.Sort(slopes)
	low, high := math.NaN(), math.NaN()
	reach := distuv.UnitNormal.Quantile((1+confidence)/2) * math.Sqrt(kendallVariance(y))
	if rank := int((float64(n) - reach) / 2); rank >= 1 {
		low, high = slopes[rank-1], slopes[n-rank]
	}
	return newSlope(quantile(slopes, 0.5), low, high, len(h))
}

func pairSlopes(h, y []float64) []float64 {
	slopes := make([]float64, 0, len(h)*(len(h)-1)/2)
	for i := range h {
		for j := range i {
			if h[i] != h[j] {
				slopes = append(slopes, (y[i]-y[j])/(h[i]-h[j]))
			}
		}
	}
	return slopes
}

// present returns the pairs in which neither value is NaN: the slices themselves
// where all are there.
func present(x, y []float64) (xs, ys []float64) {
	for i := range x {
		if math.IsNaN(x[i] + y[i]) {
			xs, ys = slices.Clone(x[:i]), slices.Clone(y[:i])
			for i++; i < len(x); i++ {
				if !math.IsNaN(x[i] + y[i]) {
					xs, ys = append(xs, x[i]), append(ys, y[i])
				}
			}
			return xs, ys
		}
	}
	return x, y
}

// known returns the values that are not NaN.
func known(y []float64) []float64 {
	vs := make([]float64, 0, len(y))
	for _, v := range y {
		if !math.IsNaN(v) {
			vs = append(vs, v)
		}
	}
	return vs
}

// meanSquares returns the mean and the sum of squared deviations from it, zero
// where they are no more than the rounding of a constant.
func meanSquares(v []float64) (mean, squares float64) {
	mean = stat.Mean(v, nil)
	for _, x := range v {
		squares += (x - mean) * (x - mean)
	}
	if squares <= 1e-24*mean*mean*float64(len(v)) {
		squares = 0
	}
	return mean, squares
}

// studentFactor returns the factor of a two-sided 95 % interval.
func studentFactor(dof int) float64 {
	if table := studentTable(); dof < len(table) {
		return table[dof]
	}
	return studentQuantile(dof)
}

func studentQuantile(dof int) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(dof)}.Quantile(0.975)
}

// studentTable holds the factors that slopes over blocks ask for again and
// again: one costs as much as a third of a slope.
var studentTable = sync.OnceValue(func() []float64 {
	table := make([]float64, maxBlocks)
	for dof := 1; dof < len(table); dof++ {
		table[dof] = studentQuantile(dof)
	}
	return table
})
