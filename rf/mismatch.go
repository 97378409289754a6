package rf

import "math"

// ReflectedFractionOf returns reflected over forward power.
func ReflectedFractionOf(reflected, forward Power) float64 {
	return quotient(float64(reflected), float64(forward))
}

// StandingWaveRatio returns the voltage standing-wave ratio that belongs to a
// reflected fraction of the power; NaN where all of it comes back.
//
//	S = (1 + |G|)/(1 - |G|),  |G|^2 = reflected fraction
func StandingWaveRatio(reflectedFraction float64) float64 {
	g := math.Sqrt(reflectedFraction)
	return quotient(1+g, 1-g)
}

// ReflectedFractionFrom returns the reflected fraction of the power at a voltage
// standing-wave ratio.
func ReflectedFractionFrom(standingWaveRatio float64) float64 {
	g := (standingWaveRatio - 1) / (standingWaveRatio + 1)
	return g * g
}

// ReturnLossDB returns how far the reflected power lies under the forward power,
// in decibel.
func ReturnLossDB(reflectedFraction float64) float64 { return -10 * math.Log10(reflectedFraction) }
