package test

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"dawncrest/rf"
)

// The closed forms of rf against direct numerical integration of what they solve:
// the power flow along a structure, the field that a particle meets on its way,
// the filling of storage cavities. Nothing here calls rf for anything but the
// value under test.

const lightMPerS = 299792458.0

// section is one travelling-wave structure in plain numbers.
type section struct {
	name          string
	kind          rf.StructureKind
	hz, r, l, tau float64
	q             float64
	tapered       bool
	fillS         float64 // 2 tau Q/omega
	inputW, beamA float64
}

func sections() []section {
	var all []section
	for _, s := range []section{
		{name: "ten feet at 2856 MHz", hz: 2856e6, r: 53e6, l: 3.048, tau: 0.57, q: 13000, inputW: 20e6, beamA: 0.1},
		{name: "five metres at 3 GHz", hz: 2998.5e6, r: 64e6, l: 5.2, tau: 0.81, q: 14500, inputW: 33e6, beamA: 0.2},
		{name: "short and light", hz: 2856e6, r: 54e6, l: 0.9, tau: 0.08, q: 13500, inputW: 5e6, beamA: 0.02},
		{name: "C-band", hz: 5712e6, r: 68e6, l: 2.0, tau: 0.6, q: 9900, inputW: 80e6, beamA: 0.05},
	} {
		s.fillS = s.tau * s.q / (math.Pi * s.hz)
		s.kind, s.tapered = rf.ConstantGradient, true
		all = append(all, s)
		s.kind, s.tapered = rf.ConstantImpedance, false
		all = append(all, s)
	}
	return all
}

func (s section) String() string { return fmt.Sprintf("%s, %s", s.name, s.kind) }

func (s section) structure() rf.Structure {
	return rf.Structure{
		Kind: s.kind, Frequency: rf.Frequency(s.hz), LengthM: s.l, ShuntImpedanceOhmPerM: s.r,
		Attenuation: s.tau, FillingTime: rf.Interval(s.fillS), HzPerK: math.NaN(),
	}
}

// groupVelocity at z, from the power that has to be left for the field to stay
// level (tapered) or from a uniform profile.
func (s section) groupVelocity(z float64) float64 {
	omega := 2 * math.Pi * s.hz
	if !s.tapered {
		return omega * s.l / (2 * s.tau * s.q)
	}
	g := 1 - math.Exp(-2*s.tau)
	return omega / s.q * (s.l - g*z) / g
}

// simpson integrates f from a to b in n (even) steps.
func simpson(f func(x float64) complex128, a, b float64, n int) complex128 {
	h := (b - a) / float64(n)
	sum := f(a) + f(b)
	for i := 1; i < n; i++ {
		weight := complex(4, 0)
		if i%2 == 0 {
			weight = 2
		}
		sum += weight * f(a+h*float64(i))
	}
	return sum * complex(h/3, 0)
}

// rungeKutta advances y from a to b in n steps of dy/dx = f(x, y).
func rungeKutta(y []complex128, a, b float64, n int, f func(x float64, y, slope []complex128)) {
	h := (b - a) / float64(n)
	k := make([][]complex128, 4)
	for i := range k {
		k[i] = make([]complex128, len(y))
	}
	mid := make([]complex128, len(y))
	step := func(k []complex128, by float64) []complex128 {
		for i := range y {
			mid[i] = y[i] + k[i]*complex(by, 0)
		}
		return mid
	}
	for i := range n {
		x := a + h*float64(i)
		f(x, y, k[0])
		f(x+h/2, step(k[0], h/2), k[1])
		f(x+h/2, step(k[1], h/2), k[2])
		f(x+h, step(k[2], h), k[3])
		for j := range y {
			y[j] += complex(h/6, 0) * (k[0][j] + 2*k[1][j] + 2*k[2][j] + k[3][j])
		}
	}
}

// flow integrates the power along the structure: what the walls take is E^2/r per
// metre, what the beam takes is i E per metre.
func (s section) flow(inputW, beamA float64) (gainV, outW, wallW float64) {
	omega := 2 * math.Pi * s.hz
	y := []complex128{complex(inputW, 0), 0, 0} // power, gain, wall
	rungeKutta(y, 0, s.l, 4000, func(z float64, y, slope []complex128) {
		perMetre := omega / (s.q * s.groupVelocity(z)) // 2 alpha
		power := real(y[0])
		field := math.Sqrt(s.r * perMetre * power)
		slope[0] = complex(-perMetre*power-beamA*field, 0)
		slope[1] = complex(field, 0)
		slope[2] = complex(perMetre*power, 0)
	})
	return real(y[1]), real(y[0]), real(y[2])
}

