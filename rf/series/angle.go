package series

import "math"

// locked is the resultant below which directions have no mean: a scatter of 48
// degrees.
const locked = 0.7

// Unwrap adds whole turns to the angles, in degrees, so that each differs from
// the last present one by no more than half a turn; the first stays as it is and
// so does NaN. It works in place and returns deg.
func Unwrap(deg []float64) []float64 {
	last := math.NaN()
	for i, d := range deg {
		if math.IsNaN(d) {
			continue
		}
		if !math.IsNaN(last) {
			d += 360 * math.Round((last-d)/360)
		}
		deg[i], last = d, d
	}
	return deg
}

// CircularMean returns the direction of the mean of unit vectors, in degrees
// from -180 to 180, and its length from 0 (all directions alike) to 1 (all the
// same). The mean is NaN where the length is too short to name a direction, or
// nothing is there.
func CircularMean(deg []float64) (mean, resultant float64) {
	var c, s, n float64
	for _, d := range deg {
		if !math.IsNaN(d) {
			sin, cos := math.Sincos(d * math.Pi / 180)
			c, s, n = c+cos, s+sin, n+1
		}
	}
	if n == 0 {
		return math.NaN(), math.NaN()
	}
	resultant = min(math.Hypot(c, s)/n, 1)
	if resultant < locked {
		return math.NaN(), resultant
	}
	return math.Atan2(s, c) * 180 / math.Pi, resultant
}

// CircularSpread returns the standard deviation, in degrees, of directions with
// that resultant.
//
//	sqrt(-2 ln R)
//
// Source: K. V. Mardia, Statistics of Directional Data, 1972, from memory.
func CircularSpread(resultant float64) float64 {
	return math.Sqrt(-2*math.Log(resultant)) * 180 / math.Pi
}
