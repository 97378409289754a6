package rf

import "math"

// A bunch compressor is a chicane whose path length depends on energy: r56 in
// metre, negative for a chicane. Along the bunch z = c times arrival time, late
// positive.

// ArrivalShift returns by how much later a beam arrives when its energy is off by
// the given fraction; negative is earlier.
//
//	dt = R56 delta/c
func ArrivalShift(r56M, energyError float64) Interval {
	return Interval(r56M * energyError / speedOfLightMPerS)
}

// ChirpPerM returns the relative energy change along the bunch, per metre of z,
// at a beam energy E after contributions that add up to S across the beam.
//
//	h = -(2 pi/lambda) S/E
func ChirpPerM(across, energy Energy, f Frequency) float64 {
	return -2 * math.Pi * float64(f) / speedOfLightMPerS * float64(across/energy)
}

// BunchCompression returns bunch length before over after a bunch compressor; a
// negative value is a bunch compressed beyond its shortest.
//
//	C = 1/(1 + h R56)
//
// Valid: first order. Where |C| exceeds 5 compute it again at both ends of an
// error of h instead of scaling.
func BunchCompression(chirpPerM, r56M float64) float64 { return 1 / (1 + chirpPerM*r56M) }
