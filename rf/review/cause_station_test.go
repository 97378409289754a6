package review_test

import (
	"strings"
	"testing"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

// signature is what something that went wrong does to the readings, its sizes
// worked out by hand, and what must be told of it.
type signature struct {
	name   string
	plant  func(b *bench)
	shifts []shift
	cause  review.Cause
	place  string
	q      rf.Quantity // main witness
	change float64     // of it, in its own unit
	rel    float64     // to which it is held
}

// check plays the signature as a ramp of four hours, which ends an hour before
// the log does.
func (s signature) check(t *testing.T) {
	t.Run(s.name, func(t *testing.T) {
		t.Parallel()
		b := newBench()
		b.width = 2 * time.Minute
		if s.plant != nil {
			s.plant(b)
		}
		b.play(ramp(3, 7), s.shifts...)
		r := b.review()
		wantFindings(t, r, string(s.cause)+" "+s.place)
		f := finding(t, r, s.cause)
		if !f.Verdict.Flagged() || f.Quantity != s.q || !near(f.Change, s.change, s.rel) {
			t.Errorf("%s: %s by %v %s, want %s by %v", f.Verdict, f.Quantity, f.Change, f.Unit, s.q, s.change)
		}
		if f.Likely || len(f.NotLogged) > 0 {
			t.Errorf("likely %v, not logged %v: everything is", f.Likely, f.NotLogged)
		}
		if f.Since.Before(b.hour(2)) || f.Since.After(b.hour(5)) || f.Step {
			t.Errorf("since %v, step %v", f.Since, f.Step)
		}
		if f.Message == "" || f.Advice == "" || f.Caution == "" || len(f.Evidence) == 0 {
			t.Errorf("says too little: %+v", f)
		}
		if station := b.stationOf(s.place); f.Station != station {
			t.Errorf("belongs to %q, want %q", f.Station, station)
		}
	})
}

// powers are the shifts of all power readings of S1 behind its klystron's
// coupler, in percent.
func powers(percent float64) []shift {
	return append([]shift{byPercent("S1", rf.CompressedPower, percent)}, fedPowers(percent)...)
}

func fedPowers(percent float64) []shift {
	return []shift{
		byPercent("S1A", rf.InputPower, percent), byPercent("S1A", rf.OutputPower, percent),
		byPercent("S1B", rf.InputPower, percent), byPercent("S1B", rf.OutputPower, percent),
	}
}

// phases are the shifts of all coupler phases of S1's structures, in degrees.
func phases(deg float64) []shift {
	return []shift{
		by("S1A", rf.InputPhase, deg), by("S1A", rf.OutputPhase, deg),
		by("S1B", rf.InputPhase, deg), by("S1B", rf.OutputPhase, deg),
	}
}

// klystron is a change of S1 at its klystron: voltage, current and power in
// percent, phase in degrees, and all that follows behind it.
func klystron(voltage, current, power, phase float64) []shift {
	s := []shift{
		byPercent("S1", rf.BeamVoltage, voltage), byPercent("S1", rf.BeamCurrent, current),
		byPercent("S1", rf.ForwardPower, power), by("S1", rf.ForwardPhase, phase),
	}
	return append(append(s, powers(power)...), phases(phase)...)
}

func TestModulatorVoltage(t *testing.T) {
	// Current by V^1.5; power by V^2.5 where re-saturated, V^2.0 to V^3.5 at fixed
	// drive (common practice); phase by the pushing, 6 deg per per cent in the plant.
	for _, s := range []signature{
		{name: "down", shifts: klystron(-1, -1.5, -2.5, -6), change: -2.67},
		{name: "up", shifts: klystron(1, 1.5, 2.5, 6), change: 2.67},
		{name: "far down", shifts: klystron(-3, -4.5, -7.3, -18), change: -8.01},
		{name: "power by the square", shifts: klystron(-1.2, -1.8, -2.4, -7.2), change: -3.2},
		{name: "power by the power of 3.5", shifts: klystron(-1.2, -1.8, -4.2, -7.2), change: -3.2},
		{
			name: "pushing from the drift length", change: -2.67,
			// 0.6 m at 267 kV and 2856 MHz: 7.1 deg per per cent.
			plant: func(b *bench) { b.plant.Stations[0].PhasePushingDegPerPercent = rf.Unknown[float64]() }, shifts: klystron(-1, -1.5, -2.5, -7.1),
		},
	} {
		s.cause, s.place, s.q, s.rel = review.ModulatorVoltage, "S1", rf.BeamVoltage, 0.03
		s.check(t)
	}
}

func TestCathodeEmission(t *testing.T) {
	// Perveance falls by 3 %. A stiff modulator holds its voltage: current and
	// power -3 %. On a matched line-type modulator voltage rises by 0.4 of it and
	// current falls by 0.4 of it, the power stays, and the phase is pushed.
	for _, s := range []signature{
		{name: "stiff modulator", shifts: klystron(0, -3, -3, 0)},
		{name: "matched line", shifts: klystron(1.2, -1.2, 0, 7.2)},
		{name: "half way", shifts: klystron(0.6, -2.1, -1.5, 3.6)},
	} {
		s.cause, s.place, s.q, s.change, s.rel = review.CathodeEmission, "S1", rf.Microperveance, -0.06, 0.04
		s.check(t)
	}
}

func TestDrivePower(t *testing.T) {
	// Far below saturation the power follows the drive, near it hardly; phase by 2
	// to 6 deg per decibel (common practice).
	for _, s := range []signature{
		{name: "one decibel down, power follows", shifts: append(klystron(0, 0, -20.6, -4), byPercent("S1", rf.DrivePower, -20.6))},
		{name: "one decibel down, half the exponent", shifts: append(klystron(0, 0, -10.9, -4), byPercent("S1", rf.DrivePower, -20.6))},
		{name: "one decibel down at saturation", shifts: append(klystron(0, 0, -0.3, -4), byPercent("S1", rf.DrivePower, -20.6))},
		{name: "up", shifts: append(klystron(0, 0, 12.2, 4), byPercent("S1", rf.DrivePower, 25.9)), change: 51.8},
		{
			name: "saturation is given", shifts: append(klystron(0, 0, -5.5, -4), byPercent("S1", rf.DrivePower, -20.6)),
			// At 0.8 of what saturates the output has (J1(1.841 sqrt(0.8))/0.5819)^2.
			plant: func(b *bench) { b.plant.Stations[0].DriveSaturation = driveW / 0.8 * rf.Watt },
		},
	} {
		s.cause, s.place, s.q, s.rel = review.DrivePower, "S1", rf.DrivePower, 0.03
		if s.change == 0 {
			s.change = -41.2
		}
		s.check(t)
	}
}

func TestPhaseDrift(t *testing.T) {
	for _, s := range []signature{
		{name: "before the klystron's output", shifts: klystron(0, 0, 0, 9), change: 9},
		{name: "back", shifts: klystron(0, 0, 0, -5), change: -5},
		{name: "with the drive phase", shifts: append(klystron(0, 0, 0, 7), by("S1", rf.DrivePhase, 7)), change: 7},
	} {
		s.cause, s.place, s.q, s.rel = review.PhaseDrift, "S1", rf.ForwardPhase, 0.05
		s.check(t)
	}
}

func TestPhaseDriftBehindAKlystronWithoutCompressor(t *testing.T) {
	signature{
		name: "waveguide of S3", cause: review.PhaseDrift, place: "S3", q: rf.InputPhase, change: 9, rel: 0.05,
		shifts: []shift{by("S3A", rf.InputPhase, 9), by("S3A", rf.OutputPhase, 9)},
	}.check(t)
}

// compressor is S1's compressor warmer by so many kelvin: its phase, its peak and
// its temperature. 47.4 kHz/K from copper's expansion; Q0 1e5, beta 5, 3.5 us, flip
// at 2.67 us: 20 and 40 kHz turn the middle of the compressed pulse by 5.97 and
// 11.87 deg and take 0.88 % and 3.47 % of its peak, from the field equation
// Tc dEe/dt + (1 - i w Tc) Ee = alpha Ein worked out by hand.
func compressor(kelvin, phaseDeg, percent float64) []shift {
	s := append(powers(percent), phases(phaseDeg)...)
	return append(s, by("S1", rf.CompressorTemperature, kelvin))
}

func TestCompressorDetuning(t *testing.T) {
	for _, s := range []signature{
		{name: "warm by 40 kHz", shifts: compressor(0.844, -11.87, -3.47), change: -11.87},
		{name: "cold by 40 kHz", shifts: compressor(-0.844, 11.87, -3.47), change: 11.87},
		{name: "warm by 20 kHz", shifts: compressor(0.422, -5.97, -0.88), change: -5.97},
	} {
		s.cause, s.place, s.q, s.rel = review.CompressorDetuning, "S1", rf.CompressorPhase, 0.05
		s.check(t)
	}
}

func TestWaveguideLoss(t *testing.T) {
	for _, s := range []signature{
		{name: "before the compressor", shifts: powers(-8), place: "S1", q: rf.CompressedPower, change: -0.08 * compressedMW},
		{name: "behind the compressor", shifts: fedPowers(-8), place: "S1", q: rf.InputPower, change: -0.08 * inputMW},
		{
			name: "arm of one structure", place: "S1B", q: rf.InputPower, change: -0.08 * inputMW,
			shifts: []shift{byPercent("S1B", rf.InputPower, -8), byPercent("S1B", rf.OutputPower, -8)},
		},
	} {
		s.cause, s.rel = review.WaveguideLoss, 0.05
		s.check(t)
	}
}

func TestReflectedPower(t *testing.T) {
	for _, s := range []signature{
		// From 1 to 4 per cent: what comes back does not reach the structures.
		{name: "by three per cent of forward power", shifts: append(powers(-3), byPercent("S1", rf.ReflectedPower, 300))},
	} {
		s.cause, s.place, s.q, s.change, s.rel = review.ReflectedPower, "S1", rf.ReflectedFraction, 3, 0.05
		s.check(t)
	}
}

func TestReadingDoubted(t *testing.T) {
	for _, s := range []signature{
		{name: "voltage divider", shifts: []shift{byPercent("S1", rf.BeamVoltage, 2)}, q: rf.BeamVoltage, change: 5.34},
		{name: "current transformer", shifts: []shift{byPercent("S1", rf.BeamCurrent, -3)}, q: rf.BeamCurrent, change: -8.28},
		{name: "drive meter", shifts: []shift{byPercent("S1", rf.DrivePower, -30)}, q: rf.DrivePower, change: -60},
		{name: "forward coupler", shifts: []shift{byPercent("S1", rf.ForwardPower, -6)}, q: rf.ForwardPower, change: -1.8},
		{name: "coupler behind the compressor", shifts: []shift{byPercent("S1", rf.CompressedPower, -6)}, q: rf.CompressedPower, change: -8.86},
		{name: "forward phase pick-up", shifts: []shift{by("S1", rf.ForwardPhase, 9)}, q: rf.ForwardPhase, change: 9},
		{name: "compressor's thermometer", shifts: []shift{by("S1", rf.CompressorTemperature, 0.5)}, q: rf.CompressorTemperature, change: 0.5},
		{name: "drive phase", shifts: []shift{by("S1", rf.DrivePhase, 7)}, q: rf.DrivePhase, change: 7},
	} {
		s.cause, s.place, s.rel = review.ReadingDoubted, "S1", 0.05
		s.check(t)
	}
}

func TestReadingDoubtedSaysWhatStoodStill(t *testing.T) {
	b := newBench()
	b.play(ramp(3, 7), byPercent("S1", rf.BeamVoltage, 2))
	f := finding(t, b.review(), review.ReadingDoubted)
	evidence := strings.Join(f.Evidence, "; ")
	for _, q := range []string{"beam current moved by", "forward power moved by"} {
		if !strings.Contains(evidence, q) {
			t.Errorf("evidence %q does not say %q", evidence, q)
		}
	}
	if !strings.Contains(f.Advice, "voltage divider") {
		t.Errorf("advice: %s", f.Advice)
	}
}

func TestWitnessLeftOutMakesACauseLikely(t *testing.T) {
	for _, c := range []struct {
		name   string
		shifts []shift
		drop   []rf.Quantity
		want   string
		missed []string
	}{
		{"voltage without its current", klystron(-1, -1.5, -2.5, -6), []rf.Quantity{rf.BeamCurrent}, "modulator_voltage S1", []string{"S1 beam_current"}},
		{"cathode without the voltage", klystron(0, -3, -3, 0), []rf.Quantity{rf.BeamVoltage}, "cathode_emission S1", []string{"S1 beam_voltage"}},
		{"compressor without its thermometer", compressor(0.844, -11.87, -3.47), []rf.Quantity{rf.CompressorTemperature}, "compressor_detuning S1", []string{"S1 compressor_temperature"}},
		{"drive without the klystron's phase", append(klystron(0, 0, -10.9, -4), byPercent("S1", rf.DrivePower, -20.6)), []rf.Quantity{rf.ForwardPhase}, "drive_power S1", []string{"S1 forward_phase"}},
		{"divider without the power", []shift{byPercent("S1", rf.BeamVoltage, 2)}, []rf.Quantity{rf.ForwardPower}, "reading_doubted S1", []string{"S1 forward_power"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			b := newBench()
			b.play(ramp(3, 7), c.shifts...)
			b.drop("S1", c.drop...)
			r := b.review()
			wantFindings(t, r, c.want)
			if len(r.Findings) != 1 {
				return
			}
			f := r.Findings[0]
			if !f.Likely || strings.Join(f.NotLogged, ",") != strings.Join(c.missed, ",") {
				t.Errorf("likely %v, not logged %v, want %v", f.Likely, f.NotLogged, c.missed)
			}
		})
	}
}

func TestTwoFaultsAreTwoFindings(t *testing.T) {
	for _, c := range []struct {
		name   string
		shifts []shift
		want   []string
	}{
		{
			"two stations", append(klystron(-1, -1.5, -2.5, -6), byPercent("S3", rf.BeamVoltage, 2)),
			[]string{"modulator_voltage S1", "reading_doubted S3"},
		},
		{
			"one station: voltage and waveguide", append(klystron(-1, -1.5, -2.5, -6), powers(-10)...),
			[]string{"modulator_voltage S1", "waveguide_loss S1"},
		},
		{
			"one station: drive and compressor",
			append(append(klystron(0, 0, -10.9, -4), byPercent("S1", rf.DrivePower, -20.6)), compressor(0.844, -11.87, -3.47)...),
			[]string{"compressor_detuning S1", "drive_power S1"},
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			b := newBench()
			b.play(ramp(3, 7), c.shifts...)
			wantFindings(t, b.review(), c.want...)
		})
	}
}
