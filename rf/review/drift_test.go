package review_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

func TestVerdictWords(t *testing.T) {
	for _, c := range []struct {
		verdict review.Verdict
		words   string
		rank    int
		flagged bool
	}{
		{review.OutOfTolerance, "out of tolerance", 0, true},
		{review.Drifting, "drifting", 1, true},
		{review.NoData, "no data", 2, false},
		{review.InTolerance, "in tolerance", 3, false},
	} {
		if c.verdict.Words() != c.words || c.verdict.Rank() != c.rank || c.verdict.Flagged() != c.flagged {
			t.Errorf("%s: %q, rank %d, flagged %v", c.verdict, c.verdict.Words(), c.verdict.Rank(), c.verdict.Flagged())
		}
		for _, other := range []review.Verdict{review.OutOfTolerance, review.Drifting, review.NoData, review.InTolerance} {
			if worse := review.Worse(c.verdict, other); worse.Rank() != min(c.rank, other.Rank()) {
				t.Errorf("worse of %s and %s: %s", c.verdict, other, worse)
			}
		}
	}
}

func TestHold(t *testing.T) {
	tenth := 0.1
	for _, c := range []struct {
		name       string
		judged     float64
		drift, act float64
		want       review.Verdict
	}{
		{"nothing", 0, 1, 3, review.InTolerance},
		{"just inside", 0.999, 1, 3, review.InTolerance},
		{"at the drift limit", 1, 1, 3, review.InTolerance},
		{"at it from below", -1, 1, 3, review.InTolerance},
		{"binary rounding over it: 0.1 + 0.2 > 0.3", tenth + 0.2, 0.3, 1, review.InTolerance},
		{"a millionth beyond", 1.000001, 1, 3, review.Drifting},
		{"beyond", -1.1, 1, 3, review.Drifting},
		{"at the act limit", 3, 1, 3, review.Drifting},
		{"beyond the act limit", -3.001, 1, 3, review.OutOfTolerance},
		{"not known", math.NaN(), 1, 3, review.NoData},
		{"limits alike", 1, 1, 1, review.InTolerance},
		{"infinite", math.Inf(-1), 1, 3, review.OutOfTolerance},
		{"no limit", 1e9, math.Inf(1), math.Inf(1), review.InTolerance},
	} {
		if got := review.Hold(c.judged, c.drift, c.act); got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}

// limits lays one row of tolerances over the bench's.
func (b *bench) limits(q rf.Quantity, basis rf.Basis, drift, act float64, unit string) {
	var kept []rf.Tolerance
	for _, t := range b.plant.Tolerances {
		if t.Quantity != q {
			kept = append(kept, t)
		}
	}
	b.plant.Tolerances = append(kept, rf.Tolerance{Quantity: q, Basis: basis, DriftLimit: drift, ActLimit: act, Unit: unit})
}

// thermometer is a bench with little but the inlet water of S1A in its log, with
// limits so wide that half a shift fits between them.
func thermometer() *bench {
	b := newBench()
	b.only(rf.RFOn, rf.ForwardPower, rf.WaterTemperature)
	b.limits(rf.WaterTemperature, rf.Change, 1, 2, "K")
	return b
}

func water(t *testing.T, b *bench) *review.Trace {
	t.Helper()
	return trace(t, b.review(), "S1A", rf.WaterTemperature)
}

func TestVerdictsOfATraceByBasis(t *testing.T) {
	// A reading of no scatter and a fine resolution steps at 4:00.
	for _, c := range []struct {
		name   string
		basis  rf.Basis
		limits [2]float64
		from   float64
		to     float64
		want   review.Verdict
		judged float64
	}{
		{"change at the limit", rf.Change, [2]float64{0.2, 0.5}, 30, 30.2, review.InTolerance, 0.2},
		{"change at the limit, down", rf.Change, [2]float64{0.2, 0.5}, 30, 29.8, review.InTolerance, -0.2},
		{"change beyond", rf.Change, [2]float64{0.2, 0.5}, 30, 30.2001, review.Drifting, 0.2001},
		{"change at the act limit", rf.Change, [2]float64{0.2, 0.5}, 30, 30.5, review.Drifting, 0.5},
		{"change beyond the act limit", rf.Change, [2]float64{0.2, 0.5}, 30, 29.4999, review.OutOfTolerance, -0.5001},
		{"percent at the limit", rf.Relative, [2]float64{2, 5}, 30, 30.6, review.InTolerance, 2},
		{"percent beyond", rf.Relative, [2]float64{2, 5}, 30, 29.39, review.Drifting, -61.0 / 30},
		{"percent beyond the act limit", rf.Relative, [2]float64{2, 5}, 30, 31.6, review.OutOfTolerance, 160.0 / 30},
		{"multiple at the limit", rf.Ratio, [2]float64{3, 10}, 2, 6, review.InTolerance, 3},
		{"multiple beyond", rf.Ratio, [2]float64{3, 10}, 2, 6.1, review.Drifting, 3.05},
		{"multiple beyond the act limit", rf.Ratio, [2]float64{3, 10}, 2, 20.1, review.OutOfTolerance, 10.05},
		{"value itself at the limit", rf.Absolute, [2]float64{90, 97}, 50, 90, review.InTolerance, 90},
		{"value itself beyond", rf.Absolute, [2]float64{90, 97}, 50, 91, review.Drifting, 91},
		{"value itself beyond all night", rf.Absolute, [2]float64{90, 97}, 98, 98, review.OutOfTolerance, 98},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := thermometer()
			b.limits(rf.WaterTemperature, c.basis, c.limits[0], c.limits[1], "")
			r := b.at("S1A", rf.WaterTemperature)
			r.level, r.scatter = c.from, 0
			r.moves = []course{func(h float64) float64 { return 1e-5 * (stepAt(3)(h) - stepAt(3.2)(h)) }}
			b.play(stepAt(4), by("S1A", rf.WaterTemperature, c.to-c.from))
			w := water(t, b)
			if w.Verdict != c.want || !near(w.Judged, c.judged, 1e-9) {
				t.Errorf("%s at %v, want %s at %v (why %q)", w.Verdict, w.Judged, c.want, c.judged, w.Why)
			}
			if w.DriftLimit != c.limits[0] || w.ActLimit != c.limits[1] || w.Basis != c.basis {
				t.Errorf("held against %v %v %v", w.Basis, w.DriftLimit, w.ActLimit)
			}
		})
	}
}

