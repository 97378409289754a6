package sampledata

import (
	"math"
	"math/cmplx"
)

// pulse is the wave that a station sends to its structures, as a multiple of the
// klystron's wave, for one detuning of its compressor. Time runs in stretches
// that end where the drive jumps: the reversal, the end of the pulse.
type pulse struct {
	stretches []stretch
	endUs     float64 // of the klystron's pulse: the beam passes then
	peak      float64 // largest |field|^2 of the useful part
	middle    complex128
	energyUs  float64 // integral of |field|^2 over all time
}

type stretch struct {
	fromUs, stepUs float64
	field          []complex128
}

const pulseStepUs = 0.01

// newPulse integrates the storage cavities of a station's compressor,
//
//	Tc dE/dt = -(1 - 2 pi i Tc detuning) E + alpha Ein,   Eout = E - Ein
//
// by fourth-order Runge-Kutta, with the sign of the useful part made positive. A
// station without compressor sends the klystron's rectangle.
func newPulse(s Station, q0 float64, detuningKHz float64) pulse {
	if !s.compressed() {
		n := int(s.RFPulseUs / pulseStepUs)
		flat := make([]complex128, n+1)
		for i := range flat {
			flat[i] = 1
		}
		return pulse{
			stretches: []stretch{{stepUs: s.RFPulseUs / float64(n), field: flat}},
			endUs:     s.RFPulseUs, peak: 1, middle: 1, energyUs: s.RFPulseUs,
		}
	}
	loadedQ := q0 / (1 + s.CompressorBeta)
	timeConstantUs := 2 * loadedQ / (2 * math.Pi * frequencyMHz)
	alpha := 2 * s.CompressorBeta / (1 + s.CompressorBeta)
	rate := complex(-1/timeConstantUs, 2*math.Pi*detuningKHz*1e-3)
	drive := complex(alpha/timeConstantUs, 0)

	p := pulse{endUs: s.RFPulseUs}
	stored := complex(0, 0)
	run := func(fromUs, toUs float64, in complex128) {
		n := int(math.Ceil((toUs - fromUs) / pulseStepUs))
		part := stretch{fromUs: fromUs, stepUs: (toUs - fromUs) / float64(n), field: make([]complex128, n+1)}
		h := complex(part.stepUs, 0)
		part.field[0] = stored - in
		for i := range n {
			k1 := rate*stored + drive*in
			k2 := rate*(stored+h/2*k1) + drive*in
			k3 := rate*(stored+h/2*k2) + drive*in
			k4 := rate*(stored+h*k3) + drive*in
			stored += h / 6 * (k1 + 2*k2 + 2*k3 + k4)
			part.field[i+1] = stored - in
		}
		p.stretches = append(p.stretches, part)
		p.energyUs += part.energy()
	}
	run(0, s.PhaseFlipUs, 1)
	run(s.PhaseFlipUs, s.RFPulseUs, -1)
	run(s.RFPulseUs, s.RFPulseUs+6*timeConstantUs, 0)

	for _, e := range p.stretches[1].field {
		p.peak = max(p.peak, square(e))
	}
	p.middle = p.at((s.PhaseFlipUs + s.RFPulseUs) / 2)
	return p
}

// energy integrates |field|^2 by the trapezium rule.
func (s stretch) energy() float64 {
	n := len(s.field) - 1
	sum := (square(s.field[0]) + square(s.field[n])) / 2
	for _, e := range s.field[1:n] {
		sum += square(e)
	}
	return sum * s.stepUs
}

// at returns the field at an instant up to the end of the klystron's pulse, by
// straight lines between the steps.
func (p pulse) at(us float64) complex128 {
	for i := len(p.stretches) - 1; i >= 0; i-- {
		part := p.stretches[i]
		if us < part.fromUs || part.fromUs >= p.endUs {
			continue
		}
		at := (us - part.fromUs) / part.stepUs
		k := min(int(at), len(part.field)-2)
		between := complex(at-float64(k), 0)
		return part.field[k]*(1-between) + part.field[k+1]*between
	}
	return 0
}

func square(e complex128) float64 { return real(e)*real(e) + imag(e)*imag(e) }

func degrees(e complex128) float64 { return cmplx.Phase(e) * 180 / math.Pi }
