package series

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Trend is the result of a Mann-Kendall test.
type Trend struct {
	S        int     // rising pairs less falling pairs
	Variance float64 // of S without a trend, ties allowed for
	Z        float64 // standard score of S
	P        float64 // two-sided; NaN: too few values to tell
	Used     int     // values without NaN
}

// minTrend is the number of values from which the normal approximation serves.
const minTrend = 10

// MannKendall tests whether y rises or falls with its index more often than
// chance. Compare levels that are far enough apart to be independent, such as
// those of whole nights.
//
//	S = sum sign(y_j - y_i)   var = [n(n-1)(2n+5) - sum t(t-1)(2t+5)]/18   Z = (S -+ 1)/sqrt(var)
//
// Valid: values independent of one another.
// Source: M. G. Kendall, Rank Correlation Methods, 1975, and R. O. Gilbert,
// Statistical Methods for Environmental Pollution Monitoring, 1987, sec. 16.4,
// from memory.
func MannKendall(y []float64) Trend {
	y = known(y)
	t := Trend{Used: len(y), Variance: kendallVariance(y), P: math.NaN()}
	for j := range y {
		for _, v := range y[:j] {
			switch {
			case y[j] > v:
				t.S++
			case y[j] < v:
				t.S--
			}
		}
	}
	if t.Variance > 0 && t.S != 0 {
		t.Z = (float64(t.S) - math.Copysign(1, float64(t.S))) / math.Sqrt(t.Variance)
	}
	if t.Used >= minTrend {
		t.P = 2 * distuv.UnitNormal.Survival(math.Abs(t.Z))
	}
	return t
}

// kendallVariance returns the variance of Kendall's S for values in random
// order, with groups of equal ones.
func kendallVariance(y []float64) float64 {
	of := func(n int) float64 { return float64(n) * float64(n-1) * float64(2*n+5) }
	sum := of(len(y))
	sorted := slices.Sorted(slices.Values(y))
	for i := 0; i < len(sorted); {
		j := i
		for j < len(sorted) && sorted[j] == sorted[i] {
			j++
		}
		sum -= of(j - i)
		i = j
	}
	return sum / 18
}
