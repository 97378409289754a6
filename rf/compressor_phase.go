package rf

import (
	"math"
	"math/cmplx"
)

// PhaseAt returns by how much a detuning d turns the output field at time t after
// the start of the pulse; negative when the cavities are too warm. It grows
// through the compressed pulse.
func (c Compressor) PhaseAt(t Interval, d Frequency) Phase {
	return Phase(cmplx.Phase(c.OutputField(t, d) / c.OutputField(t, 0)))
}

// Phase returns the phase that a detuned compressor gives its structures: that of
// the middle of the compressed pulse. A structure weighs the pulse itself; the
// argument of EnergyMultiplication differs from this by about 3 % of it.
func (c Compressor) Phase(d Frequency) Phase { return c.PhaseAt(c.middle(), d) }

func (c Compressor) middle() Interval { return (c.Flip + c.Pulse) / 2 }

// DetuningFromPhase returns the detuning of the cavities that turns the middle of
// the compressed pulse by phi: the inverse of Phase. Phase grows with detuning up
// to a largest angle and falls again as the cavities stop taking part; the answer
// is on the branch through zero, NaN for a phase beyond its end.
//
// Valid: the middle of the compressed pulse, on tune, above the klystron's level.
func (c Compressor) DetuningFromPhase(phi Phase) Frequency {
	// Newton's steps from zero stay on the inner side of the nearest root as long
	// as the slope falls; where it does not, halving the bracket takes over.
	const steps = 80
	target := math.Abs(float64(phi))
	precise := 1e-12 / float64(c.TimeConstant())
	d, low, high := 0.0, 0.0, math.Inf(1)
	for range steps {
		turned, slope := c.phaseWithSlope(Frequency(d))
		step := (target - float64(turned)) / slope
		if slope > 0 && math.Abs(step) < precise {
			return Frequency(math.Copysign(d+step, float64(phi)))
		}
		if slope > 0 && turned >= 0 && float64(turned) < target {
			low = d
		} else {
			high = d
		}
		d += step
		if !(low < d && d < high) {
			d = (low + high) / 2
		}
	}
	return Unknown[Frequency]()
}

// phaseWithSlope returns Phase and its derivative, radian per hertz, from the
// derivative of the output field with respect to the complex rate q.
func (c Compressor) phaseWithSlope(d Frequency) (Phase, float64) {
	full, rate := c.storage(d)
	flip, wait := float64(c.Flip), float64(c.Pulse-c.Flip)/2
	kept := cmplx.Exp(-rate * complex(flip, 0))
	aged := cmplx.Exp(-rate * complex(wait, 0))
	field := 1 - full + full*(2-kept)*aged
	perRate := full/rate*(1-(2-kept)*aged) + full*aged*(complex(flip, 0)*kept-complex(wait, 0)*(2-kept))
	perHertz := perRate * complex(0, -2*math.Pi)
	return Phase(cmplx.Phase(field)), imag(perHertz / field)
}

// FalseAdvance returns the error of a structure's phase advance when both
// couplers are sampled at the same instant, the end of the pulse, while the
// compressor is detuned by d: the output coupler then shows what entered one
// filling time earlier, when the pulse had turned less. It is positive when the
// compressor is too warm. Sampled earlier in the pulse the error is smaller.
//
//	phi(t2 - t_f) - phi(t2)
func (c Compressor) FalseAdvance(s Structure, d Frequency) Phase {
	entered := max(c.Pulse-s.FillingTime, c.Flip)
	return c.PhaseAt(entered, d) - c.PhaseAt(c.Pulse, d)
}
