package series

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
)

// Mean returns the mean of the values that are not NaN; NaN where there is none.
func Mean(y []float64) float64 { return stat.Mean(known(y), nil) }

// Median returns the middle of the values that are not NaN; NaN where there is
// none.
func Median(y []float64) float64 { return Quantile(y, 0.5) }

// Quantile returns the value below which the share p of the values lies that are
// not NaN, by linear interpolation; NaN where there is none.
func Quantile(y []float64, p float64) float64 {
	vs := known(y)
	slices.Sort(vs)
	return quantile(vs, p)
}

// quantile is [Quantile] of values in order. Unlike that of gonum, which looks
// from the left edge of each value, the half of an even number is the mean of the
// middle two.
func quantile(sorted []float64, p float64) float64 {
	n := len(sorted)
	if n == 0 {
		return math.NaN()
	}
	at := p * float64(n-1)
	i := min(int(at), n-1)
	if i == n-1 {
		return sorted[i]
	}
	return sorted[i] + (at-float64(i))*(sorted[i+1]-sorted[i])
}

// normalMAD is one sigma of a normal distribution over its median absolute
// deviation, 1/quantile(3/4).
const normalMAD = 1.482602218505602

// RobustScale returns one sigma of y from the median absolute deviation, but no
// less than rounding to the channel's resolution makes; zero for a constant, NaN
// for nothing.
func RobustScale(y []float64) float64 {
	mid := Median(y)
	away := make([]float64, len(y))
	for i, v := range y {
		away[i] = math.Abs(v - mid)
	}
	return max(normalMAD*Median(away), Resolution(y)/math.Sqrt(12))
}

// Resolution returns the smallest step between values that y takes more than
// once: what one count of its converter is worth. It is zero where fewer than
// two values come back.
func Resolution(y []float64) float64 {
	vs := known(y)
	slices.Sort(vs)
	step, last := math.Inf(1), math.NaN()
	for i := 1; i < len(vs); i++ {
		if vs[i] != vs[i-1] || vs[i] == last {
			continue
		}
		if d := vs[i] - last; d > 1e-9*math.Abs(vs[i]) {
			step = min(step, d)
		}
		last = vs[i]
	}
	if math.IsInf(step, 1) {
		return 0
	}
	return step
}
