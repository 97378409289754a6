package sampledata

import (
	"math"
	"math/cmplx"
	"testing"
)

func near(got, want, rel float64) bool { return math.Abs(got-want) <= rel*math.Abs(want) }

// tenFoot is the constant-gradient section of a two-mile linac.
//
// Source: H. Wiedemann, Particle Accelerator Physics, eq. 18.96 (after Neal
// 1968): 2856 MHz, 3.048 m, 53 MOhm/m, 0.57 Np. The filling time of 0.83 us is
// from memory.
var tenFoot = Structure{Kind: constantGradient, LengthM: 3.048, ShuntImpedanceMOhmPerM: 53, AttenuationNp: 0.57, FillingTimeUs: 0.83}

func flatPulse() pulse { return newPulse(Station{RFPulseUs: 3.5}, 0, 0) }

func TestGuideGain(t *testing.T) {
	constant := tenFoot
	constant.Kind = constantImpedance
	for _, c := range []struct {
		name      string
		structure Structure
		want, rel float64
	}{
		{"Wiedemann eq. 18.105: 10.48 MeV for a megawatt", tenFoot, 10.48, 5e-4},
		{"constant gradient, closed form", tenFoot, 10.48232588, 1e-5},
		{"constant impedance, closed form (eq. 18.95)", constant, 10.34397208, 1e-5},
	} {
		g := newGuide(c.structure)
		if got := cmplx.Abs(overlap(g.arriving(flatPulse()), g.turning(0))); !near(got, c.want, c.rel) {
			t.Errorf("%s: got %v, want %v", c.name, got, c.want)
		}
		if want := math.Exp(-2 * 0.57); !near(g.transmission, want, 1e-9) {
			t.Errorf("%s: transmission %v, want %v", c.name, g.transmission, want)
		}
	}
}

func TestGuideKeepsPower(t *testing.T) {
	g := newGuide(tenFoot)
	copper := 0.0
	for _, field := range g.fieldMVPerM {
		copper += field * field / tenFoot.ShuntImpedanceMOhmPerM * g.sliceM
	}
	if !near(copper+g.transmission, 1, 1e-12) {
		t.Errorf("copper %v and load %v do not add up to the megawatt that went in", copper, g.transmission)
	}
	low, high := math.Inf(1), 0.0
	for _, field := range g.fieldMVPerM {
		low, high = min(low, field), max(high, field)
	}
	if !near(low, high, 1e-4) {
		t.Errorf("field of a constant-gradient structure runs from %v to %v", low, high)
	}
}

func TestGuideDetuned(t *testing.T) {
	g := newGuide(tenFoot)
	on := overlap(g.arriving(flatPulse()), g.turning(0))
	// 50 kHz below the drive: closed form with 1/vg - 1/c, computed apart in full
	// double precision: |F| = 0.9974103869, 5.987598 deg.
	f := overlap(g.arriving(flatPulse()), g.turning(-50)) / on
	if !near(cmplx.Abs(f), 0.9974103869, 1e-6) || !near(degrees(f), -5.987598, 1e-4) {
		t.Errorf("got %v at %v deg, want 0.9974103869 at -5.987598 deg", cmplx.Abs(f), degrees(f))
	}
	if up, down := overlap(g.arriving(flatPulse()), g.turning(80)), overlap(g.arriving(flatPulse()), g.turning(-80)); !near(cmplx.Abs(up), cmplx.Abs(down), 1e-12) {
		t.Error("too warm and too cold by the same amount differ in gain")
	}
	// Common practice: 14 degrees of slip per kelvin for a filling time of 0.83 us
	// (360 x 16.5e-6 x 2856 MHz x 0.83 us = 14.08), and it lags when warm.
	kHzPerK := 16.5e-6 * 2856e3
	if got := g.advanceDeg(-kHzPerK); !near(got, -14.0807, 1e-4) {
		t.Errorf("slip %v deg/K, want -14.08", got)
	}
}

func TestCompressor(t *testing.T) {
	// Q0 1e5, coupling 5, 0.83 us compressed: the energy multiplication of
	// SLAC-PUB-1453 is about 1.4 for 2.5 us and 1.78 for 5 us, from memory.
	g := newGuide(tenFoot)
	flat := cmplx.Abs(overlap(g.arriving(flatPulse()), g.turning(0)))
	for _, c := range []struct {
		name                 string
		pulseUs              float64
		multiplication, peak float64
	}{
		{"2.5 us", 2.5, 1.38657748, 3.95371557},
		{"3.5 us", 3.5, 1.60493129, 5.15630467},
		{"5 us", 5, 1.77456306, 6.20060614},
	} {
		s := Station{RFPulseUs: c.pulseUs, PhaseFlipUs: c.pulseUs - 0.83, CompressorBeta: 5}
		p := newPulse(s, 1e5, 0)
		if !near(p.peak, c.peak, 1e-6) {
			t.Errorf("%s: peak power gain %v, want %v", c.name, p.peak, c.peak)
		}
		// 0.5 %: the closed form lets the wave start at the beam's time, not with 1/c.
		if got := cmplx.Abs(overlap(g.arriving(p), g.turning(0))) / flat; !near(got, c.multiplication, 5e-3) {
			t.Errorf("%s: energy multiplication %v, want %v", c.name, got, c.multiplication)
		}
	}
	// A typical 3 GHz station (4.5 us, reversed at 3.55 us, coupling 5.5) turns by
	// about -1.9 deg for 0.1 K too warm, and -18.6 deg for 1 K: computed apart.
	s := Station{RFPulseUs: 4.5, PhaseFlipUs: 3.55, CompressorBeta: 5.5}
	for _, c := range []struct{ warmK, want float64 }{{0.1, -1.9}, {0.4, -7.6}, {1, -18.6}} {
		if got := degrees(newPulse(s, 1e5, -c.warmK*16.6e-6*2998.5e3).middle); !near(got, c.want, 0.04) {
			t.Errorf("%v K: compressed pulse turned by %v deg, want %v", c.warmK, got, c.want)
		}
	}
}

