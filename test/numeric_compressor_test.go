package test

import (
	"math"
	"math/cmplx"
	"testing"

	"dawncrest/rf"
)

// storage is one pair of storage cavities in plain numbers.
type storage struct {
	name           string
	hz, q0, beta   float64
	pulseS, flipS  float64
	radiated       []complex128 // field of the cavities at equal steps over the pulse
	stepS          float64
	stepsUntilFlip int
}

func compressors() []storage {
	return []storage{
		{name: "3.5 us at 2856 MHz", hz: 2856e6, q0: 1e5, beta: 5, pulseS: 3.5e-6, flipS: 2.67e-6},
		{name: "4.5 us at 3 GHz", hz: 2998.5e6, q0: 1e5, beta: 5.5, pulseS: 4.5e-6, flipS: 3.55e-6},
		{name: "high Q", hz: 2998.55e6, q0: 1.8e5, beta: 7, pulseS: 4.2e-6, flipS: 2.9e-6},
		{name: "C-band", hz: 5712e6, q0: 2.0e5, beta: 9, pulseS: 3.0e-6, flipS: 2.65e-6},
	}
}

func (c storage) compressor() rf.Compressor {
	return rf.Compressor{
		Q0: c.q0, Beta: c.beta, Frequency: rf.Frequency(c.hz),
		Pulse: rf.Interval(c.pulseS), Flip: rf.Interval(c.flipS),
	}
}

// run integrates the field of the cavities over the pulse. A cavity at
// w0 driven at w keeps the envelope E of exp(i w t):
//
//	dE/dt = (i (w0 - w) - w0/(2 Q_L)) E + (w0/(2 Q_L)) alpha E_in
func (c storage) run(detuningHz float64) storage {
	rate := math.Pi * c.hz / (c.q0 / (1 + c.beta))
	alpha := 2 * c.beta / (1 + c.beta)
	turn := 2 * math.Pi * detuningHz
	// Steps so short that the flip falls on one of them.
	c.stepsUntilFlip = 3000
	c.stepS = c.flipS / float64(c.stepsUntilFlip)
	total := int(math.Ceil(c.pulseS / c.stepS))
	c.radiated = make([]complex128, total+1)
	y := []complex128{0}
	for i := range total {
		drive := complex(1, 0)
		if i >= c.stepsUntilFlip {
			drive = -1
		}
		rungeKutta(y, 0, c.stepS, 1, func(_ float64, y, slope []complex128) {
			slope[0] = complex(-rate, turn)*y[0] + complex(rate*alpha, 0)*drive
		})
		c.radiated[i+1] = y[0]
	}
	return c
}

// output returns the field behind the compressor at a time within the pulse, from
// the steps around it.
func (c storage) output(t float64) complex128 {
	if t < 0 {
		return 0
	}
	at := t / c.stepS
	i := min(max(int(at)-1, 0), len(c.radiated)-4)
	// Cubic through four steps on the same side of the flip, where the slope jumps.
	if at < float64(c.stepsUntilFlip) {
		i = min(i, c.stepsUntilFlip-3)
	} else {
		i = max(i, c.stepsUntilFlip)
	}
	var field complex128
	for j := range 4 {
		weight := 1.0
		for k := range 4 {
			if k != j {
				weight *= (at - float64(i+k)) / float64(j-k)
			}
		}
		field += complex(weight, 0) * c.radiated[i+j]
	}
	if at < float64(c.stepsUntilFlip) {
		return field - 1
	}
	return field + 1
}

var compressorDetuningsHz = []float64{-120e3, -50e3, -8e3, 0, 3e3, 30e3, 90e3}