func TestNamedPlaceOverridesTheLimitForAll(t *testing.T) {
	b := thermometer()
	b.plant.Tolerances = append(b.plant.Tolerances,
		rf.Tolerance{Quantity: rf.WaterTemperature, Place: "S1B", Basis: rf.Change, DriftLimit: 0.1, ActLimit: 0.3, Unit: "K"})
	b.play(stepAt(4), by("S1A", rf.WaterTemperature, 0.4), by("S1B", rf.WaterTemperature, 0.4))
	r := b.review()
	if w := trace(t, r, "S1A", rf.WaterTemperature); w.Verdict != review.InTolerance {
		t.Errorf("S1A %s", w.Verdict)
	}
	if w := trace(t, r, "S1B", rf.WaterTemperature); w.Verdict != review.OutOfTolerance {
		t.Errorf("S1B %s", w.Verdict)
	}
}

func TestWorseOfTwoTolerancesCounts(t *testing.T) {
	// Pressure is held against multiples of its reference and against a level.
	b := newBench()
	b.at("S1", rf.VacuumPressure).level = 8e-8
	b.at("S2", rf.VacuumPressure).level = 1e-9
	b.at("S2", rf.VacuumPressure).scatter = 1e-11
	b.play(ramp(3, 5), byPercent("S1", rf.VacuumPressure, 50), byPercent("S2", rf.VacuumPressure, 400))
	r := b.review()
	for place, want := range map[string]rf.Basis{"S1": rf.Absolute, "S2": rf.Ratio} {
		if p := trace(t, r, place, rf.VacuumPressure); p.Verdict != review.Drifting || p.Basis != want {
			t.Errorf("%s: %s by %s", place, p.Verdict, p.Basis)
		}
	}
}

