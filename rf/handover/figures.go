package handover

import (
	"html/template"

	"dawncrest/rf"
	"dawncrest/rf/handover/svg"
	"dawncrest/rf/review"
)

// figures draws the charts of one report and remembers which traces were drawn.
type figures struct {
	report *review.Report
	clock  clock
	drawn  map[*review.Trace]bool
}

// figureView is a drawing with the line under it.
type figureView struct {
	Drawing template.HTML
	State   string
	Caption string
}

// mostFigures is how many flagged readings are drawn beyond those of the
// findings; the rest is counted.
const mostFigures = 18

func newFigures(r *review.Report) *figures {
	return &figures{report: r, clock: clockOf(r.Plant), drawn: make(map[*review.Trace]bool)}
}

// of draws the main witness of a finding, nil where it has no trace.
func (f *figures) of(finding review.Finding) (*figureView, error) {
	t := f.report.Trace(finding.Place, finding.Quantity)
	if t == nil || len(t.Mean) == 0 {
		return nil, nil
	}
	f.drawn[t] = true
	view, err := f.trace(t)
	return &view, err
}

// others draws the flagged traces that no finding has drawn: its symptoms.
func (f *figures) others() (sectionView, error) {
	v := sectionView{Key: "traces", Title: "Other readings beyond their limits"}
	left := 0
	for i := range f.report.Traces {
		t := &f.report.Traces[i]
		if !t.Verdict.Flagged() || f.drawn[t] || len(t.Mean) == 0 {
			continue
		}
		if len(v.Figures) == mostFigures {
			left++
			continue
		}
		view, err := f.trace(t)
		if err != nil {
			return v, err
		}
		v.Figures = append(v.Figures, view)
	}
	if left > 0 {
		v.After = []string{"and " + count(left, "reading") + " more."}
	}
	return v, nil
}

func (f *figures) trace(t *review.Trace) (figureView, error) {
	name := clean(t.Place) + " " + quantityWords(t.Quantity)
	low, high := t.ReferenceBand()
	actLow, actHigh := t.ActBand()
	since := -1
	if !t.Since.IsZero() && f.report.CellWidth > 0 {
		since = int(t.Since.Sub(f.report.CellStart) / f.report.CellWidth)
	}
	drawing, err := svg.Trace{
		Title: name + " over the night", Mean: t.Mean, Min: t.Min, Max: t.Max, Counts: t.Settled,
		Reference: t.Reference, Low: low, High: high, ActLow: actLow, ActHigh: actHigh, Since: since,
		From: f.clock.At(f.report.CellStart), To: f.clock.At(f.report.At(len(t.Mean))),
		Label: func(v float64) string { return trimmed(number(v, fine)) },
	}.Draw()
	return figureView{Drawing: drawing, State: stateOf(t.Verdict), Caption: traceCaption(name, t)}, err
}

func traceCaption(name string, t *review.Trace) string {
	text := name + ": now " + withUnit(trimmed(number(t.Now, fine)), t.Unit) + ", reference " + withUnit(trimmed(number(t.Reference, fine)), t.Unit)
	if rf.Known(t.DriftLimit) && t.DriftLimit != 0 {
		text += ", drift limit " + withUnit(trimmed(number(t.DriftLimit, coarse)), t.LimitUnit) + ", act limit " + withUnit(trimmed(number(t.ActLimit, coarse)), t.LimitUnit)
	}
	return text
}

// linac draws the energy line, or nothing where there is no station.
func (f *figures) linac() (template.HTML, error) {
	r := f.report
	if len(r.Stations) == 0 || r.Plant == nil {
		return "", nil
	}
	l := svg.Linac{
		Title: "Energy along the linac, now and in the reference, and the change of each station's gain",
		Unit:  "MeV", Start: mev(r.Plant.InjectionEnergy),
		Label: func(v float64) string { return trimmed(number(v, fine)) },
	}
	for _, s := range r.Stations {
		one := svg.LinacStation{
			Name: clean(s.Station), Gain: mev(s.GainCounted()), Before: mev(s.GainReference), State: stateOf(s.Verdict), Mark: stationMark(s),
		}
		if station, ok := r.Plant.Station(s.Station); ok && station.Spare {
			one.Gain, one.Before = 0, 0 // it adds nothing, and the line goes on behind it
		}
		for _, p := range r.Waypoints {
			if p.AfterStation == s.Station {
				one.Waypoint, one.Required = clean(p.Waypoint), mev(p.Required)
				one.Short = p.Verdict == review.OutOfTolerance
			}
		}
		l.Stations = append(l.Stations, one)
	}
	return l.Draw()
}

// stationMark is the sign of a station's verdict; one in tolerance has none.
func stationMark(s review.StationResult) string {
	if s.Verdict == review.InTolerance {
		return ""
	}
	return mark(review.Finding{Verdict: s.Verdict, Change: mev(s.Gain - s.GainReference)})
}
