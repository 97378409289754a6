package rf

import (
	"math"
	"math/cmplx"
)

// Compressor is a pair of storage cavities behind a klystron. They store the
// first part of the pulse and give it back when the drive phase is reversed.
//
// Field amplitudes are relative to the klystron's wave. Signs are such that the
// compressed pulse of a tuned compressor is positive.
type Compressor struct {
	Q0        float64
	Beta      float64 // coupling factor
	Frequency Frequency
	Pulse     Interval // from start to end of the klystron's pulse
	Flip      Interval // from start of the pulse to the phase reversal
}

// Compressor returns the station's pulse compressor at drive frequency f. All it
// returns is NaN where the station has none.
func (s Station) Compressor(f Frequency) Compressor {
	return Compressor{Q0: s.CompressorQ0, Beta: s.CompressorBeta, Frequency: f, Pulse: s.RFPulse, Flip: s.PhaseFlip}
}

// LoadedQ returns the quality factor of the cavities with their coupling.
//
//	Q_L = Q0/(1 + beta)
func (c Compressor) LoadedQ() float64 { return c.Q0 / (1 + c.Beta) }

// TimeConstant returns the time in which the stored field falls to 1/e.
//
//	Tc = 2 Q_L/omega
func (c Compressor) TimeConstant() Interval {
	return Interval(c.LoadedQ() / (math.Pi * float64(c.Frequency)))
}

// Coupling returns the field that the cavities radiate when filled to the end.
//
//	alpha = 2 beta/(1 + beta)
func (c Compressor) Coupling() float64 { return 2 * c.Beta / (1 + c.Beta) }

// storage returns the field that cavities detuned by d radiate when filled to the
// end, and the complex rate, per second, at which they get there.
func (c Compressor) storage(d Frequency) (full, rate complex128) {
	tc := float64(c.TimeConstant())
	turn := complex(1, -2*math.Pi*float64(d)*tc)
	return complex(c.Coupling(), 0) / turn, turn / complex(tc, 0)
}

// OutputField returns the output field t after the start of the pulse, for
// cavities detuned by d (resonant minus drive frequency; too warm is negative and
// makes the compressed pulse lag).
//
//	Tc dEe/dt + (1 - 2 pi i d Tc) Ee = alpha Ein,  E = Ee - Ein
//	before the flip  E = A (1 - exp(-q t)) - 1
//	after it         E = 1 - A + A (2 - exp(-q t1)) exp(-q (t - t1))
//	after the pulse  E = E(t2) - 1, falling as exp(-q (t - t2))
//
// A = alpha/(1 - 2 pi i d Tc), q = (1 - 2 pi i d Tc)/Tc, flip at t1, end at t2. At
// t1 the field is that just after the flip, at t2 that just before the end.
//
// Valid: two equal cavities, instantaneous phase reversal. A reversal that takes
// 50 to 100 ns costs one or two per cent (common practice).
func (c Compressor) OutputField(t Interval, d Frequency) complex128 {
	full, rate := c.storage(d)
	flip, pulse := float64(c.Flip), float64(c.Pulse)
	now := float64(t)
	afterFlip := func(t float64) complex128 {
		stored := full * (2 - cmplx.Exp(-rate*complex(flip, 0)))
		return 1 - full + stored*cmplx.Exp(-rate*complex(t-flip, 0))
	}
	switch {
	case now < 0:
		return 0
	case now < flip:
		return full*(1-cmplx.Exp(-rate*complex(now, 0))) - 1
	case now <= pulse:
		return afterFlip(now)
	case now > pulse:
		return (afterFlip(pulse) - 1) * cmplx.Exp(-rate*complex(now-pulse, 0))
	}
	return complex(math.NaN(), math.NaN())
}

// PeakPowerGain returns the power just after the phase reversal, where the
// compressed pulse is highest, over the power of the klystron's flat pulse.
func (c Compressor) PeakPowerGain(d Frequency) float64 {
	peak := c.OutputField(c.Flip, d)
	return real(peak)*real(peak) + imag(peak)*imag(peak)
}
