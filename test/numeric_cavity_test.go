package test

import (
	"math"
	"math/cmplx"
	"testing"

	"dawncrest/rf"
)

func cavities() []rf.Structure {
	return []rf.Structure{
		{Name: "gun", Kind: rf.StandingWave, Frequency: 2998.5e6, UnloadedQ: 13000, CouplingBeta: 1, ShuntImpedanceOhm: 3.5e6},
		{Name: "buncher", Kind: rf.StandingWave, Frequency: 2856e6, UnloadedQ: 14500, CouplingBeta: 1.5, ShuntImpedanceOhm: 1.2e6},
		{Name: "ring cavity", Kind: rf.StandingWave, Frequency: 499.654e6, UnloadedQ: 40000, CouplingBeta: 2.4, ShuntImpedanceOhm: 6.5e6},
		{Name: "under-coupled", Kind: rf.StandingWave, Frequency: 2998.5e6, UnloadedQ: 11000, CouplingBeta: 0.6, ShuntImpedanceOhm: 2e6},
	}
}

// fillCavity drives a cavity as a resonant circuit until it is steady. Its stored
// energy W loses w W/Q0 to the walls and beta times that to the coupler; the
// envelope a, |a|^2 = W, of exp(i w t) follows
//
//	da/dt = (i (w0 - w) - 1/T) a + sqrt(2/T_e) s,  back = sqrt(2/T_e) a - s
//
// where T = 2 Q_L/w, T_e = 2 Q0/(beta w) is that of the coupler alone, and |s|^2
// and |back|^2 are the powers towards and from the cavity.
func fillCavity(s rf.Structure, powerW, detuningHz float64) (wall, back complex128) {
	omega := 2 * math.Pi * float64(s.Frequency)
	coupler := math.Sqrt(omega * s.CouplingBeta / s.UnloadedQ) // sqrt(2/T_e)
	rate := omega * (1 + s.CouplingBeta) / (2 * s.UnloadedQ)
	forward := complex(math.Sqrt(powerW), 0)
	y := []complex128{0}
	rungeKutta(y, 0, 40/rate, 8000, func(_ float64, y, slope []complex128) {
		slope[0] = complex(-rate, 2*math.Pi*detuningHz)*y[0] + complex(coupler, 0)*forward
	})
	return y[0] * complex(math.Sqrt(omega/s.UnloadedQ), 0), y[0]*complex(coupler, 0) - forward
}

func TestCavityAgainstResonantCircuit(t *testing.T) {
	const powerW = 2.5e6
	for _, s := range cavities() {
		tunedWall, tunedBack := fillCavity(s, powerW, 0)
		voltage := math.Sqrt(s.ShuntImpedanceOhm) * cmplx.Abs(tunedWall) // R = V^2/P
		if got := float64(s.NoLoadGain(powerW)); !near(got, voltage, 1e-9) {
			t.Errorf("%s: gain %v, integrated %v", s.Name, got, voltage)
		}
		if got := s.CopperFraction(); !near(got, real(tunedWall*cmplx.Conj(tunedWall))/powerW, 1e-9) {
			t.Errorf("%s: copper fraction %v, integrated wall field %v", s.Name, got, tunedWall)
		}
		if got := float64(s.OutputPower(powerW, 0)); !within(got, real(tunedBack*cmplx.Conj(tunedBack)), 1e-6*powerW) {
			t.Errorf("%s: power back %v, integrated field %v", s.Name, got, tunedBack)
		}
		for _, d := range detuningsHz {
			wall, back := fillCavity(s, powerW, d)
			if got := s.DetunedFactor(rf.Frequency(d)); cmplx.Abs(got-wall/tunedWall) > 1e-9 {
				t.Errorf("%s, %v Hz: factor %v, integrated %v", s.Name, d, got, wall/tunedWall)
			}
			if got := s.CavityReflectedFraction(rf.Frequency(d)); !within(got, real(back*cmplx.Conj(back))/powerW, 1e-9) {
				t.Errorf("%s, %v Hz: reflected %v, integrated field %v", s.Name, d, got, back)
			}
			if got := float64(s.PhaseSlip(rf.Frequency(d))); !within(got, cmplx.Phase(wall), 1e-9) {
				t.Errorf("%s, %v Hz: slip %v, integrated %v", s.Name, d, got, cmplx.Phase(wall))
			}
		}
		// What goes in comes out: back, into the walls, or into the beam.
		beam := rf.Current(0.4 * math.Sqrt(powerW/s.ShuntImpedanceOhm))
		gain := float64(s.EnergyGain(powerW, 0, beam))
		sum := float64(s.OutputPower(powerW, beam)) + gain*gain/s.ShuntImpedanceOhm + float64(beam)*gain
		if !near(sum, powerW, 1e-12) {
			t.Errorf("%s: back, wall and beam take %v of %v W", s.Name, sum, powerW)
		}
	}
}

// A cavity behind a compressor is filled by the compressed pulse.
func TestCompressedPulseIntoCavity(t *testing.T) {
	c := compressors()[0]
	s := cavities()[1]
	rate := 1 / float64(s.TimeConstant())
	for _, d := range []float64{-60e3, 0, 25e3} {
		for _, cavityHz := range []float64{-100e3, 0, 40e3} {
			ran := c.run(d)
			y := []complex128{0}
			const justInside = 1e-13
			for _, span := range [][2]float64{{0, c.flipS - justInside}, {c.flipS + justInside, c.pulseS}} {
				rungeKutta(y, span[0], span[1], 3000, func(now float64, y, slope []complex128) {
					slope[0] = complex(-rate, 2*math.Pi*cavityHz)*y[0] + complex(rate, 0)*ran.output(now)
				})
			}
			got := c.compressor().EnergyMultiplication(s, rf.Frequency(d), rf.Frequency(cavityHz))
			if cmplx.Abs(got-y[0]) > 1e-6 {
				t.Errorf("%v and %v Hz: %v, integrated %v", d, cavityHz, got, y[0])
			}
		}
	}
}
