package series

import "math"

// Onset returns where y begins to leave its reference, and whether it went in
// one step. The models are: flat at the reference, a step that stays, and a ramp
// that goes on; the change must be worth its extra parameters by the Bayesian
// information criterion, with the effective number of values. ok is false where
// the readings do not leave the reference.
//
// noise is one sigma of a reading about the reference.
func Onset(h, y []float64, reference, noise float64) (index int, step bool, ok bool) {
	var at []int
	var t, r []float64
	for i := range y {
		if !math.IsNaN(h[i]) && !math.IsNaN(y[i]) {
			at, t, r = append(at, i), append(t, h[i]), append(r, y[i]-reference)
		}
	}
	n := len(r)
	if n < minDrift {
		return 0, false, false
	}
	var sum, sumT, sumTT, sumR, sumTR, all float64
	origin := t[n-1]
	var stepGain, rampGain float64
	stepAt, rampAt := n, n
	for k := n - 1; k >= 0; k-- {
		u := t[k] - origin
		sum++
		sumT += u
		sumTT += u * u
		sumR += r[k]
		sumTR += u * r[k]
		all += r[k] * r[k]
		if g := sumR * sumR / sum; g > stepGain {
			stepGain, stepAt = g, k
		}
		xr, xx := sumTR-u*sumR, sumTT-2*u*sumT+u*u*sum
		if xx > 0 {
			if g := xr * xr / xx; g > rampGain {
				rampGain, rampAt = g, k
			}
		}
	}
	gain, k := rampGain, rampAt
	if stepGain >= rampGain {
		gain, k, step = stepGain, stepAt, true
	}
	floor := noise * noise * float64(n)
	left := max(all-gain, floor)
	if gain == 0 || float64(n)*math.Log((left+gain)/left) < 3*math.Log(float64(n)) {
		return 0, false, false
	}
	return at[k], step, true
}
