package review_test

import (
	"strings"
	"testing"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

// voltageFollows is what a change of beam voltage by one per cent moves at fixed
// perveance: current by 1.5, power by 2.5, phases by the pushing of 6 deg.
func voltageFollows(percent float64) []shift {
	return []shift{
		byPercent("S3", rf.BeamVoltage, percent), byPercent("S3", rf.BeamCurrent, 1.5*percent),
		byPercent("S3", rf.ForwardPower, 2.5*percent), byPercent("S3A", rf.InputPower, 2.5*percent), byPercent("S3A", rf.OutputPower, 2.5*percent),
		by("S3", rf.ForwardPhase, 6*percent), by("S3A", rf.InputPhase, 6*percent), by("S3A", rf.OutputPhase, 6*percent),
	}
}

// driveFollows is what the drive moves when it is turned down by a decibel, well
// below saturation: 21 % of the power, 4 deg of phase.
func driveFollows() []shift {
	return []shift{
		byPercent("S3", rf.DrivePower, -20.6), byPercent("S3", rf.ForwardPower, -20.6),
		byPercent("S3A", rf.InputPower, -20.6), byPercent("S3A", rf.OutputPower, -20.6),
		by("S3", rf.ForwardPhase, -4), by("S3A", rf.InputPhase, -4), by("S3A", rf.OutputPhase, -4),
	}
}

// phaseFollows is what a turn of the drive phase moves.
func phaseFollows(deg float64) []shift {
	return []shift{
		by("S3", rf.DrivePhase, deg), by("S3", rf.ForwardPhase, deg),
		by("S3A", rf.InputPhase, deg), by("S3A", rf.OutputPhase, deg),
	}
}

func TestSetPointIsAPersonsDoing(t *testing.T) {
	for _, c := range []struct {
		name    string
		q       rf.Quantity
		follows []shift
		change  float64 // native unit
		unit    string
	}{
		{"voltage up", rf.BeamVoltage, voltageFollows(1), 2.67, "kV"},
		{"voltage down", rf.BeamVoltage, voltageFollows(-2), -5.34, "kV"},
		{"drive phase", rf.DrivePhase, phaseFollows(15), 15, "deg"},
		{"drive power", rf.DrivePower, driveFollows(), -41.2, "W"},
	} {
		for _, logged := range []bool{true, false} {
			name := c.name + ", its set value logged"
			if !logged {
				name = c.name + ", nobody logged it"
			}
			t.Run(name, func(t *testing.T) {
				t.Parallel()
				b := newBench()
				shifts := c.follows
				if logged {
					b.log("S3", c.q.Set(), b.at("S3", c.q).level, 0)
					shifts = append([]shift{by("S3", c.q.Set(), c.change)}, shifts...)
				}
				b.play(stepAt(4), shifts...)
				r := b.review()
				wantFindings(t, r, "set_point S3")
				f := finding(t, r, review.SetPoint)
				if f.Verdict != review.InTolerance || f.Quantity != c.q || f.Unit != c.unit || !near(f.Change, c.change, 0.02) || !f.Step {
					t.Errorf("%s %s by %v %s, step %v", f.Verdict, f.Quantity, f.Change, f.Unit, f.Step)
				}
				if off := f.Since.Sub(b.hour(4)).Minutes(); off < -1 || off > 1 {
					t.Errorf("at %v", f.Since)
				}
				if f.Likely == logged || strings.Contains(f.Message, "nobody logged") == logged {
					t.Errorf("likely %v: %s", f.Likely, f.Message)
				}
				if want := "S3 " + string(c.q.Set()); !logged && (len(f.NotLogged) != 1 || f.NotLogged[0] != want) {
					t.Errorf("not logged: %v, want %s", f.NotLogged, want)
				}
				if f.Caution != "" {
					t.Errorf("caution beside a person's own doing: %q", f.Caution)
				}
			})
		}
	}
}

func TestDriftIsMeasuredFromTheNewLevel(t *testing.T) {
	b := newBench()
	b.log("S3", rf.BeamVoltage.Set(), voltageKV, 0)
	b.play(stepAt(4), append(voltageFollows(2), byPercent("S3", rf.BeamVoltage.Set(), 2))...)
	r := b.review()
	for _, c := range []struct {
		place   string
		q       rf.Quantity
		stepped float64
	}{
		{"S3", rf.BeamVoltage, 5.34},
		{"S3", rf.BeamCurrent, 0.03 * currentA},
		{"S3", rf.ForwardPower, 0.05 * forwardMW},
		{"S3A", rf.InputPower, 0.05 * plainInputMW},
		{"S3", rf.ForwardPhase, 12},
		{"S3A", rf.OutputPhase, 12},
	} {
		v := trace(t, r, c.place, c.q)
		if !near(v.Stepped, c.stepped, 0.05) || !within(v.Change, 0, 0.05*c.stepped) || v.Verdict.Flagged() {
			t.Errorf("%s %s: stepped by %v, want %v; changed by %v, %s", c.place, c.q, v.Stepped, c.stepped, v.Change, v.Verdict)
		}
		if !within(v.Reference-v.Stepped, b.at(c.place, c.q).level, 0.01*c.stepped+0.1) {
			t.Errorf("%s %s: reference %v is not the old level and the step", c.place, c.q, v.Reference)
		}
	}
	if v := trace(t, r, "S3A", rf.WaterTemperature); v.Stepped != 0 {
		t.Errorf("water stepped by %v with the voltage", v.Stepped)
	}
}

func TestDriftAfterASetPointIsStillFound(t *testing.T) {
	b := newBench()
	b.log("S3", rf.DrivePhase.Set(), 77, 0)
	b.play(stepAt(3), append(phaseFollows(15), by("S3", rf.DrivePhase.Set(), 15))...)
	b.play(ramp(4, 6), by("S3", rf.ForwardPhase, 6), by("S3A", rf.InputPhase, 6), by("S3A", rf.OutputPhase, 6))
	r := b.review()
	wantFindings(t, r, "phase_drift S3", "set_point S3")
	if f := finding(t, r, review.PhaseDrift); !near(f.Change, 6, 0.05) {
		t.Errorf("drift by %v deg", f.Change)
	}
}

func TestSetPointMovedBehindAStop(t *testing.T) {
	b := newBench()
	b.stop("S3", 4, 5)
	b.play(stepAt(4.5), voltageFollows(-2)...)
	wantFindings(t, b.review(), "set_point S3")
}

func TestTwoSetPointsAreTwoFindings(t *testing.T) {
	b := newBench()
	b.log("S3", rf.BeamVoltage.Set(), voltageKV, 0)
	b.play(stepAt(3), append(voltageFollows(1), byPercent("S3", rf.BeamVoltage.Set(), 1))...)
	b.play(stepAt(6), append(voltageFollows(-2), byPercent("S3", rf.BeamVoltage.Set(), -2))...)
	r := b.review()
	wantFindings(t, r, "set_point S3", "set_point S3")
}

func TestSmallMoveOfASetValueIsNoNews(t *testing.T) {
	// A tenth of the drift limit of 0.5 %.
	b := newBench()
	b.log("S3", rf.BeamVoltage.Set(), voltageKV, 0)
	b.play(stepAt(4), append(voltageFollows(0.05), byPercent("S3", rf.BeamVoltage.Set(), 0.05))...)
	wantFindings(t, b.review())
}

func TestReadingThatStepsAloneIsNoSetPoint(t *testing.T) {
	b := newBench()
	b.play(stepAt(4), byPercent("S3", rf.BeamVoltage, 2))
	wantFindings(t, b.review(), "reading_doubted S3")
}

func TestStepOfManyStationsIsNoPersonsDoing(t *testing.T) {
	b := newBench()
	for _, s := range []string{"S1", "S2", "S3"} {
		b.play(stepAt(4), byPercent(s, rf.BeamVoltage, -1), byPercent(s, rf.BeamCurrent, -1.5), byPercent(s, rf.ForwardPower, -2.5))
	}
	for _, f := range b.review().Findings {
		if f.Cause == review.SetPoint {
			t.Errorf("%s: %s", f.Place, f.Message)
		}
	}
}