func TestScatterAloneIsNoDrift(t *testing.T) {
	// Quarter hours that scatter by the drift limit cannot tell a change of it.
	random := rand.New(rand.NewPCG(7, 7))
	quarter := make([]float64, 33)
	for i := range quarter {
		quarter[i] = 0.15 * random.NormFloat64()
	}
	quarter[31], quarter[32] = 0.25, 0.25 // beyond the limit, where it happens to end
	b := thermometer()
	b.limits(rf.WaterTemperature, rf.Change, 0.2, 0.5, "K")
	b.move("S1A", rf.WaterTemperature, func(h float64) float64 { return quarter[int(4*h)] })
	if w := water(t, b); w.Verdict != review.InTolerance {
		t.Errorf("%s: changed by %v with noise %v", w.Verdict, w.Change, w.Noise)
	}
}

func TestFewerThanEightCellsGiveNoVerdict(t *testing.T) {
	for _, c := range []struct {
		readings float64 // in the night
		want     review.Verdict
	}{{7, review.NoData}, {8, review.InTolerance}} {
		b := thermometer()
		b.at("S1A", rf.WaterTemperature).silent = [][2]float64{{0, 1}, {1 + c.readings/60, 9}}
		w := water(t, b)
		if w.Verdict != c.want || (w.Why == "") != (c.want == review.InTolerance) {
			t.Errorf("%v readings: %s %q", c.readings, w.Verdict, w.Why)
		}
	}
}

func TestPhaseThatIsNotLockedGivesNoVerdict(t *testing.T) {
	b := newBench()
	b.at("S1", rf.ForwardPhase).inCell = 60
	b.at("S2", rf.ForwardPhase).inCell = 20
	r := b.review()
	if p := trace(t, r, "S1", rf.ForwardPhase); p.Verdict != review.NoData || p.Why != "the phase is not locked" || !math.IsNaN(p.Change) {
		t.Errorf("scatter of 60 deg: %s %q, change %v", p.Verdict, p.Why, p.Change)
	}
	if p := trace(t, r, "S2", rf.ForwardPhase); p.Verdict != review.InTolerance {
		t.Errorf("scatter of 20 deg: %s %q", p.Verdict, p.Why)
	}
}

func TestMissingReadingsAreNeverInTolerance(t *testing.T) {
	// Voltage and current are never read in the same hours: perveance is not known.
	b := newBench()
	b.at("S1", rf.BeamVoltage).silent = [][2]float64{{4, 9}}
	b.at("S1", rf.BeamCurrent).silent = [][2]float64{{0, 4}}
	r := b.review()
	p := trace(t, r, "S1", rf.Microperveance)
	if p.Verdict != review.NoData || !math.IsNaN(p.Now) || !math.IsNaN(p.Judged) {
		t.Errorf("perveance %s, now %v", p.Verdict, p.Now)
	}
	if !math.IsNaN(r.Stations[0].Microperveance) {
		t.Errorf("station's perveance %v", r.Stations[0].Microperveance)
	}
	if r.Trace("S1", rf.HeaterCurrent) != nil {
		t.Error("a trace of what was never logged")
	}
}

func TestPlaceWithoutReadingsHasNoData(t *testing.T) {
	b := newBench()
	for _, place := range []string{"S2", "S2A", "S2B"} {
		for _, info := range rf.Quantities() {
			b.drop(place, info.Name)
		}
	}
	r := b.review()
	if s := r.Stations[1]; s.Verdict != review.NoData || rf.Known(s.Gain) {
		t.Errorf("station %s, gain %v", s.Verdict, s.Gain)
	}
	for _, s := range r.Structures[2:4] {
		if s.Verdict != review.NoData || rf.Known(s.Detuning) || s.Advice != review.Withheld || s.Reason != "too little data" {
			t.Errorf("structure %s, detuning %v, %s %q", s.Verdict, s.Detuning, s.Advice, s.Reason)
		}
	}
}

func TestZeroReferenceHasNoPercent(t *testing.T) {
	b := thermometer()
	b.limits(rf.WaterTemperature, rf.Relative, 2, 5, "%")
	r := b.at("S1A", rf.WaterTemperature)
	r.level, r.scatter = 0, 0
	b.play(stepAt(4), by("S1A", rf.WaterTemperature, 1))
	if w := water(t, b); w.Verdict != review.NoData {
		t.Errorf("%s, judged %v", w.Verdict, w.Judged)
	}
}

