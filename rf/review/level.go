package review

import (
	"math"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

// jump is by how much a set-point change moved the level of a trace.
type jump struct {
	cell   int
	amount float64
}

// jumpsOf returns the set-point changes that a trace follows, each with what it
// did to the level.
func (a *analysis) jumpsOf(t *Trace) []jump {
	var jumps []jump
	for _, p := range a.setPoints[a.stationOf(t.Place)] {
		if !follows(t.Quantity, p.q) {
			continue
		}
		amount := p.amount
		if t.Quantity.Base() != p.q || !p.logged {
			before, after := a.sides(t, p.cell)
			amount = after - before
		}
		if !math.IsNaN(amount) {
			jumps = append(jumps, jump{p.cell, amount})
		}
	}
	return jumps
}

// level is a trace with its set-point changes, and over several days its daily
// swing, taken out: all of it stands on the level of the end, from which drift is
// measured.
type level struct {
	values  []float64
	stepped float64 // sum of what was taken out
}

func (a *analysis) level(t *Trace) level {
	jumps := a.jumpsOf(t)
	if len(jumps) == 0 {
		return level{values: a.withoutSwing(t, t.Mean)}
	}
	l := level{values: append([]float64(nil), t.Mean...)}
	for _, j := range jumps {
		l.stepped += j.amount
		for i := 0; i <= j.cell && i < len(l.values); i++ {
			l.values[i] += j.amount
		}
	}
	l.values = a.withoutSwing(t, l.values)
	return l
}

// sides returns the level of a trace over the settled quarter hour before a cell
// and over the one after it.
func (a *analysis) sides(t *Trace, cell int) (before, after float64) {
	n := a.cellsFor(nowSettled)
	var b, c []float64
	for i := cell - 1; i >= 0 && len(b) < n; i-- {
		if t.Settled[i] && !math.IsNaN(t.Mean[i]) {
			b = append(b, t.Mean[i])
		}
	}
	for i := cell + 1; i < len(t.Mean) && len(c) < n; i++ {
		if t.Settled[i] && !math.IsNaN(t.Mean[i]) {
			c = append(c, t.Mean[i])
		}
	}
	if len(b) < 4 || len(c) < 4 {
		return math.NaN(), math.NaN()
	}
	return series.Mean(b), series.Mean(c)
}

// follows reports whether readings of q move when set is moved.
func follows(q, set rf.Quantity) bool {
	if q.Base() == set {
		return true
	}
	phase := q == rf.ForwardPhase || q == rf.InputPhase || q == rf.OutputPhase || q == rf.CavityPhase
	if set == rf.DrivePhase {
		return phase
	}
	switch q {
	case rf.BeamVoltage, rf.BeamCurrent:
		return set == rf.BeamVoltage
	case rf.ForwardPower, rf.ReflectedPower, rf.CompressedPower, rf.InputPower, rf.OutputPower,
		rf.CavityVoltage, rf.Efficiency, rf.BodyTemperature, rf.ReturnTemperature, rf.PhaseAdvance:
		return true
	}
	return phase
}
