package rf

import "math"

// ThermalDetuning returns the detuning of a resonator that is riseK warmer than
// its tune; too warm is negative, for its copper has grown.
//
//	d = -alpha f dT
//
// Valid: uniform temperature, under vacuum.
// Error: 1.2 %, from alpha.
func ThermalDetuning(f Frequency, expansionPerK, riseK float64) Frequency {
	return -f * Frequency(expansionPerK*riseK)
}

// FrequencySlope returns the change of the structure's resonant frequency in
// hertz per kelvin: the measured one where the plant gives it, else from the
// expansion of its copper. It is negative.
func (s Structure) FrequencySlope(expansionPerK float64) float64 {
	if Known(s.HzPerK) {
		return s.HzPerK
	}
	return float64(ThermalDetuning(s.Frequency, expansionPerK, 1))
}

// WaterChangeK returns what to add to the cooling-water set point, in kelvin, to
// bring a structure detuned by d back on tune. A structure that is too warm is
// negative in detuning and needs a negative change.
//
//	dT = -d/(df/dT)
//
// Valid: the body follows the water one to one, at unchanged RF power.
func (s Structure) WaterChangeK(d Frequency, expansionPerK float64) float64 {
	return -float64(d) / s.FrequencySlope(expansionPerK)
}

// SlipPerKelvin returns the phase slip that one kelvin of body temperature makes,
// near tune; negative: warmer lags more.
//
//	travelling wave  2 pi t_f df/dT
//	standing wave    (2 Q_L/f) df/dT
func (s Structure) SlipPerKelvin(expansionPerK float64) Phase {
	slope := s.FrequencySlope(expansionPerK)
	if s.Kind == StandingWave {
		return Phase(2 * s.LoadedQ() * slope / float64(s.Frequency))
	}
	return Phase(2 * math.Pi * float64(s.FillingTime) * slope)
}
