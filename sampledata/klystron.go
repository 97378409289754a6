package sampledata

import "math"

// saturation returns the share of the saturated power that a klystron gives at a
// drive of x times the saturating one: first-order bunching.
//
// Source: textbook ballistic theory, from memory.
func saturation(x float64) float64 {
	const firstMaximum, thereJ1 = 1.8411837813, 0.5818652243
	v := math.J1(firstMaximum*math.Sqrt(max(x, 0))) / thereJ1
	return v * v
}

// loadLine returns the voltage at which a source behind its own resistance and a
// beam of the given perveance (A/kV^1.5) meet:
//
//	V + R K V^1.5 = source
func loadLine(sourceKV, resistanceKOhm, perveance float64) float64 {
	v := 0.6 * sourceKV
	for range 12 {
		root := math.Sqrt(v)
		f := v + resistanceKOhm*perveance*v*root - sourceKV
		v -= f / (1 + 1.5*resistanceKOhm*perveance*root)
	}
	return v
}

// ballisticPushing returns by how many degrees the output phase advances per
// percent of beam voltage, from the time that electrons take along the drift
// length at two neighbouring voltages.
func ballisticPushing(driftM, voltageKV float64) float64 {
	transitDeg := func(kV float64) float64 {
		gamma := 1 + kV/510.99895
		beta := math.Sqrt(1 - 1/(gamma*gamma))
		return 360 * frequencyMHz * driftM / (beta * lightMPerUs)
	}
	return transitDeg(0.995*voltageKV) - transitDeg(1.005*voltageKV)
}
