package sampledata

import (
	"math"
	"math/cmplx"
)

const lightMPerUs = 299.792458

// guide is a travelling-wave structure cut into slices along the beam. A wave of
// one megawatt enters; fieldMVPerM is its accelerating field where the slice is.
type guide struct {
	sliceM       float64
	fieldMVPerM  []float64
	delayUs      []float64 // from the input coupler to the middle of the slice
	transmission float64   // power out over power in
	fillingUs    float64
}

const guideSlices = 240

// newGuide follows the power along the structure: it is lost to the copper as
// dP/dz = -w P/(vg Q), and the field is what the shunt impedance makes of the
// loss, E^2 = -r dP/dz.
func newGuide(s Structure) guide {
	omega := 2 * math.Pi * frequencyMHz // rad/us
	q := omega * s.FillingTimeUs / (2 * s.AttenuationNp)
	g := guide{sliceM: s.LengthM / guideSlices}

	taper := 1.0 // of the group velocity, end over start
	if s.Kind == constantGradient {
		taper = math.Exp(-2 * s.AttenuationNp)
	}
	slowness := make([]float64, guideSlices) // us/m
	var fillingUs float64
	for i := range slowness {
		along := (float64(i) + 0.5) / guideSlices
		slowness[i] = 1 / (1 + (taper-1)*along)
		fillingUs += slowness[i] * g.sliceM
	}
	power := 1.0
	for i := range slowness {
		delayUs := slowness[i] * s.FillingTimeUs / fillingUs * g.sliceM
		left := power * math.Exp(-omega/q*delayUs)
		lossPerM := (power - left) / g.sliceM
		g.fieldMVPerM = append(g.fieldMVPerM, math.Sqrt(s.ShuntImpedanceMOhmPerM*lossPerM))
		g.delayUs = append(g.delayUs, g.fillingUs+delayUs/2)
		g.fillingUs += delayUs
		power = left
	}
	g.transmission = power
	return g
}

// beamDelayUs is how much later than the beam the wave reaches slice i, both
// having passed the input coupler at once.
func (g guide) beamDelayUs(i int) float64 {
	return g.delayUs[i] - (float64(i)+0.5)*g.sliceM/lightMPerUs
}

// arriving returns, slice by slice, the field that the beam meets at the end of
// the klystron's pulse when the structure is on tune: the wave there entered
// earlier by the delay.
func (g guide) arriving(p pulse) []complex128 {
	e := make([]complex128, guideSlices)
	for i, field := range g.fieldMVPerM {
		e[i] = p.at(p.endUs-g.beamDelayUs(i)) * complex(field*g.sliceM, 0)
	}
	return e
}

// turning returns, slice by slice, how far a detuned structure has turned the
// wave against the beam.
func (g guide) turning(detuningKHz float64) []complex128 {
	t := make([]complex128, guideSlices)
	for i := range t {
		t[i] = cmplx.Rect(1, 2*math.Pi*detuningKHz*1e-3*g.beamDelayUs(i))
	}
	return t
}

// advanceDeg is what detuning adds to output phase minus input phase, taken at
// the same wave front.
func (g guide) advanceDeg(detuningKHz float64) float64 {
	return 360 * detuningKHz * 1e-3 * g.fillingUs
}

func overlap(a, b []complex128) complex128 {
	var sum complex128
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}
