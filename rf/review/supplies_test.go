package review_test

import (
	"strings"
	"testing"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

func TestVacuum(t *testing.T) {
	// Limits: 3 and 10 times the reference of 2e-8 mbar, 1e-7 and 1e-6 mbar.
	for _, c := range []struct {
		name    string
		percent float64
		want    review.Verdict
	}{
		{"two and a half times", 150, ""},
		{"three and a half times", 250, review.Drifting},
		{"twelve times", 1100, review.OutOfTolerance},
	} {
		b := newBench()
		b.play(ramp(3, 7), byPercent("S1", rf.VacuumPressure, c.percent))
		r := b.review()
		if c.want == "" {
			wantFindings(t, r)
			continue
		}
		wantFindings(t, r, "vacuum S1")
		if f := finding(t, r, review.Vacuum); f.Verdict != c.want || f.Likely || !strings.Contains(f.Advice, "Do not raise RF power") {
			t.Errorf("%s: %s, %s", c.name, f.Verdict, f.Advice)
		}
	}
}

func TestBurstsOfPressureAreNoVacuumFinding(t *testing.T) {
	// Ten bursts of three minutes to fifty times the level, the last at the end.
	burst := func(h float64) float64 {
		for i := range 10 {
			if at := 0.55 + 0.8*float64(i); h >= at && h < at+3.0/60 {
				return 1e-6
			}
		}
		return 0
	}
	b := newBench()
	b.move("S1", rf.VacuumPressure, burst)
	wantFindings(t, b.review())

	b.play(ramp(3, 7), byPercent("S1", rf.VacuumPressure, 400))
	f := finding(t, b.review(), review.Vacuum)
	if !near(f.Change, 8e-8, 0.05) || !strings.Contains(strings.Join(f.Evidence, ";"), "10 bursts") {
		t.Errorf("changed by %v, evidence %v", f.Change, f.Evidence)
	}
}

// valve hangs S2 on a loop and logs the valve that regulates it.
func valve(b *bench) {
	loop(b)
	b.log("W2", rf.ValveOpening, 60, 0.2)
}

func TestHeadroomOfAWaterPlant(t *testing.T) {
	for _, c := range []struct {
		name string
		to   float64
		want review.Verdict
	}{{"at 85 %", 85, ""}, {"at 93 %", 93, review.Drifting}, {"at 98 %", 98, review.OutOfTolerance}} {
		b := newBench()
		valve(b)
		b.play(stepAt(3), by("W2", rf.ValveOpening, c.to-60))
		r := b.review()
		if c.want == "" {
			wantFindings(t, r)
			continue
		}
		wantFindings(t, r, "headroom W2")
		f := finding(t, r, review.Headroom)
		if f.Verdict != c.want || f.Quantity != rf.ValveOpening || f.Likely || !strings.Contains(strings.Join(f.Evidence, ""), "the loop itself still stands") {
			t.Errorf("%s: %+v", c.name, f)
		}
	}
}

func TestHeadroomIsToldBeforeItRunsOut(t *testing.T) {
	// From 60 % at 3.5 % an hour: 87.5 % in the morning, 97 % within the next shift.
	b := newBench()
	valve(b)
	b.play(ramp(0.5, 20.5), by("W2", rf.ValveOpening, 70))
	f := finding(t, b.review(), review.Headroom)
	if f.Verdict != review.Drifting || f.ReachesAct.IsZero() {
		t.Fatalf("%+v", f)
	}
	if want := b.hour(0.5 + 37/3.5); f.ReachesAct.Sub(want).Abs().Minutes() > 20 {
		t.Errorf("at its end by %v, want %v", f.ReachesAct, want)
	}
}

func TestHeadroomWithoutTheLoopsTemperatureIsLikely(t *testing.T) {
	b := newBench()
	valve(b)
	b.drop("W2", rf.LoopTemperature)
	b.play(stepAt(3), by("W2", rf.ValveOpening, 35))
	if f := finding(t, b.review(), review.Headroom); !f.Likely || len(f.NotLogged) != 1 || f.NotLogged[0] != "W2 loop_temperature" {
		t.Errorf("likely %v, not logged %v", f.Likely, f.NotLogged)
	}
}

func TestHeadroomOfTheDrive(t *testing.T) {
	// The drive rises to hold the power: by 20 % to 93 % of what saturates.
	b := newBench()
	b.plant.Stations[0].DriveSaturation = driveW * 1.2 / 0.93 * rf.Watt
	b.play(ramp(3, 7), byPercent("S1", rf.DrivePower, 20))
	r := b.review()
	wantFindings(t, r, "headroom S1")
	if f := finding(t, r, review.Headroom); f.Quantity != rf.DrivePower || f.Verdict != review.Drifting || f.Likely {
		t.Errorf("%+v", f)
	}
}

func TestDriveNearSaturationAllNightIsNoNews(t *testing.T) {
	b := newBench()
	b.plant.Stations[0].DriveSaturation = driveW / 0.95 * rf.Watt
	wantFindings(t, b.review())
}
