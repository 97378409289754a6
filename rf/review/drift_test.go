package review_test

import (
	"math"
	"testing"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

func TestForecastNeedsFourHours(t *testing.T) {
	// 0.15 K/h from 3:30 on: the limits stand at 1 and 2 K.
	for _, c := range []struct {
		name     string
		hours    float64
		forecast bool
	}{{"three and a half hours", 7, false}, {"six hours", 9.5, true}} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
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
