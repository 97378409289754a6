package tui

import (
	"math"
	"slices"
	"strings"
	"time"

	"github.com/charmbracelet/lipgloss"

	"dawncrest/rf"
	"dawncrest/rf/review"
	"dawncrest/tui/chart"
)

// stationColumns are the widths of the columns that share what the others leave.
func stationColumns(d data, width int) (drift, trace int) {
	rest := width - 3 - placeWidth(d) - 1 - 17 - 8 - 7 - 2 - 1
	drift = min(max(rest*2/3, 10), 44)
	return drift, max(rest-drift, 4)
}

func stationHeading(d data, l look, width int) string {
	drift, trace := stationColumns(d, width)
	return l.left("   "+l.left("station", placeWidth(d)+1)+l.left("verdict", 17)+l.right("MeV", 8)+l.right("change", 7)+"  "+
		l.left("worst drift", drift)+" "+l.left("the night", trace), width)
}

// strip shows every station as its mark, in beam order: a linac that is longer
// than the screen is still taken in at a glance.
func strip(d data, l look) string {
	var b strings.Builder
	for _, s := range d.report.Stations {
		b.WriteString(l.marks.verdict(s.Verdict, stationToward(d, s)))
	}
	return b.String()
}

func stationToward(d data, s review.StationResult) float64 {
	if t := d.places.worst[s.Station]; t != nil && t.Verdict == s.Verdict {
		return towardOf(s.Verdict, t.Change, t.SlopePerH)
	}
	return math.NaN()
}

// stationLine draws a station as one row.
func stationLine(d data, l look, s review.StationResult, here bool, width int) string {
	driftWidth, trace := stationColumns(d, width)
	change := notKnown
	if rf.Known(s.Gain) && rf.Known(s.GainReference) {
		change = signedMeV(s.Gain - s.GainReference)
	}
	gain := megaelectronvolts(s.Gain)
	if s.GainHeld {
		gain = "(" + megaelectronvolts(s.GainCounted()) + ")"
	}
	look := l.styles.verdict(s.Verdict)
	line := look.Render(l.pointer(here) + l.marks.verdict(s.Verdict, stationToward(d, s)) + " " + l.left(s.Station, placeWidth(d)) + " " +
		l.left(s.Verdict.Words(), 17) + l.right(gain, 8) + l.right(change, 7) + "  ")
	drift := l.left(worstDrift(d, s.Station), driftWidth)
	if !s.Verdict.Flagged() {
		look = l.styles.faint
	}
	return line + look.Render(drift) + " " + nightSpark(d, l, s.Station, trace)
}

// worstDrift tells by how much a station's worst reading moved, and which it is.
func worstDrift(d data, station string) string {
	t := d.places.worst[station]
	if t == nil {
		return ""
	}
	name := title(t.Quantity)
	if t.Place != station {
		name = t.Place + " " + name
	}
	amount := judgedWords(t)
	if lipgloss.Width(amount) < 9 {
		amount = strings.Repeat(" ", 9-lipgloss.Width(amount)) + amount
	}
	return amount + " " + name
}

// tripsShown is the longest time in one column of a small trace in which single
// readings are drawn: over more, there is a trip in every column.
const tripsShown = 6 * time.Hour

// nightSpark draws the trace that tells best how a place's night went, within
// its limits: energy gain, power, else what moved most or comes first.
func nightSpark(d data, l look, place string, width int) string {
	t := telling(d, place)
	if t == nil {
		return strings.Repeat(" ", max(width, 0))
	}
	series := chart.Series{Mean: inWindow(d.coarse(), t.Mean)}
	if column := time.Duration(len(series.Mean)/max(width, 1)) * d.report.CellWidth; column <= tripsShown {
		series.Min, series.Max = inWindow(d.coarse(), t.Min), inWindow(d.coarse(), t.Max)
	}
	low, high := t.ActBand()
	scale := chart.Scale{Low: low, High: high}
	if !scale.Known() {
		scale = chart.CalmScale(series.Mean)
	}
	return chart.Spark(series, scale, width, l.ascii)
}

func telling(d data, place string) *review.Trace {
	var traces []*review.Trace
	for _, q := range []rf.Quantity{rf.EnergyGain, rf.CompressedPower, rf.ForwardPower, rf.BeamVoltage} {
		traces = append(traces, d.places.trace(place, q))
	}
	traces = append(append(traces, worstOf(d.places.traces[place])), d.places.traces[place]...)
	for _, t := range present(traces) {
		if !t.Quantity.IsSet() && slices.ContainsFunc(t.Mean, rf.Known[float64]) {
			return t
		}
	}
	return nil
}

// title returns a quantity in words.
func title(q rf.Quantity) string {
	if info, ok := q.Info(); ok {
		if q.IsSet() {
			return info.Title + ", set"
		}
		return info.Title
	}
	return string(q)
}