func TestOutputFieldAgainstFilling(t *testing.T) {
	for _, c := range compressors() {
		for _, d := range compressorDetuningsHz {
			ran := c.run(d)
			for part := range 50 {
				now := c.pulseS * (float64(part) + 0.37) / 50
				got := c.compressor().OutputField(rf.Interval(now), rf.Frequency(d))
				if want := ran.output(now); cmplx.Abs(got-want) > 1e-9 {
					t.Errorf("%s, %v Hz, %v s: field %v, integrated %v", c.name, d, now, got, want)
				}
			}
			highest := 0.0
			for _, field := range ran.radiated[ran.stepsUntilFlip:] {
				highest = max(highest, cmplx.Abs(field+1))
			}
			if got := c.compressor().PeakPowerGain(rf.Frequency(d)); !near(got, highest*highest, 1e-9) {
				t.Errorf("%s, %v Hz: peak power gain %v, highest of the pulse %v", c.name, d, got, highest*highest)
			}
			tuned := c.run(0)
			middle := (c.flipS + c.pulseS) / 2
			want := cmplx.Phase(ran.output(middle) / tuned.output(middle))
			if got := float64(c.compressor().Phase(rf.Frequency(d))); !within(got, want, 1e-9) {
				t.Errorf("%s, %v Hz: phase %v, integrated %v", c.name, d, got, want)
			}
		}
	}
}

// Energy cannot come from nothing: cavities without loss give back all they were
// fed, after the pulse too.
func TestCompressorKeepsEnergy(t *testing.T) {
	for _, c := range compressors() {
		for _, d := range []float64{0, -40e3} {
			lossless := c.compressor()
			lossless.Q0, lossless.Beta = c.q0*1e9, 1e9*c.beta // loaded Q stays
			out := 0.0
			end := float64(lossless.Pulse) + 60*float64(lossless.TimeConstant())
			edges := []float64{0, c.flipS, c.pulseS, end}
			for i := range 3 {
				inside := 1e-9 * (edges[i+1] - edges[i]) // the field jumps at the edges
				out += real(simpson(func(t float64) complex128 {
					field := lossless.OutputField(rf.Interval(t), rf.Frequency(d))
					return field * cmplx.Conj(field)
				}, edges[i]+inside, edges[i+1]-inside, 20000))
			}
			if !near(out, c.pulseS, 1e-7) {
				t.Errorf("%s, %v Hz: %v s of klystron pulse come out as %v", c.name, d, c.pulseS, out)
			}
		}
	}
}

// multiplied integrates along the structure the field that left the compressor as
// long ago as the wave needed to get there.
func (s section) multiplied(c storage, detuningHz float64) complex128 {
	omega := 2 * math.Pi * s.hz
	seen := 1 - s.l/lightMPerS/s.fillS
	// In time, not in place, so that the flip can fall on a step.
	sum := func(from, to float64) complex128 {
		return simpson(func(age float64) complex128 {
			z, field := s.placeAndField(omega, age)
			met := c.output(c.pulseS-age) * cmplx.Exp(complex(0, 2*math.Pi*detuningHz*seen*age))
			return met * complex(field*s.groupVelocity(z), 0)
		}, from, to, 4000)
	}
	norm := real(simpson(func(age float64) complex128 {
		z, field := s.placeAndField(omega, age)
		return complex(field*s.groupVelocity(z), 0)
	}, 0, s.fillS, 4000))
	sinceFlip := c.pulseS - c.flipS
	const justBefore = 1 + 1e-12
	m := sum(0, min(s.fillS, sinceFlip))
	if s.fillS > sinceFlip {
		m += sum(sinceFlip*justBefore, min(s.fillS, c.pulseS))
	}
	return m / complex(norm, 0)
}

// placeAndField returns where a wave of that age is, and its field at no-load.
func (s section) placeAndField(omega, age float64) (z, field float64) {
	if s.tapered { // dz/dt = vg(z), a straight line in z
		g := 1 - math.Exp(-2*s.tau)
		return s.l / g * -math.Expm1(-omega/s.q*age), 1
	}
	return s.groupVelocity(0) * age, math.Exp(-omega * age / (2 * s.q))
}

func TestEnergyMultiplicationAgainstIntegral(t *testing.T) {
	for _, c := range compressors() {
		for _, s := range sections() {
			if s.hz > 4e9 != (c.hz > 4e9) {
				continue
			}
			for _, d := range []float64{-50e3, 0, 20e3} {
				ran := c.run(d)
				for _, structureHz := range []float64{-80e3, 0, 30e3} {
					got := c.compressor().EnergyMultiplication(s.structure(), rf.Frequency(d), rf.Frequency(structureHz))
					want := s.multiplied(ran, structureHz)
					if cmplx.Abs(got-want) > 1e-8 {
						t.Errorf("%s, %s, %v and %v Hz: %v, integrated %v", c.name, s, d, structureHz, got, want)
					}
				}
			}
		}
	}
}