func TestGainAgainstPowerFlow(t *testing.T) {
	for _, s := range sections() {
		t.Run(s.String(), func(t *testing.T) {
			structure := s.structure()
			input, beam := rf.Power(s.inputW), rf.Current(s.beamA)

			gain, out, wall := s.flow(s.inputW, 0)
			if got := float64(structure.NoLoadGain(input)); !near(got, gain, 1e-10) {
				t.Errorf("no-load gain %v, integrated %v", got, gain)
			}
			if got := float64(structure.OutputPower(input, 0)); !near(got, out, 1e-10) {
				t.Errorf("output power %v, integrated %v", got, out)
			}
			if got := structure.CopperFraction(); !near(got, wall/s.inputW, 1e-10) {
				t.Errorf("copper fraction %v, integrated %v", got, wall/s.inputW)
			}

			gain, out, wall = s.flow(s.inputW, s.beamA)
			if got := float64(structure.EnergyGain(input, 0, beam)); !near(got, gain, 1e-9) {
				t.Errorf("loaded gain %v, integrated %v", got, gain)
			}
			if got := float64(structure.OutputPower(input, beam)); !near(got, out, 1e-9) {
				t.Errorf("loaded output power %v, integrated %v", got, out)
			}
			got := float64(structure.OutputPower(input, beam)) + wall +
				s.beamA*float64(structure.EnergyGain(input, 0, beam))
			if !near(got, s.inputW, 1e-9) {
				t.Errorf("output, wall and beam take %v of %v W", got, s.inputW)
			}
		})
	}
}

func TestFillingTimeGivesQ(t *testing.T) {
	for _, s := range sections() {
		filling := simpson(func(z float64) complex128 {
			return complex(1/s.groupVelocity(z), 0)
		}, 0, s.l, 2000)
		structure := s.structure()
		structure.FillingTime = rf.Interval(real(filling))
		if got := structure.UnloadedQFromFilling(); !near(got, s.q, 1e-9) {
			t.Errorf("%s: Q %v from the integrated filling time, want %v", s, got, s.q)
		}
	}
}

// metField integrates what a particle meets that enters at tune's crest: the field
// at z, turned by the slip of the wave against the particle since the input.
func (s section) metField(detuningHz float64, slipPerMetre func(z float64) float64) complex128 {
	omega := 2 * math.Pi * s.hz
	y := []complex128{1, 0, 0, 0} // power, time, factor, norm
	rungeKutta(y, 0, s.l, 4000, func(z float64, y, slope []complex128) {
		perMetre := omega / (s.q * s.groupVelocity(z))
		field := math.Sqrt(perMetre * real(y[0]))
		slope[0] = complex(-perMetre*real(y[0]), 0)
		slope[1] = complex(slipPerMetre(z), 0)
		slope[2] = complex(field, 0) * cmplx.Exp(complex(0, 2*math.Pi*detuningHz*real(y[1])))
		slope[3] = complex(field, 0)
	})
	return y[2] / y[3]
}

var detuningsHz = []float64{-250e3, -100e3, -33e3, -1e3, 0, 7e3, 60e3, 180e3}

func TestDetunedFactorAgainstMetField(t *testing.T) {
	for _, s := range sections() {
		// The flight time spread over the filling time, as the closed form has it.
		spread := 1 - s.l/lightMPerS/s.fillS
		for _, d := range detuningsHz {
			got := s.structure().DetunedFactor(rf.Frequency(d))
			want := s.metField(d, func(z float64) float64 { return spread / s.groupVelocity(z) })
			if cmplx.Abs(got-want) > 1e-10 {
				t.Errorf("%s, %v Hz: factor %v, integrated %v", s, d, got, want)
			}
			// The flight time where it is spent.
			exact := s.metField(d, func(z float64) float64 { return 1/s.groupVelocity(z) - 1/lightMPerS })
			if math.Abs(d) <= 100e3 && !within(cmplx.Abs(got), cmplx.Abs(exact), 3e-5) {
				t.Errorf("%s, %v Hz: magnitude %v, exact %v", s, d, cmplx.Abs(got), cmplx.Abs(exact))
			}
		}
	}
}

// A chain of cells, each turning the wave by 120 degrees on tune, has the pass
// band f = f0 (1 - k cos(theta)): its phase slip when every cell grows follows
// from the dispersion alone.
func TestPhaseSlipAgainstChainOfCells(t *testing.T) {
	const (
		hz       = 2998.5e6
		cells    = 150 // 5 m in a third of a wavelength each
		coupling = 0.0125
		alpha    = 16.6e-6
		riseK    = 0.4
	)
	middle := hz / (1 - coupling*math.Cos(2*math.Pi/3))
	turn := func(driveHz, middleHz float64) float64 { // of the wave, along the chain
		return cells * math.Acos((1-driveHz/middleHz)/coupling)
	}
	const stepHz = 1e3
	fill := (turn(hz+stepHz, middle) - turn(hz-stepHz, middle)) / (2 * math.Pi * 2 * stepHz)

	structure := rf.Structure{
		Kind: rf.ConstantImpedance, Frequency: hz, FillingTime: rf.Interval(fill),
		LengthM: cells * lightMPerS / hz / 3, Attenuation: 0.6, HzPerK: math.NaN(),
	}
	slip := turn(hz, middle) - turn(hz, middle/(1+alpha*riseK)) // a longer way lags more
	got := float64(structure.PhaseSlip(rf.ThermalDetuning(hz, alpha, riseK)))
	if !near(got, slip, 0.01) {
		t.Errorf("phase slip %v rad, the chain slips %v", got, slip)
	}
	if got := riseK * float64(structure.SlipPerKelvin(alpha)); !near(got, slip, 0.01) {
		t.Errorf("slip per kelvin gives %v rad, the chain slips %v", got, slip)
	}
	if got := structure.WaterChangeK(structure.DetuningFromSlip(rf.Phase(slip)), alpha); !within(got, -riseK, 0.005) {
		t.Errorf("water change %v K, want %v", got, -riseK)
	}
}
