package series

import "math"

// Autocorrelation returns the correlation of y with itself lag places on, NaN
// where y has no spread or no pair has both values.
//
//	r = sum (y_i - m)(y_(i-lag) - m) / sum (y_i - m)^2
//
// Where values are missing, those sums stand for as large a part of the whole as
// their terms.
//
// Source: NIST Statistical Reference Datasets, univariate summary statistics.
func Autocorrelation(y []float64, lag int) float64 {
	vs := known(y)
	mean, squares := meanSquares(vs)
	if squares == 0 {
		return math.NaN()
	}
	n := float64(len(y))
	return lagged(y, mean, lag) * (n - float64(lag)) / n / (squares / float64(len(vs)))
}

// lagged returns the mean product of deviations lag places apart, NaN where no
// pair has both.
func lagged(y []float64, mean float64, lag int) float64 {
	var sum float64
	pairs := 0
	for i := lag; i < len(y); i++ {
		p := (y[i] - mean) * (y[i-lag] - mean)
		if p == p {
			sum += p
			pairs++
		}
	}
	if pairs == 0 {
		return math.NaN()
	}
	return sum / float64(pairs)
}

const (
	memoryGrid = 240 // values to which a long series is averaged before its memory is measured
	meanRounds = 3   // in which the correction for the mean that is taken off settles
)

// EffectiveSize returns how many independent values would tell the mean of y as
// well as its values do. It lies between one and the number of values that are
// not NaN.
//
//	n / (1 + 2 sum r_k)
//
// Error: of first-order noise, 15 % too large where the series is seventy
// memories long, 40 % at twenty, twice too large at seven.
func EffectiveSize(y []float64) float64 {
	vs := known(y)
	n := float64(len(vs))
	if n < 3 {
		return n
	}
	_, squares := meanSquares(vs)
	means := groupMeans(y, (len(y)+memoryGrid-1)/memoryGrid)
	vs = known(means)
	_, ofMeans := meanSquares(vs)
	if squares == 0 || ofMeans == 0 {
		return n
	}
	m := float64(len(vs))
	// A group's mean scatters less than its values: the error of the whole mean is
	// the same either way.
	size := m / correlationTime(means) * (squares / n) / (ofMeans / m)
	return min(max(size, 1), n)
}

// correlationTime returns how many neighbours of y count as one, at least one.
//
//	1 + 2 sum r_k, the sum ending where k exceeds 2.5 times itself
//
// Source: A. D. Sokal, Monte Carlo Methods in Statistical Mechanics, 1989, for the
// window; U. Wolff, Comput. Phys. Commun. 156 (2004) 143, for the correction of the
// mean; both from memory.
func correlationTime(y []float64) float64 {
	vs := known(y)
	n := float64(len(vs))
	mean, squares := meanSquares(vs)
	products := []float64{squares / n} // mean products of deviations by lag
	// The mean that is taken off follows the wander: the products are too small by
	// its variance, which is itself what is asked for.
	time, ofMean := 1.0, 0.0
	for range meanRounds {
		variance := products[0] + ofMean
		sum := variance
		for k := 1; k < len(y)/2 && float64(k) <= 2.5*sum/variance; k++ {
			if k == len(products) {
				products = append(products, lagged(y, mean, k))
			}
			if p := products[k]; !math.IsNaN(p) {
				sum += 2 * (p + ofMean)
			}
		}
		time = max(min(sum/variance, n/2), 1)
		ofMean = products[0] * time / (n - time)
	}
	return time
}

// groupMeans returns the means over groups of so many neighbours, NaN where all
// of a group are.
func groupMeans(y []float64, size int) []float64 {
	if size == 1 {
		return y
	}
	means := make([]float64, 0, len(y)/size+1)
	for from := 0; from < len(y); from += size {
		var sum, n float64
		for _, v := range y[from:min(from+size, len(y))] {
			if !math.IsNaN(v) {
				sum, n = sum+v, n+1
			}
		}
		means = append(means, sum/n)
	}
	return means
}

// LevelError returns one sigma of the mean of y, its memory allowed for; NaN
// below three values.
//
// Valid: memory short against the stretch. A wander slower than the stretch does
// not show inside it, and one cycle or less makes the error too large.
func LevelError(y []float64) float64 {
	vs := known(y)
	if len(vs) < 3 {
		return math.NaN()
	}
	_, squares := meanSquares(vs)
	return math.Sqrt(squares / float64(len(vs)) / max(EffectiveSize(y)-1, 1))
}
