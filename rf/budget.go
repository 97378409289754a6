package rf

import "math"

// Contribution is what one station or structure adds to the beam energy, and how
// much it scatters from pulse to pulse, one sigma.
type Contribution struct {
	Gain           Energy // on crest
	Crest          Phase  // offset of the beam from the crest
	AmplitudeSigma float64
	PhaseSigma     Phase
}

// Along returns the part of the gain that the beam takes.
func (c Contribution) Along() Energy { return c.Gain * Energy(math.Cos(float64(c.Crest))) }

// Across returns the part of the gain at right angles to the beam, positive where
// the RF leads: it gives a bunch its energy chirp.
func (c Contribution) Across() Energy { return c.Gain * Energy(math.Sin(float64(c.Crest))) }

// EnergySum returns the beam energy after the contributions.
//
//	E = E_inj + sum V cos(phi)
func EnergySum(injection Energy, cs []Contribution) Energy {
	for _, c := range cs {
		injection += c.Along()
	}
	return injection
}

// AcrossSum returns the sum of the contributions' parts across the beam.
func AcrossSum(cs []Contribution) Energy {
	var sum Energy
	for _, c := range cs {
		sum += c.Across()
	}
	return sum
}

// JitterIndependent returns the energy scatter, one sigma, when every
// contribution scatters on its own.
//
//	sigma^2 = sum (V cos(phi) s_a)^2 + (V sin(phi) s_phi)^2 + (V cos(phi) s_phi^2)^2/2
//
// Valid: amplitude and phase independent and normally distributed, phase scatter
// small against one radian.
func JitterIndependent(cs []Contribution) Energy {
	var variance float64
	for _, c := range cs {
		along, across, s := float64(c.Along()), float64(c.Across()), float64(c.PhaseSigma)
		amplitude, linear, curved := along*c.AmplitudeSigma, across*s, along*s*s
		variance += amplitude*amplitude + linear*linear + curved*curved/2
	}
	return Energy(math.Sqrt(variance))
}

// JitterCommon returns the energy scatter, one sigma, when all amplitudes move
// together and all phases move together, as with the mains or the reference line.
//
//	sigma^2 = (sum V cos(phi) s_a)^2 + (sum V sin(phi) s_phi)^2 + (sum V cos(phi) s_phi^2)^2/2
//
// Valid: as JitterIndependent.
func JitterCommon(cs []Contribution) Energy {
	var amplitude, linear, curved float64
	for _, c := range cs {
		along, across, s := float64(c.Along()), float64(c.Across()), float64(c.PhaseSigma)
		amplitude += along * c.AmplitudeSigma
		linear += across * s
		curved += along * s * s
	}
	return Energy(math.Sqrt(amplitude*amplitude + linear*linear + curved*curved/2))
}

// PerVoltage returns the change of energy per relative change of the modulator's
// voltage, which moves amplitude and phase together.
//
//	dE/(dV/V) = V (1.25 cos(phi) - k sin(phi))
//
// k is the phase pushing in radian per unit of dV/V.
func (c Contribution) PerVoltage(pushingDegPerPercent float64) Energy {
	k := float64(Phase(pushingDegPerPercent*100) * Degree)
	return PowerExponent/2*c.Along() - Energy(k)*c.Across()
}

// PerStationTolerance returns what each of n equal, independent stations may
// scatter so that together they keep a tolerance.
//
//	s = sqrt(n) s_linac
func PerStationTolerance(n int, whole float64) float64 { return math.Sqrt(float64(n)) * whole }
