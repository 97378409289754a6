package review

import (
	"fmt"
	"math"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

const (
	referenceSettled = time.Hour        // settled time that makes a reference
	referenceWithin  = 2 * time.Hour    // of the log's start
	nowSettled       = 15 * time.Minute // settled time that makes "now"
	fewestCells      = 8                // settled cells below which nothing is judged
	fewestWide       = 3                // the same where a cell is longer than these times: a log of weeks
)

// Levels are reference levels carried over from an accepted handover.
type Levels struct {
	From, To time.Time // the span they were taken over
	Values   map[string]map[rf.Quantity]float64
}

// cellsFor returns how many cells make up a stretch of time, at least one.
func (a *analysis) cellsFor(d time.Duration) int {
	return max(1, int(math.Round(float64(d)/float64(a.night.Width))))
}

// cellsJudged returns how many cells a level is taken from that is to stand for a
// stretch of time: some at least, where they are wide.
func (a *analysis) cellsJudged(d time.Duration) int { return max(a.cellsFor(d), fewestWide) }

// referenceCells returns the cells of a trace that its reference is taken from:
// those of the given span, else the first settled hour, or the first settled cells
// where they are wide.
func (a *analysis) referenceCells(t *Trace) []int {
	most := a.cellsJudged(referenceSettled)
	from, to := 0, min(max(a.cellsFor(referenceWithin), 2*most), a.night.Cells)
	if s := a.options.ReferenceSpan; s != nil {
		from, to, most = max(0, a.night.Index(s.From)), min(a.night.Cells, a.night.Index(s.To)), a.night.Cells
	}
	var cells []int
	for i := from; i < to && len(cells) < most; i++ {
		if t.Settled[i] && !math.IsNaN(t.Mean[i]) {
			cells = append(cells, i)
		}
	}
	return cells
}

// nowCells returns the last settled quarter hour of a trace, or its last cells
// where they are wide.
func (a *analysis) nowCells(t *Trace) []int {
	most := a.cellsJudged(nowSettled)
	cells := make([]int, 0, most)
	for i := a.night.Cells - 1; i >= 0 && len(cells) < most; i-- {
		if t.Settled[i] && !math.IsNaN(t.Mean[i]) {
			cells = append(cells, i)
		}
	}
	return cells
}

// setReference puts the reference level into a trace, or says why there is none.
func (a *analysis) setReference(t *Trace, l level) {
	t.Reference, t.Stepped = math.NaN(), l.stepped
	if given := a.options.Levels; given != nil {
		if v, ok := given.Values[t.Place][t.Quantity]; ok {
			t.Reference = v + l.stepped
			if a.isAngle(t) {
				t.Reference += 360 * math.Round((series.Median(l.values)-t.Reference)/360)
			}
			return
		}
	}
	cells := a.referenceCells(t)
	need := min(fewestCells, a.cellsJudged(referenceSettled))
	if len(cells) < need {
		t.Why = fmt.Sprintf("only %d settled cells in the reference, %d are needed", len(cells), need)
		return
	}
	t.Reference = series.Mean(pickFrom(l.values, cells))
}

// refuseMovingReference takes the reference back where it moved by more than the
// drift limit while it was taken.
func (a *analysis) refuseMovingReference(t *Trace, l level) {
	if a.options.Levels != nil || math.IsNaN(t.Reference) || t.Basis == rf.Absolute {
		return
	}
	cells := a.referenceCells(t)
	third := len(cells) / 3
	if third < 2 {
		return
	}
	first, last := series.Mean(pickFrom(l.values, cells[:third])), series.Mean(pickFrom(l.values, cells[len(cells)-third:]))
	// From the middle of the first third to the middle of the last are two
	// thirds of the span.
	moved := math.Abs(last-first) * 1.5
	low, high := t.ReferenceBand()
	half := (high - low) / 2
	if math.IsNaN(half) || moved <= half || moved < 4*t.Noise {
		return
	}
	t.Why = fmt.Sprintf("the reference itself moved by %.3g %s while it was taken", moved, t.Unit)
}

// otherRate is the relative change of repetition rate that makes another mode.
const otherRate = 0.02

// heated are the readings that move with the average power.
func heated(q rf.Quantity) bool {
	switch q {
	case rf.BodyTemperature, rf.ReturnTemperature, rf.PhaseAdvance, rf.OutputPhase, rf.CavityPhase, rf.CompressorTemperature, rf.CompressorPhase:
		return true
	}
	return false
}

// otherMode says where the set values of a station are not those of the reference
// that was handed on: its readings then stand for another mode of running.
func (a *analysis) otherMode(t *Trace) string {
	given, station := a.options.Levels, a.stationOf(t.Place)
	if given == nil || station == "" {
		return ""
	}
	rate := a.trace(rf.MachinePlace, rf.RepetitionRate)
	was, ok := given.Values[rf.MachinePlace][rf.RepetitionRate]
	if ok && rate != nil && heated(t.Quantity) {
		if is := series.Median(rate.Mean); math.Abs(is/was-1) > otherRate {
			return fmt.Sprintf("another mode than in the reference: %s pulses a second instead of %s", number(is), number(was))
		}
	}
	for _, q := range adjustable {
		set := a.channel(station, q.Set())
		was, ok := given.Values[station][q.Set()]
		if set == nil || !ok || !follows(t.Quantity, q) {
			continue
		}
		is := math.NaN()
		for _, c := range set.Cells {
			if c.Count > 0 {
				is = c.Last
				break
			}
		}
		if d := is - was; math.Abs(d) > setStepShare*a.driftLimit(station, q, was) {
			info, _ := q.InfoAt(rf.OfStation)
			return fmt.Sprintf("another mode than in the reference: %s set %s instead of %s", info.Title, withUnit(is, info.Unit), withUnit(was, info.Unit))
		}
	}
	return ""
}

// describeReference says in the report what drift was measured from.
func (a *analysis) describeReference() {
	ref := Reference{Kind: "first settled hour"}
	switch {
	case a.options.Levels != nil:
		ref = Reference{Kind: "accepted handover", From: a.options.Levels.From, To: a.options.Levels.To}
	case a.options.ReferenceSpan != nil:
		ref.Kind = "given span"
	case a.cellsFor(referenceSettled) < fewestWide:
		ref.Kind = fmt.Sprintf("first %d settled cells", fewestWide)
	}
	if a.options.Levels == nil {
		least := math.MaxInt
		for i := range a.report.Traces {
			t := &a.report.Traces[i]
			cells := a.referenceCells(t)
			if len(cells) == 0 || math.IsNaN(t.Reference) {
				continue
			}
			from, to := a.night.At(cells[0]), a.night.At(cells[len(cells)-1]+1)
			if ref.From.IsZero() || from.Before(ref.From) {
				ref.From = from
			}
			if to.After(ref.To) {
				ref.To = to
			}
			least = min(least, len(cells))
		}
		if least != math.MaxInt {
			ref.Settled = time.Duration(least) * a.night.Width
		}
		if ref.Settled < referenceSettled && a.options.ReferenceSpan == nil {
			ref.Note = fmt.Sprintf("some places have only %d settled minutes in it", int(ref.Settled.Minutes()))
		}
	}
	a.report.Reference = ref
}