func TestCompressorKeepsEnergy(t *testing.T) {
	s := Station{RFPulseUs: 3.6, PhaseFlipUs: 2.8, CompressorBeta: 5}
	for _, detuningKHz := range []float64{0, -40, 90} {
		p := newPulse(s, 1e5, detuningKHz)
		in := []complex128{1, -1, 0}
		wall := 0.0
		for i, part := range p.stretches {
			stored := part
			stored.field = nil
			for _, e := range part.field {
				stored.field = append(stored.field, e+in[i])
			}
			wall += stored.energy() / s.CompressorBeta
		}
		// 1e-4: what the cavities still hold six time constants after the pulse.
		if !near(p.energyUs+wall, s.RFPulseUs, 1e-4) {
			t.Errorf("%v kHz: %v out and %v into the walls of %v us", detuningKHz, p.energyUs, wall, s.RFPulseUs)
		}
	}
}

func TestCavity(t *testing.T) {
	s := Structure{UnloadedQ: 13000, CouplingBeta: 1.5, CavityShuntMOhm: 3}
	for _, detuningKHz := range []float64{0, -60} {
		a := newCavityAnswer(s, 4, detuningKHz)
		if !near(a.copperUs+a.radiatedUs, 4, 1e-5) {
			t.Errorf("%v kHz: %v us into copper, %v us back, of 4 us", detuningKHz, a.copperUs, a.radiatedUs)
		}
	}
	long := newCavityAnswer(s, 40, 0)
	// On resonance (beta-1)^2/(beta+1)^2 comes back: 4 % for a coupling of 1.5.
	if !near(long.reflected, 0.04, 1e-6) {
		t.Errorf("reflected %v, want 0.04", long.reflected)
	}
	if want := math.Sqrt(3) * 2 * math.Sqrt(1.5) / 2.5; !near(real(long.voltageMV), want, 1e-6) {
		t.Errorf("voltage %v MV, want %v", real(long.voltageMV), want)
	}
	// A detuned cavity turns by atan(2 QL detuning/f), lagging when warm.
	want := math.Atan(2*13000/2.5*-60e-3/frequencyMHz) * 180 / math.Pi
	if got := degrees(newCavityAnswer(s, 40, -60).voltageMV); !near(got, want, 1e-4) {
		t.Errorf("cavity phase %v deg, want %v", got, want)
	}
}

func TestKlystron(t *testing.T) {
	if !near(saturation(1), 1, 1e-9) || saturation(0.9) >= 1 || saturation(1.1) >= 1 {
		t.Error("the klystron does not saturate at the drive that saturates it")
	}
	// A matched line-type modulator answers a perveance 3 % down with about 1.2 %
	// more voltage and 1.2 % less current (0.4 of it each way, common practice).
	const voltageKV, perveance = 290.0, 0.0632
	currentA := perveance * math.Pow(voltageKV, 1.5)
	source := 2 * voltageKV
	v := loadLine(source, voltageKV/currentA, 0.97*perveance)
	i := 0.97 * perveance * math.Pow(v, 1.5)
	if !near(v/voltageKV, 1.012, 5e-4) || !near(i/currentA, 0.988, 5e-4) {
		t.Errorf("voltage %v, current %v of the normal", v/voltageKV, i/currentA)
	}
	if !near(source, v+voltageKV/currentA*i, 1e-12) {
		t.Error("the load line does not meet the beam")
	}
	// 4.71 deg per percent: 0.5 m at 350 kV, from dtheta = theta/(gamma(gamma+1)) dV/V.
	if got := ballisticPushing(0.5, 350); !near(got, 4.70961959, 1e-3) {
		t.Errorf("pushing %v deg per percent, want 4.7096", got)
	}
}

func TestTables(t *testing.T) {
	l := Prepare(Build(8, 2))
	s := &l.structures[len(l.structures)-3]
	st := &l.stations[s.station]
	for _, c := range []struct{ compressorKHz, structureKHz float64 }{{0, 0}, {-3.3, 7.7}, {-28.4, -23.7}, {55, 90}} {
		p := newPulse(st.Station, st.hidden.compressorQ0, c.compressorKHz)
		want := overlap(s.guide.arriving(p), s.guide.turning(c.structureKHz))
		if got := s.gain.at(c.compressorKHz, c.structureKHz); cmplx.Abs(got-want) > 5e-5*cmplx.Abs(want) {
			t.Errorf("%v: the table says %v, the integration %v", c, got, want)
		}
	}
}
