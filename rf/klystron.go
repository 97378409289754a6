package rf

import "math"

// PowerExponent is the power of the beam voltage with which a klystron's RF power
// grows at constant efficiency, re-saturated: from I ~ V^1.5 and P = eta V I. At
// fixed drive the exponent lies between 2.0 and 3.5 (common practice).
const PowerExponent = 2.5

// MicroperveanceOf returns i/V^1.5 of a klystron's gun, times 1e6.
//
// Valid: space-charge limited emission (Child-Langmuir).
func MicroperveanceOf(v Voltage, i Current) float64 {
	return 1e6 * quotient(float64(i), math.Pow(float64(v), 1.5))
}

// BeamPower returns the power of a klystron's beam.
func BeamPower(v Voltage, i Current) Power { return Power(float64(v) * float64(i)) }

// EfficiencyOf returns RF output power over beam power, 0 to 1.
func EfficiencyOf(out Power, v Voltage, i Current) float64 {
	return quotient(float64(out), float64(BeamPower(v, i)))
}

// GainDB returns the gain of a klystron in decibel.
func GainDB(out, drive Power) float64 {
	return 10 * math.Log10(quotient(float64(out), float64(drive)))
}

// quotient is NaN where there is nothing to divide by: a ratio to a reading of
// zero is not known, and an infinity would pass for a value out of tolerance.
func quotient(a, b float64) float64 {
	if !(b > 0) {
		return math.NaN()
	}
	return a / b
}

// PushingDegPerPercent returns by how many degrees the output phase of the
// station's klystron leads when its beam voltage rises by one per cent: the
// measured value where the plant gives it, else the transit angle over the drift
// length. NaN where the plant gives neither.
//
//	dphi = theta/(gamma (gamma + 1)) dV/V,  theta = omega L/(beta c)
//
// Error: measured tubes push harder than this, 5 to 10 degrees (from memory), as
// the gaps between and the drive add theirs.
func (s Station) PushingDegPerPercent(v Voltage, f Frequency) float64 {
	if Known(s.PhasePushingDegPerPercent) {
		return s.PhasePushingDegPerPercent
	}
	gamma := 1 + float64(v)/electronRestEV
	beta := math.Sqrt(1 - 1/(gamma*gamma))
	transit := Phase(quotient(2*math.Pi*float64(f)*s.DriftLengthM, beta*speedOfLightMPerS))
	return In(transit, Degree) / (gamma * (gamma + 1)) / 100
}

// The first maximum of the Bessel function J1: its place and its height.
const (
	firstMaximumAt = 1.8411837813406593
	firstMaximum   = 0.5818652242815963
)

// SaturationCurve returns output power over saturated output power when the drive
// power is the given multiple of the drive that saturates. It is flat at 1 and
// falls again when over-driven.
//
//	P/P_sat = (J1(1.841 sqrt(x))/0.5819)^2
//
// Valid: ballistic bunching, constant beam voltage; good near saturation.
func SaturationCurve(driveOverSaturation float64) float64 {
	j := math.J1(firstMaximumAt*math.Sqrt(driveOverSaturation)) / firstMaximum
	return j * j
}

// DriveExponent returns the local power of the drive with which the output grows:
// 1 for small drive, 0 at saturation, negative beyond.
//
//	dln(P)/dln(x) = u J0(u)/J1(u) - 1,  u = 1.841 sqrt(x)
func DriveExponent(driveOverSaturation float64) float64 {
	if driveOverSaturation == 0 {
		return 1
	}
	u := firstMaximumAt * math.Sqrt(driveOverSaturation)
	return u*math.J0(u)/math.J1(u) - 1
}
