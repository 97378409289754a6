package review

import (
	"fmt"
	"math"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

const burstFactor = 3.0 // of the neighbouring level, beyond which pressure is a burst

// findVacuum tells a pressure over its limits outside bursts. Bursts are counted
// and told as evidence.
func (a *analysis) findVacuum() {
	for i := range a.report.Traces {
		t := &a.report.Traces[i]
		if t.Quantity != rf.VacuumPressure || a.stuck[key{t.Place, t.Quantity}] {
			continue
		}
		bursts := a.quietVacuum(t)
		if !t.Verdict.Flagged() {
			continue
		}
		f := a.finding(Vacuum, t.Place)
		f.Verdict, f.Quantity, f.Unit = t.Verdict, t.Quantity, t.Unit
		f.Change, f.Since, f.Step, f.ReachesAct = t.Change, t.Since, t.Step, t.ReachesAct
		f.Message = fmt.Sprintf("pressure %s, %s times its reference", withUnit(t.Now, "mbar"), number(t.Now/t.Reference))
		if !f.Since.IsZero() {
			f.Message += " since " + a.clock(f.Since)
		}
		f.Evidence = []string{fmt.Sprintf("level outside bursts; reference %s, %d bursts in the night", withUnit(t.Reference, "mbar"), bursts)}
		f.Advice = "Do not raise RF power. Find whether pressure follows RF; where it does not, a leak is likelier than conditioning."
		a.report.Findings = append(a.report.Findings, f)
	}
}

// quietVacuum judges a pressure by medians, which bursts do not move, and
// returns how many bursts there were.
func (a *analysis) quietVacuum(t *Trace) int {
	if now := a.nowCells(t); len(now) > 0 {
		t.Now = series.Median(pickFrom(t.Mean, now))
	}
	if cells := a.referenceCells(t); len(cells) > 0 && a.options.Levels == nil {
		t.Reference = series.Median(pickFrom(t.Mean, cells))
	}
	t.Change = t.Now - t.Reference
	t.Judged, t.Verdict = math.NaN(), NoData
	if t.Why == "" {
		t.Verdict = InTolerance
		for _, tol := range rf.TolerancesAt(a.plant.Tolerances, t.Quantity, t.Place) {
			a.hold(t, tol)
		}
	}
	bursts, inBurst := 0, false
	level := series.Median(t.Mean)
	for _, v := range t.Max {
		high := v > burstFactor*math.Max(level, t.Reference)
		if high && !inBurst {
			bursts++
		}
		inBurst = high
	}
	return bursts
}

const (
	driveNearPercent = 90.0 // of the drive that saturates the klystron
	driveEndPercent  = 97.0
)

// findDriveHeadroom tells a station whose drive has risen to near what saturates
// its klystron: no more is to be had when the power falls again.
func (a *analysis) findDriveHeadroom() {
	for _, s := range a.plant.Stations {
		t := a.trace(s.Name, rf.DrivePower)
		if t == nil || !rf.Known(s.DriveSaturation) || !(t.Change > significantSigma*t.Noise) {
			continue
		}
		percent := 100 * t.Now / rf.In(s.DriveSaturation, rf.Watt)
		verdict := Hold(percent, driveNearPercent, driveEndPercent)
		if !verdict.Flagged() || t.Change < a.driftLimit(s.Name, rf.DrivePower, t.Reference)/2 {
			continue
		}
		a.spent[key{s.Name, rf.DrivePower}] = true
		f := a.finding(Headroom, s.Name)
		f.Verdict, f.Quantity, f.Unit = verdict, rf.DrivePower, t.Unit
		f.Change, f.SlopePerH, f.Since, f.Step = t.Change, t.SlopePerH, t.Since, t.Step
		f.Message = fmt.Sprintf("drive at %s %% of what saturates the klystron, %s since the reference", number(percent), a.changeOf(t))
		if power := a.trace(s.Name, rf.ForwardPower); power != nil && rf.Known(power.Change) {
			f.Evidence = []string{"forward power still stands: " + a.changeOf(power)}
		} else {
			f.NotLogged, f.Likely = []string{s.Name + " " + string(rf.ForwardPower)}, true
		}
		f.Advice = "Look at the drive amplifier before its reserve is gone. Do not raise the beam voltage in its place."
		a.report.Findings = append(a.report.Findings, f)
	}
}

// findHeadroom tells a reading that still stands where it should only because
// what regulates it is nearly at its end.
func (a *analysis) findHeadroom() {
	a.findDriveHeadroom()
	for i := range a.report.Traces {
		t := &a.report.Traces[i]
		if (t.Quantity != rf.ValveOpening && t.Quantity != rf.HeaterPower) || !t.Verdict.Flagged() {
			continue
		}
		f := a.finding(Headroom, t.Place)
		f.Verdict, f.Quantity, f.Unit = t.Verdict, t.Quantity, t.Unit
		f.Change, f.SlopePerH, f.Since, f.Step, f.ReachesAct = t.Change, t.SlopePerH, t.Since, t.Step, t.ReachesAct
		info, _ := t.Quantity.Info()
		f.Message = fmt.Sprintf("%s at %s, %s since the reference", info.Title, withUnit(t.Now, t.Unit), signed(t.Change, t.Unit))
		if !t.ReachesAct.IsZero() {
			f.Message += ", at its limit by " + a.clock(t.ReachesAct)
		}
		if loop := a.trace(t.Place, rf.LoopTemperature); loop != nil && rf.Known(loop.Change) {
			f.Evidence = []string{fmt.Sprintf("the loop itself still stands: %s", signed(loop.Change, "K"))}
		} else {
			f.NotLogged = []string{t.Place + " " + string(rf.LoopTemperature)}
			f.Likely = true
		}
		f.Advice = "The water plant runs out of range: have it looked at before the temperature lets go. Do not move set points to relieve it."
		a.report.Findings = append(a.report.Findings, f)
	}
}
