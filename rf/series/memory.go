package series

import "math"

// Autocorrelation returns the correlation of y with itself lag places on, over
// the pairs that have both values; NaN where y has no spread or too few pairs.
func Autocorrelation(y []float64, lag int) float64 {
	vs := known(y)
	if len(vs) < 2 {
		return math.NaN()
	}
	mean, squares := meanSquares(vs)
	if squares == 0 {
		return math.NaN()
	}
	return lagged(y, mean, lag) / (squares / float64(len(vs)))
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

// memoryGrid is the number of values to which a long series is averaged before
// its memory is measured.
const memoryGrid = 240

// EffectiveSize returns how many independent values would tell the mean of y as
// well as its values do: their number over the integrated autocorrelation time.
// It lies between one and the number of values that are not NaN.
//
//	n / (1 + 2 sum r_k), the sum ending where k exceeds 2.5 times itself
//
// Error: for a memory of more than a tenth of the series it is too large, because
// the mean that is taken off follows the wander.
// Source: A. D. Sokal, Monte Carlo Methods in Statistical Mechanics, 1989, the
// self-consistent window, from memory.
func EffectiveSize(y []float64) float64 {
	vs := known(y)
	n := float64(len(vs))
	if n < 3 {
		return n
	}
	_, squares := meanSquares(vs)
	if squares == 0 {
		return n
	}
	group := (len(y) + memoryGrid - 1) / memoryGrid
	means := groupMeans(y, group)
	vs = known(means)
	m := float64(len(vs))
	mean, ofMeans := meanSquares(vs)
	if ofMeans == 0 || m < 3 {
		return n
	}
	time := 1.0
	for k := 1; k < len(means)/2 && float64(k) <= 2.5*time; k++ {
		if r := lagged(means, mean, k) / (ofMeans / m); !math.IsNaN(r) {
			time += 2 * r
		}
	}
	// A group's mean scatters less than its values: the error of the whole mean is
	// the same either way.
	size := m / max(time, 1) * (squares / n) / (ofMeans / m)
	return min(max(size, 1), n)
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
// Valid: memory short against the stretch; a wander slower than the stretch
// does not show inside it.
func LevelError(y []float64) float64 {
	vs := known(y)
	if len(vs) < 3 {
		return math.NaN()
	}
	_, squares := meanSquares(vs)
	return math.Sqrt(squares / float64(len(vs)-1) / EffectiveSize(y))
}
