package review_test

import (
	"math"
	"strings"
	"testing"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

// Where the reflected fraction is not known, lost power is not called reflected.
func TestLossWithoutForwardPower(t *testing.T) {
	b := newBench()
	b.play(ramp(3, 7), powers(-8)...)
	b.drop("S1", rf.ForwardPower)
	r := b.review()
	wantFindings(t, r, "waveguide_loss S1")
}

// A flow that fell with a warmer body is the cause, also where the heating is not
// given.
func TestCoolingFlowHeatingNotGiven(t *testing.T) {
	signature{
		name: "heating not given", cause: review.CoolingFlow, place: "S1A", q: rf.PhaseAdvance, change: slipDegPerK * 0.39, rel: 0.04,
		plant: func(b *bench) { b.plant.Structures[0].HeatingKPerKW = math.NaN() },
		shifts: []shift{
			byPercent("S1A", rf.WaterFlow, -30), by("S1A", rf.BodyTemperature, 0.39), by("S1A", rf.ReturnTemperature, 0.43),
			by("S1A", rf.OutputPhase, slipDegPerK*0.39),
		},
	}.check(t)
}

// Without a phase advance a thermometer is only likely to be wrong.
func TestThermometerWithoutPhase(t *testing.T) {
	b := newBench()
	b.play(ramp(3, 7), by("S1A", rf.WaterTemperature, 0.5))
	b.drop("S1A", rf.OutputPhase)
	f := finding(t, b.review(), review.TemperatureSensor)
	if !f.Likely || len(f.NotLogged) == 0 {
		t.Errorf("likely %v, not logged %v", f.Likely, f.NotLogged)
	}
}

// The heating is told per kilowatt in copper: the share of it counts once.
func TestExpectedHeat(t *testing.T) {
	b := newBench()
	b.play(ramp(3, 7), append(warmBody("S1B", 0.4), byPercent("S1B", rf.InputPower, 33), byPercent("S1B", rf.OutputPower, 33))...)
	f := finding(t, b.review(), review.HeatLoad)
	if !strings.Contains(strings.Join(f.Evidence, ";"), "K, +0.39") {
		t.Errorf("%v", f.Evidence)
	}
}

func TestTwoFaultsOnOneStation(t *testing.T) {
	for _, c := range []struct {
		name   string
		shifts []shift
		want   []string
	}{
		{
			"cathode and phase", append(klystron(0, -5, -5, 0), klystron(0, 0, 0, 9)...),
			[]string{"cathode_emission S1", "phase_drift S1"},
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBench()
			b.play(ramp(3, 7), c.shifts...)
			wantFindings(t, b.review(), c.want...)
		})
	}
}

// More reflected power alone is believed, and the station is not to be pushed.
func TestReflectedAlone(t *testing.T) {
	for _, p := range []float64{200, 300, 600} {
		b := newBench()
		b.play(ramp(3, 7), byPercent("S1", rf.ReflectedPower, p))
		wantFindings(t, b.review(), "reflected_power S1")
	}
}

// A step of exactly one count is a step, whatever binary rounding makes of it.
func TestStepOfOneCount(t *testing.T) {
	b := thermometer()
	b.limits(rf.WaterTemperature, rf.Change, 0.2, 0.5, "K")
	b.at("S1A", rf.WaterTemperature).scatter = 0
	b.play(stepAt(4), by("S1A", rf.WaterTemperature, -0.5001))
	if w := water(t, b); w.Verdict != review.OutOfTolerance {
		t.Errorf("%s", w.Verdict)
	}
}

// The same night has the same cause in every run.
func TestSameNightSameCause(t *testing.T) {
	b := newBench()
	b.play(ramp(3, 7), powers(-8)...)
	b.drop("S1", rf.ForwardPower)
	first := told(b.review().Findings)
	for range 30 {
		if again := told(b.review().Findings); strings.Join(again, ",") != strings.Join(first, ",") {
			t.Fatalf("%v, and then %v", first, again)
		}
	}
}

// The budget of a silent station uses its last settled gain.
func TestHeldGainIsTheLastSettledOne(t *testing.T) {
	b := newBench()
	b.play(ramp(2, 4), klystron(0, 0, -20, 0)...)
	for _, r := range b.readings {
		if b.stationOf(r.place) == "S1" {
			r.silent = [][2]float64{{6, 9}}
		}
	}
	b.waypoint("S3", 300)
	r := b.review()
	want := 5 + gainS1MeV*(1+math.Sqrt(0.8)) + gainS3MeV
	if got := megaelectronvolt(r.Waypoints[0].Budget); !near(got, want, 2e-3) {
		t.Errorf("budget %v MeV, want %v", got, want)
	}
}

// A pressure in white noise is on its way nowhere.
func TestQuietNightNotesNothing(t *testing.T) {
	if n := newBench().review().Notices; len(n) > 0 {
		t.Errorf("notices %q", n)
	}
}

// A lower repetition rate makes bodies colder: that is heat, and no thermometer.
func TestRepetitionRate(t *testing.T) {
	b := newBench()
	b.log(rf.MachinePlace, rf.RepetitionRate, 50, 0.001)
	b.play(stepAt(4), byPercent(rf.MachinePlace, rf.RepetitionRate, -40))
	b.play(ramp(4, 4.3), everywhere(allStructures, func(s string) []shift { return warmBody(s, -0.48) })...)
	for _, f := range b.review().Findings {
		if f.Cause != review.HeatLoad {
			t.Errorf("%s %s: %s", f.Place, f.Cause, f.Message)
		}
	}
}

// Another repetition rate than in the accepted handover is another mode.
func TestOtherRepetitionRateIsAnotherMode(t *testing.T) {
	b := newBench()
	b.log(rf.MachinePlace, rf.RepetitionRate, 25, 0.001)
	r := b.reviewWith(handover(b, map[string]map[rf.Quantity]float64{
		rf.MachinePlace: {rf.RepetitionRate: 50}, "S1A": {rf.BodyTemperature: waterDegC + 1.8},
	}))
	wantFindings(t, r)
	if w := trace(t, r, "S1A", rf.BodyTemperature); !strings.Contains(w.Why, "another mode") {
		t.Errorf("%s %q", w.Verdict, w.Why)
	}
}

// A percentage of a reference of zero gives no verdict, and says why.
func TestNoVerdictNoReason(t *testing.T) {
	b := thermometer()
	b.limits(rf.WaterTemperature, rf.Relative, 2, 5, "%")
	b.at("S1A", rf.WaterTemperature).level = 0
	b.at("S1A", rf.WaterTemperature).scatter = 0
	b.play(stepAt(4), by("S1A", rf.WaterTemperature, 1))
	if w := water(t, b); w.Verdict != review.NoData || w.Why == "" {
		t.Errorf("%s, why %q", w.Verdict, w.Why)
	}
}

// A structure that stands still while the common water moves has its own finding,
// and is no evidence for the common one.
func TestStructureThatStandsStillInTheCommonWater(t *testing.T) {
	b := newBench()
	b.play(ramp(3, 7), everywhere(allStructures[1:], func(s string) []shift { return warmWater(s, 0.4) })...)
	r := b.review()
	own := 0
	for _, f := range r.Findings {
		if f.Place == "S1A" {
			own++
		}
		if f.Cause == review.CommonWater && strings.Contains(strings.Join(f.Evidence, ";"), "S1A") {
			t.Errorf("evidence %v", f.Evidence)
		}
	}
	if own != 1 {
		t.Errorf("%d findings at S1A: %v", own, told(r.Findings))
	}
}