func TestForecastNeedsFourHours(t *testing.T) {
	// 0.15 K/h from 3:30 on: the limits stand at 1 and 2 K.
	for _, c := range []struct {
		name     string
		hours    float64
		forecast bool
	}{{"three and a half hours", 7, false}, {"six hours", 9.5, true}} {
		t.Run(c.name, func(t *testing.T) {
			b := thermometer()
			b.hours = c.hours
			b.play(ramp(3.5, 20), by("S1A", rf.WaterTemperature, 0.15*16.5))
			w := water(t, b)
			if known := !math.IsNaN(w.SlopePerH); known != c.forecast || known == w.ReachesAct.IsZero() {
				t.Fatalf("slope %v, reaches %v", w.SlopePerH, w.ReachesAct)
			}
			if !c.forecast {
				if w.Verdict != review.InTolerance {
					t.Errorf("%s without a forecast", w.Verdict)
				}
				return
			}
			if !near(w.SlopePerH, 0.15, 0.03) || !(w.SlopeLow < 0.15 && 0.15 < w.SlopeHigh) || w.SlopeLow < 0.1 {
				t.Errorf("slope %v in %v to %v, want 0.15", w.SlopePerH, w.SlopeLow, w.SlopeHigh)
			}
			// 2 K are reached 13.3 h after 3:30.
			if want := b.hour(3.5 + 2/0.15); w.ReachesAct.Sub(want).Abs() > 20*time.Minute {
				t.Errorf("reaches the act limit at %v, want %v", w.ReachesAct, want)
			}
			if w.Verdict != review.Drifting {
				t.Errorf("%s, and the act limit is %v ahead", w.Verdict, w.ReachesAct.Sub(b.hour(c.hours)))
			}
		})
	}
}

func TestForecastFlagsOnlyWithinTheNextShift(t *testing.T) {
	// From 2:00 on for 6 h, below the drift limit of 1 K; the act limit of 2 K is
	// met 8 h after the log's end at 2/14 K/h.
	for _, c := range []struct {
		perHour float64
		want    review.Verdict
	}{{0.16, review.Drifting}, {-0.16, review.Drifting}, {0.125, review.InTolerance}, {-0.125, review.InTolerance}} {
		b := thermometer()
		b.play(ramp(2, 12), by("S1A", rf.WaterTemperature, 10*c.perHour))
		w := water(t, b)
		if math.Abs(w.Change) > 1 {
			t.Fatalf("beyond the drift limit already: %v", w.Change)
		}
		if w.Verdict != c.want || w.ReachesAct.IsZero() {
			t.Errorf("%v K/h: %s, reaches %v", c.perHour, w.Verdict, w.ReachesAct.Sub(b.hour(8)))
		}
	}
}

func TestReturningReadingIsNotHeadingForItsLimit(t *testing.T) {
	// Up by 0.9 K, then slowly back: the slope leads away from the limit.
	b := thermometer()
	b.play(stepAt(1.5), by("S1A", rf.WaterTemperature, 0.9))
	b.play(ramp(1.6, 20), by("S1A", rf.WaterTemperature, -1.5))
	if w := water(t, b); w.Verdict != review.InTolerance || !w.ReachesAct.IsZero() {
		t.Errorf("%s, reaches %v", w.Verdict, w.ReachesAct)
	}
}

func TestStepAndRampAndWhenTheyBegan(t *testing.T) {
	for _, c := range []struct {
		name    string
		course  course
		step    bool
		since   float64
		minutes float64
	}{
		{"step early", stepAt(3), true, 3, 2},
		{"step late", stepAt(7.2), true, 7.2, 2},
		{"rise within five minutes", ramp(5, 5+5.0/60), true, 5.04, 5},
		{"ramp of one hour", ramp(4, 5), false, 4, 6},
		{"ramp of three hours", ramp(3, 6), false, 3, 12},
		{"ramp that goes on", ramp(4, 9), false, 4, 15},
	} {
		for _, sign := range []float64{1, -1} {
			b := thermometer()
			b.play(c.course, by("S1A", rf.WaterTemperature, 1.5*sign))
			w := water(t, b)
			if w.Step != c.step {
				t.Errorf("%s: step %v", c.name, w.Step)
			}
			if off := w.Since.Sub(b.hour(c.since)).Minutes(); math.Abs(off) > c.minutes {
				t.Errorf("%s: since %v, off by %.0f min", c.name, w.Since, off)
			}
		}
	}
}

