package rf

import "math"

// LoadedQ returns the quality factor of a standing-wave cavity with its coupler.
//
//	Q_L = Q0/(1 + beta)
func (s Structure) LoadedQ() float64 { return s.UnloadedQ / (1 + s.CouplingBeta) }

// TimeConstant returns the time in which the field of a standing-wave cavity
// falls to 1/e.
//
//	T = 2 Q_L/omega
//
// Source: [Wiedemann] eqs. (18.62), (18.83).
func (s Structure) TimeConstant() Interval {
	return Interval(s.LoadedQ() / (math.Pi * float64(s.Frequency)))
}

// CavityReflectedFraction returns the share of the forward power that a
// standing-wave cavity detuned by d sends back, in steady state without beam.
//
//	1 - (4 beta/(1 + beta)^2) cos(psi)^2
func (s Structure) CavityReflectedFraction(d Frequency) float64 {
	if s.Kind != StandingWave {
		return math.NaN()
	}
	cos := math.Cos(float64(s.PhaseSlip(d)))
	return 1 - s.CopperFraction()*cos*cos
}
