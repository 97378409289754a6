package review

import (
	"fmt"
	"math"
	"sort"
	"time"

	"dawncrest/rf"
)

const (
	slowShare   = 0.3 // of the drift limit that a slow mover has gone
	slowAhead   = 24 * time.Hour
	mostMovers  = 8
	noisyFactor = 0.5 // of the drift limit that cells scatter
)

// tellSlowMovers notes the readings that are in tolerance and move all the same,
// steadily and towards their drift limit, and those so noisy that a drift would
// not be seen: nothing is flagged by it.
func (a *analysis) tellSlowMovers() {
	type mover struct {
		text string
		gone float64 // share of the drift limit
	}
	var movers []mover
	for i := range a.report.Traces {
		t := &a.report.Traces[i]
		if t.Verdict != InTolerance || t.Derived || t.DriftLimit <= 0 || t.Basis == rf.Ratio || t.Basis == rf.Absolute || t.Change == 0 || a.explainedAt(key{t.Place, t.Quantity}) {
			continue
		}
		info, _ := t.Quantity.Info()
		gone := math.Abs(t.Judged) / t.DriftLimit
		perH := t.SlopePerH * t.Judged / t.Change // in the unit of the limits
		left := (t.DriftLimit - math.Abs(t.Judged)) / math.Abs(perH)
		if !significantSlope(t) || gone < slowShare || perH*t.Judged <= 0 || !(left < slowAhead.Hours()) {
			continue
		}
		at := t.NowAt.Add(time.Duration(left * float64(time.Hour)))
		movers = append(movers, mover{fmt.Sprintf("in tolerance but moving: %s %s by %s an hour (95 %%: %s to %s), at its drift limit by %s",
			t.Place, info.Title, signed(t.SlopePerH, changeUnit(t)), number(t.SlopeLow), number(t.SlopeHigh), a.clock(at)), gone})
	}
	sort.SliceStable(movers, func(i, j int) bool { return movers[i].gone > movers[j].gone })
	for _, m := range movers[:min(len(movers), mostMovers)] {
		a.report.Notices = append(a.report.Notices, m.text)
	}
}

// roughScatter is one sigma of a settled cell's mean about its neighbours, outliers
// and all: never much below the robust one, and cheap.
func roughScatter(t *Trace) float64 {
	sum, n := 0.0, 0.0
	for i := 1; i < len(t.Mean); i++ {
		if d := t.Mean[i] - t.Mean[i-1]; t.Settled[i] && t.Settled[i-1] && !math.IsNaN(d) {
			sum += d * d
			n++
		}
	}
	if n == 0 {
		return 0
	}
	return math.Sqrt(sum / n / 2)
}

// tellNoisy notes the readings whose scatter hides a drift of the size that
// matters.
func (a *analysis) tellNoisy() {
	for i := range a.report.Traces {
		t := &a.report.Traces[i]
		if t.Verdict == NoData || t.Derived {
			continue
		}
		limit := a.driftLimit(t.Place, t.Quantity, t.Reference)
		if roughScatter(t) < noisyFactor*limit {
			continue // the robust scatter is smaller still
		}
		if scatter := cellScatter(t.Mean); scatter > noisyFactor*limit {
			info, _ := t.Quantity.Info()
			a.report.Notices = append(a.report.Notices, fmt.Sprintf("noisy: %s %s scatters by %s from cell to cell, its drift limit is %s",
				t.Place, info.Title, withUnit(scatter, changeUnit(t)), withUnit(limit, changeUnit(t))))
		}
	}
}

// explainedAt reports whether an accepted cause moved a reading.
func (a *analysis) explainedAt(k key) bool {
	for _, x := range a.accepted {
		if _, ok := x.claims[k]; ok {
			return true
		}
	}
	return false
}
