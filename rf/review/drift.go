package review

import (
	"fmt"
	"math"
	"time"

	"gonum.org/v1/gonum/stat"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

const (
	shiftLength      = 8 * time.Hour
	slopeSpan        = 4 * time.Hour // least stretch that a forecast may rest on
	slopeCycles      = 1.5           // and least periods of a cycle seen
	significantSigma = 3             // a change must stand this far out of its own scatter
	limitSlack       = 1e-9          // relative: binary rounding must not push a value over its limit
	noTolerance      = "no tolerance is set for it"
	lockedScatterDeg = 40 // a phase that scatters more within a cell is not locked
)

// judge fills in reference, change, slope and verdict of a trace.
func (a *analysis) judge(t *Trace) {
	t.Verdict = NoData
	t.Now, t.Change, t.Noise, t.Judged = math.NaN(), math.NaN(), math.NaN(), math.NaN()
	t.SlopePerH, t.SlopeLow, t.SlopeHigh = math.NaN(), math.NaN(), math.NaN()
	tolerances := rf.TolerancesAt(a.plant.Tolerances, t.Quantity, t.Place)
	if len(tolerances) > 0 {
		t.Basis, t.DriftLimit, t.ActLimit, t.LimitUnit = tolerances[0].Basis, tolerances[0].DriftLimit, tolerances[0].ActLimit, tolerances[0].Unit
	}
	if a.isAngle(t) && a.unlocked(t) {
		t.Reference, t.Why = math.NaN(), "the phase is not locked"
		return
	}
	if why := a.otherMode(t); why != "" {
		t.Reference, t.Why = math.NaN(), why
		return
	}
	l := a.level(t)
	a.setReference(t, l)
	now := a.nowCells(t)
	if need := min(fewestCells, a.cellsJudged(nowSettled)); len(now) < need {
		if t.Why == "" {
			t.Why = fmt.Sprintf("only %d settled cells at the end, %d are needed", len(now), need)
		}
		return
	}
	t.Now, t.NowAt = series.Mean(pickFrom(l.values, now)), a.night.At(now[0]+1)
	t.Noise = a.levelNoise(t, l)
	if math.IsNaN(t.Reference) {
		return
	}
	a.refuseMovingReference(t, l)
	if t.Why != "" {
		return
	}
	t.Change = t.Now - t.Reference
	if len(tolerances) == 0 || t.Quantity.IsSet() {
		t.Why = noTolerance
		return
	}
	if a.worthALook(t, l, tolerances) {
		a.findOnset(t, l)
		a.forecast(t, l)
	}
	t.Verdict = InTolerance
	for _, tol := range tolerances {
		a.hold(t, tol)
	}
	if t.Verdict == NoData {
		t.Why = "a share of a reference of zero is not known"
	}
	if t.Verdict.Flagged() && t.Basis != rf.Absolute && math.Abs(t.Change) < a.resolution(t)*(1-1e-6) {
		t.Verdict, t.ReachesAct = InTolerance, time.Time{} // less than the reading can tell
	}
}

// resolution returns the smallest step that a logged reading takes, zero for a
// derived one.
func (a *analysis) resolution(t *Trace) float64 {
	ch := a.channel(t.Place, t.Quantity)
	if ch == nil {
		return 0
	}
	var v []float64
	for i, c := range ch.Cells {
		if c.Count > 0 && t.Settled[i] {
			v = append(v, c.Last)
		}
	}
	return zeroIfUnknown(series.Resolution(v))
}

const (
	lookShare = 0.3 // of the drift limit: a smaller change that heads nowhere is not looked into
	lookSlope = 0.5 // of what the act limit allows until the end of the next shift
)

// worthALook tells cheaply whether a trace can have a story: a change of some
// size, or a line through its quarter hours that leads towards the act limit.
func (a *analysis) worthALook(t *Trace, l level, tolerances []rf.Tolerance) bool {
	slope := a.blockSlope(t, l)
	ahead := t.Change + slope*shiftLength.Hours()
	for _, tol := range tolerances {
		if tol.Basis == rf.Absolute || tol.Basis == rf.Ratio {
			return true
		}
		drift, act := tol.DriftLimit, tol.ActLimit
		if tol.Basis == rf.Relative {
			drift, act = drift*math.Abs(t.Reference)/100, act*math.Abs(t.Reference)/100
		}
		if math.Abs(t.Change) > lookShare*drift || math.Abs(ahead) > lookSlope*act {
			return true
		}
	}
	return false
}

// hold judges a trace by one tolerance and keeps the worse verdict.
func (a *analysis) hold(t *Trace, tol rf.Tolerance) {
	judged, noise, reaches := measured(t, tol)
	verdict := Hold(judged, tol.DriftLimit, tol.ActLimit)
	if verdict.Flagged() && tol.Basis != rf.Absolute && math.Abs(t.Change) < significantSigma*noise {
		verdict = InTolerance // scatter alone reaches that far
	}
	if verdict == InTolerance && !reaches.IsZero() && reaches.Before(a.night.End().Add(shiftLength)) {
		verdict = Drifting
	}
	if verdict.Rank() < t.Verdict.Rank() || math.IsNaN(t.Judged) {
		t.Verdict = verdict
		t.Basis, t.DriftLimit, t.ActLimit, t.LimitUnit = tol.Basis, tol.DriftLimit, tol.ActLimit, tol.Unit
		t.Judged = judged
		t.ReachesAct = reaches
	}
}

// Hold compares a value with its limits. A value equal to a limit is inside it;
// a value that is not known gives no verdict.
func Hold(judged, driftLimit, actLimit float64) Verdict {
	size := math.Abs(judged)
	switch {
	case math.IsNaN(judged):
		return NoData
	case size > actLimit*(1+limitSlack):
		return OutOfTolerance
	case size > driftLimit*(1+limitSlack):
		return Drifting
	}
	return InTolerance
}

// measured returns what a tolerance holds against its limits, the noise of the
// change, and when the act limit will be met at the trace's slope.
func measured(t *Trace, tol rf.Tolerance) (judged, noise float64, reaches time.Time) {
	noise = t.Noise
	scale := math.NaN() // of one unit of the trace in the unit of the limits
	switch tol.Basis {
	case rf.Relative:
		scale = 100 / math.Abs(t.Reference)
		judged = t.Change * scale
	case rf.Change:
		scale = 1
		judged = t.Change
	case rf.Absolute:
		scale = 1
		judged = t.Now
	case rf.Ratio:
		scale = 1 / t.Reference
		judged = t.Now / t.Reference
	}
	if math.IsInf(judged, 0) {
		judged = math.NaN()
	}
	slope := t.SlopePerH * scale
	if significantSlope(t) && slope*judged > 0 && math.Abs(judged) < tol.ActLimit {
		hours := (tol.ActLimit - math.Abs(judged)) / math.Abs(slope)
		if hours < 1000 {
			reaches = t.NowAt.Add(time.Duration(hours * float64(time.Hour)))
		}
	}
	return judged, noise, reaches
}

func significantSlope(t *Trace) bool {
	return t.SlopeLow > 0 || t.SlopeHigh < 0
}

// levelNoise returns one sigma of the difference of two levels of the trace,
// from how much its own quarter-hour means move between neighbours. That
// contains the water's cycle, which a scatter between cells would not.
func (a *analysis) levelNoise(t *Trace, l level) float64 {
	_, means := a.blocks(t, l)
	var steps []float64
	for i := 1; i < len(means); i++ {
		if d := means[i] - means[i-1]; !math.IsNaN(d) {
			steps = append(steps, d)
		}
	}
	if len(steps) < 4 {
		return math.NaN()
	}
	// A difference of neighbours has twice the variance of one; the reference is
	// a mean of four blocks.
	return series.RobustScale(steps) / math.Sqrt2 * math.Sqrt(1+0.25)
}

// blockSlope returns the slope per hour of a line through the quarter hours, zero
// where there are too few.
func (a *analysis) blockSlope(t *Trace, l level) float64 {
	hours, means := a.blocks(t, l)
	var h, y []float64
	for i, v := range means {
		if !math.IsNaN(v) {
			h, y = append(h, hours[i]), append(y, v)
		}
	}
	if len(y) < fewestCells {
		return 0
	}
	_, slope := stat.LinearRegression(h, y, nil, false)
	return slope
}

// blocks returns the settled quarter-hour means of a trace and their hours; NaN
// where half a quarter hour or more is missing.
func (a *analysis) blocks(t *Trace, l level) (hours, means []float64) {
	block := a.cellsFor(nowSettled)
	for i := 0; i+block <= len(l.values); i += block {
		sum, n := 0.0, 0
		for j := i; j < i+block; j++ {
			if t.Settled[j] && !math.IsNaN(l.values[j]) {
				sum += l.values[j]
				n++
			}
		}
		mean := math.NaN()
		if 2*n >= block {
			mean = sum / float64(n)
		}
		hours = append(hours, (float64(i)+float64(block)/2)*a.night.Width.Hours())
		means = append(means, mean)
	}
	return hours, means
}

// findOnset says when the change began and whether it came in one step.
func (a *analysis) findOnset(t *Trace, l level) {
	h, y, cells := a.settledSeries(t, l)
	if len(y) < fewestCells {
		return
	}
	at, _, ok := series.Onset(h, y, t.Reference, math.Hypot(t.Noise, cellScatter(y)))
	if !ok {
		return
	}
	fifth, fourFifths := lastBelow(y, t, 0.2, a.cellsFor(crossingSmooth)), lastBelow(y, t, 0.8, a.cellsFor(crossingSmooth))
	switch {
	case fifth < 0 || fourFifths < 0:
	case h[fourFifths]-h[fifth] <= stepWithin.Hours():
		t.Step = true
		at = min((fifth+fourFifths+1)/2, len(y)-1)
	default:
		// A ramp that crossed 20 % and 80 % of its change began a third of that
		// time before the first crossing.
		begin := h[fifth] - (h[fourFifths]-h[fifth])/3
		for at = fifth; at > 0 && h[at-1] >= begin; at-- {
		}
	}
	t.Since = a.night.At(cells[at])
}

// cellScatter returns one sigma of a cell's mean about its neighbours.
func cellScatter(y []float64) float64 { return series.RobustScale(differences(y)) / math.Sqrt2 }

const (
	crossingSmooth = 5 * time.Minute
	stepWithin     = 12 * time.Minute // from a fifth to four fifths of a step
)

// lastBelow returns the last place at which a change had gone less than the given
// share of its way, averaged over some cells; -1 where it never had.
func lastBelow(y []float64, t *Trace, share float64, smooth int) int {
	if t.Change == 0 {
		return -1
	}
	for i := len(y) - 1; i >= 0; i-- {
		from, to := max(0, i-smooth/2), min(len(y), i+smooth/2+1)
		sum := 0.0
		for _, v := range y[from:to] {
			sum += v - t.Reference
		}
		if sum/float64(to-from) < share*t.Change == (t.Change > 0) {
			return i
		}
	}
	return -1
}

// forecast fits the slope since the onset where there is enough to rest on.
func (a *analysis) forecast(t *Trace, l level) {
	h, y, cells := a.settledSeries(t, l)
	from := 0
	for from < len(cells) && !t.Since.IsZero() && a.night.At(cells[from]).Before(t.Since) {
		from++
	}
	if t.Step {
		from++ // the cell of the step itself is a mixture
	}
	if len(y)-from < fewestCells {
		return
	}
	h, y = h[from:], y[from:]
	span := time.Duration((h[len(h)-1] - h[0]) * float64(time.Hour))
	if span < slopeSpan {
		return
	}
	t.CyclePeriod = cyclePeriod(h, y)
	if float64(span) < slopeCycles*float64(t.CyclePeriod) {
		return
	}
	s := series.DriftSlope(h, y)
	t.SlopePerH, t.SlopeLow, t.SlopeHigh = s.PerH, s.Low, s.High
}

// settledSeries returns hours since the night's start, values and cell numbers of
// the settled readings.
func (a *analysis) settledSeries(t *Trace, l level) (h, y []float64, cells []int) {
	for i, v := range l.values {
		if t.Settled[i] && !math.IsNaN(v) {
			h = append(h, (float64(i)+0.5)*a.night.Width.Hours())
			y = append(y, v)
			cells = append(cells, i)
		}
	}
	return h, y, cells
}

func (a *analysis) isAngle(t *Trace) bool {
	info, ok := t.Quantity.Info()
	return ok && info.Form == rf.Angle
}

// unlocked reports whether a logged phase scatters over the circle.
func (a *analysis) unlocked(t *Trace) bool {
	ch := a.channel(t.Place, t.Quantity)
	if ch == nil {
		return false
	}
	var scatter []float64
	for i, c := range ch.Cells {
		if t.Settled[i] && c.Count >= 4 {
			scatter = append(scatter, c.StdDev())
		}
	}
	return len(scatter) >= fewestCells && series.Median(scatter) > lockedScatterDeg
}
