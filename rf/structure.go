package rf

import "math"

// NoLoadGain returns the energy an electron on crest gains in the structure, on
// tune and with no beam current, from peak power p at its input.
//
//	constant gradient   V0 = sqrt(r L P (1 - exp(-2 tau)))
//	constant impedance  V0 = sqrt(2 tau r L P) (1 - exp(-tau))/tau
//	standing wave       V0 = sqrt(R P) 2 sqrt(beta)/(1 + beta)
//
// r and R are V^2/P, without the factor 1/2 of the circuit definition.
//
// Valid: pulse at least one filling time long (standing wave: several time
// constants); r and Q uniform along the structure, else their means.
// Error: half the relative error of the power; couplers are good to a few per cent.
// Source: [Wiedemann] eqs. (18.104), (18.95).
func (s Structure) NoLoadGain(p Power) Energy {
	r, l, tau := s.ShuntImpedanceOhmPerM, s.LengthM, s.Attenuation
	switch s.Kind {
	case ConstantGradient:
		return Energy(math.Sqrt(r * l * float64(p) * -math.Expm1(-2*tau)))
	case ConstantImpedance:
		return Energy(math.Sqrt(2*tau*r*l*float64(p)) * -math.Expm1(-tau) / tau)
	case StandingWave:
		beta := s.CouplingBeta
		return Energy(math.Sqrt(s.ShuntImpedanceOhm*float64(p)) * 2 * math.Sqrt(beta) / (1 + beta))
	}
	return Unknown[Energy]()
}

// BeamLoading returns the energy that a beam current i, averaged over the RF
// pulse, takes from every electron. It lies along the beam whatever the crest
// offset.
//
//	constant gradient   Vb = (i r L/2) (1 - 2 tau exp(-2 tau)/(1 - exp(-2 tau)))
//	constant impedance  Vb = i r L (1 - (1 - exp(-tau))/tau)
//	standing wave       Vb = i R/(1 + beta)
//
// Valid: short bunches at every RF period, beam on for longer than the filling
// time, structure on tune.
// Source: [Wiedemann] eq. (18.106) for constant gradient; the others from the
// power balance.
func (s Structure) BeamLoading(i Current) Energy {
	r, l, tau := s.ShuntImpedanceOhmPerM, s.LengthM, s.Attenuation
	switch s.Kind {
	case ConstantGradient:
		return Energy(float64(i) * r * l / 2 * (1 - 2*tau/math.Expm1(2*tau)))
	case ConstantImpedance:
		return Energy(float64(i) * r * l * (1 + math.Expm1(-tau)/tau))
	case StandingWave:
		return Energy(float64(i) * s.ShuntImpedanceOhm / (1 + s.CouplingBeta))
	}
	return Unknown[Energy]()
}

// EnergyGain returns the energy gained on tune from peak power p, at a crest
// offset and with beam current i.
//
//	V = V0 cos(phi) - Vb
func (s Structure) EnergyGain(p Power, crest Phase, i Current) Energy {
	return s.NoLoadGain(p)*Energy(math.Cos(float64(crest))) - s.BeamLoading(i)
}

// OutputPower returns the peak power that leaves through the output coupler to
// the load, on tune and with the beam on crest. For a standing-wave cavity it is
// the power that comes back out of its one coupler.
//
//	constant gradient   P = E(L)^2 L exp(-2 tau)/(r (1 - exp(-2 tau))),  E(L) = E0 - i r tau
//	constant impedance  P = E(L)^2 L/(2 tau r),  E(L) = E0 exp(-tau) - i r (1 - exp(-tau))
//	standing wave       P = (sqrt(beta/R) V - sqrt(P_in))^2
//
// Source: the power balance: what the walls and the beam leave.
func (s Structure) OutputPower(p Power, i Current) Power {
	r, l, tau := s.ShuntImpedanceOhmPerM, s.LengthM, s.Attenuation
	g := -math.Expm1(-2 * tau)
	switch s.Kind {
	case ConstantGradient:
		field := math.Sqrt(r*float64(p)*g/l) - float64(i)*r*tau
		return Power(field * field * l * (1 - g) / (r * g))
	case ConstantImpedance:
		field := math.Sqrt(2*tau*r*float64(p)/l)*math.Exp(-tau) + float64(i)*r*math.Expm1(-tau)
		return Power(field * field * l / (2 * tau * r))
	case StandingWave:
		radiated := math.Sqrt(s.CouplingBeta/s.ShuntImpedanceOhm) * float64(s.EnergyGain(p, 0, i))
		back := radiated - math.Sqrt(float64(p))
		return Power(back * back)
	}
	return Unknown[Power]()
}

// CopperFraction returns the share of the input power that heats the structure
// itself, on tune and with no beam; the rest goes to the load, or back.
//
//	travelling wave  1 - exp(-2 tau)
//	standing wave    4 beta/(1 + beta)^2
func (s Structure) CopperFraction() float64 {
	switch s.Kind {
	case ConstantGradient, ConstantImpedance:
		return -math.Expm1(-2 * s.Attenuation)
	case StandingWave:
		return 4 * s.CouplingBeta / ((1 + s.CouplingBeta) * (1 + s.CouplingBeta))
	}
	return math.NaN()
}

// UnloadedQFromFilling returns the quality factor that the filling time and the
// attenuation of a travelling-wave structure imply. At S-band a value outside
// 9000 to 16000 (common practice) means that one of the two is wrong.
//
//	Q = omega t_f/(2 tau)
//
// Source: [Wiedemann] eq. (18.102).
func (s Structure) UnloadedQFromFilling() float64 {
	if !s.TravellingWave() {
		return math.NaN()
	}
	return math.Pi * float64(s.Frequency) * float64(s.FillingTime) / s.Attenuation
}
