package rf

import "math"

// DetunedFactor returns the complex factor by which a detuning d (resonant minus
// drive frequency; too warm is negative) changes the no-load gain. Its magnitude
// is what re-phasing cannot win back, its argument is the phase of the gain
// (negative when too warm: the field lags), its real part is the gain kept by a
// station that stays where its crest was.
//
//	constant gradient   F = (1 - exp(-2 tau + i phi))/((1 - exp(-2 tau))(1 - i phi/(2 tau)))
//	constant impedance  F = tau/(1 - exp(-tau)) (1 - exp(-tau + i phi))/(tau - i phi)
//	standing wave       F = cos(psi) exp(i psi),  tan(psi) = 2 Q_L d/f
//
// phi = 2 pi d (t_f - L/c), the slip of the wave against the beam.
//
// Valid: detuning small against the pass band; steady state; uniform detuning.
// Error: below 3e-5 in the magnitude within 100 kHz, from the flight time of the beam.
func (s Structure) DetunedFactor(d Frequency) complex128 {
	r := s.responseAt(d)
	if s.Kind == StandingWave {
		return complex(r.norm, 0) / r.k
	}
	return r.weigh(0, 0, 0, r.span)
}

// EnergyGainWith returns the energy gain when everything that lies between the
// power p and the gain on tune is gathered in one complex factor: detuning, pulse
// compression, or both.
//
//	V = V0 Re(factor exp(i phi)) - Vb
func (s Structure) EnergyGainWith(factor complex128, p Power, crest Phase, i Current) Energy {
	sin, cos := math.Sincos(float64(crest))
	return s.NoLoadGain(p)*Energy(real(factor)*cos-imag(factor)*sin) - s.BeamLoading(i)
}

// PhaseSlip returns by how much the phase advance, output phase minus input
// phase, differs from its value on tune; negative when too warm. For a
// standing-wave cavity it is cavity phase minus forward phase.
//
//	travelling wave  2 pi d t_f
//	standing wave    psi = atan(2 Q_L d/f)
//
// Valid: output taken at the wave front that was at the input one filling time
// earlier, or a flat pulse.
func (s Structure) PhaseSlip(d Frequency) Phase {
	if s.Kind == StandingWave {
		return Phase(math.Atan(2 * s.LoadedQ() * float64(d/s.Frequency)))
	}
	return Phase(2 * math.Pi * float64(d) * float64(s.FillingTime))
}

// DetuningFromSlip returns the detuning that makes a phase slip: the inverse of
// PhaseSlip. A standing-wave cavity slips by less than a quarter turn; beyond it
// there is no detuning and the result is NaN.
func (s Structure) DetuningFromSlip(slip Phase) Frequency {
	if s.Kind == StandingWave {
		if !(math.Abs(float64(slip)) < math.Pi/2) {
			return Unknown[Frequency]()
		}
		return s.Frequency * Frequency(math.Tan(float64(slip))/(2*s.LoadedQ()))
	}
	return Frequency(float64(slip) / (2 * math.Pi * float64(s.FillingTime)))
}
