package sampledata

import "math"

// cavityAnswer is what a standing-wave cavity makes of a rectangular pulse of
// one megawatt, near the end of that pulse.
type cavityAnswer struct {
	voltageMV  complex128
	reflected  float64 // fraction of the power
	copperUs   float64 // energy left in the copper over the pulse, per megawatt
	radiatedUs float64 // energy that came back, the emptying included
}

// newCavityAnswer integrates the cavity's field from switching on to empty,
//
//	Tc dE/dt = -(1 - 2 pi i Tc detuning) E + alpha Ein,   reflected wave E - Ein
//
// wall power being |E|^2/beta.
func newCavityAnswer(s Structure, pulseUs, detuningKHz float64) cavityAnswer {
	beta := s.CouplingBeta
	loadedQ := s.UnloadedQ / (1 + beta)
	timeConstantUs := 2 * loadedQ / (2 * math.Pi * frequencyMHz)
	alpha := 2 * beta / (1 + beta)
	rate := complex(-1/timeConstantUs, 2*math.Pi*detuningKHz*1e-3)

	var a cavityAnswer
	e := complex(0, 0)
	run := func(lengthUs float64, in complex128) {
		n := int(math.Ceil(lengthUs / pulseStepUs))
		stepUs := lengthUs / float64(n)
		h, push := complex(stepUs, 0), complex(alpha/timeConstantUs, 0)*in
		for range n {
			k1 := rate*e + push
			middle := e + h/2*k1
			k2 := rate*middle + push
			k3 := rate*(e+h/2*k2) + push
			k4 := rate*(e+h*k3) + push
			next := e + h/6*(k1+2*k2+2*k3+k4)
			a.copperUs += stepUs * (square(e) + 4*square(middle) + square(next)) / 6 / beta
			a.radiatedUs += stepUs * (square(e-in) + 4*square(middle-in) + square(next-in)) / 6
			e = next
		}
	}
	run(pulseUs, 1)
	a.voltageMV = e * complex(math.Sqrt(s.CavityShuntMOhm/beta), 0)
	a.reflected = square(e - 1)
	run(8*timeConstantUs, 0)
	return a
}