func TestQuietTraceHasNoOnset(t *testing.T) {
	r := newBench().review()
	for i := range r.Traces {
		if w := &r.Traces[i]; !w.Since.IsZero() || w.Step {
			t.Errorf("%s %s: quiet, and changed since %v", w.Place, w.Quantity, w.Since)
		}
	}
}

func TestTurnsLostWithoutRFAreNoDrift(t *testing.T) {
	// The phase reads anything while RF is off, and unwrapping through that may
	// leave any number of turns behind; the station is still where it was.
	for _, turns := range []float64{1, -2} {
		b := newBench()
		b.stop("S1", 3, 3.5)
		b.play(stepAt(3.25), by("S1", rf.ForwardPhase, 360*turns), by("S1A", rf.OutputPhase, -360*turns))
		r := b.review()
		for _, c := range []struct {
			place string
			q     rf.Quantity
		}{{"S1", rf.ForwardPhase}, {"S1A", rf.OutputPhase}, {"S1A", rf.PhaseAdvance}, {"S1", rf.CompressorPhase}} {
			if p := trace(t, r, c.place, c.q); p.Verdict.Flagged() || !within(p.Change, 0, 0.5) {
				t.Errorf("%v turns: %s %s %s, changed by %v", turns, c.place, c.q, p.Verdict, p.Change)
			}
		}
		if len(r.Findings) > 0 {
			t.Errorf("%v turns: %+v", turns, r.Findings)
		}
	}
}

func TestPhaseMayPassHalfATurn(t *testing.T) {
	b := newBench()
	b.at("S1", rf.ForwardPhase).level = 178
	b.play(ramp(3, 6), by("S1", rf.ForwardPhase, 20))
	if p := trace(t, b.review(), "S1", rf.ForwardPhase); !within(p.Change, 20, 0.2) {
		t.Errorf("changed by %v", p.Change)
	}
}

func TestDriftAcrossAStopIsSeen(t *testing.T) {
	b := thermometer()
	b.stop("S1", 3, 4)
	b.play(ramp(2, 7), by("S1A", rf.WaterTemperature, 1.5))
	if w := water(t, b); w.Verdict != review.Drifting || !within(w.Change, 1.5, 0.02) {
		t.Errorf("%s, changed by %v", w.Verdict, w.Change)
	}
}

// days is a bench of some days with one thermometer, in cells of five minutes.
func days(n float64) *bench {
	b := thermometer()
	b.hours, b.width = 24*n, 5*time.Minute
	b.limits(rf.WaterTemperature, rf.Change, 0.2, 0.5, "K")
	return b
}

func TestDailySwingIsNoTrend(t *testing.T) {
	// The hall's day: 0.6 K up and down, which a night alone would call a drift.
	swing := func(h float64) float64 { return 0.3 * math.Sin(2*math.Pi*h/24) }
	b := days(4)
	b.move("S1A", rf.WaterTemperature, swing)
	if w := water(t, b); w.Verdict != review.InTolerance || !within(w.Change, 0, 0.05) {
		t.Errorf("swing alone: %s, changed by %v", w.Verdict, w.Change)
	}
	b = days(4)
	b.move("S1A", rf.WaterTemperature, swing)
	b.play(ramp(0, 96), by("S1A", rf.WaterTemperature, 0.4))
	w := water(t, b)
	if w.Verdict != review.Drifting || !near(w.Change, 0.4, 0.1) {
		t.Errorf("swing and trend: %s, changed by %v, want 0.4", w.Verdict, w.Change)
	}
	if !near(w.SlopePerH, 0.4/96, 0.15) {
		t.Errorf("slope %v, want %v", w.SlopePerH, 0.4/96)
	}
}

func TestSlowSwingIsNoDrift(t *testing.T) {
	for _, periodH := range []float64{2, 5, 8} {
		for phase := 0.0; phase < 1; phase += 0.25 {
			b := thermometer()
			b.limits(rf.WaterTemperature, rf.Change, 0.2, 0.5, "K")
			b.move("S1A", rf.WaterTemperature, func(h float64) float64 { return 0.08 * math.Sin(2*math.Pi*(h/periodH+phase)) })
			if w := water(t, b); w.Verdict != review.InTolerance {
				t.Errorf("period %v h: %s, slope %v", periodH, w.Verdict, w.SlopePerH)
			}
		}
	}
}
