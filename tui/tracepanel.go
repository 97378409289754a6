package tui

import (
	"math"
	"time"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"dawncrest/rf"
	"dawncrest/rf/review"
	"dawncrest/tui/chart"
)

// pressed answers the keys of the time window, which mean the same on every
// trace.
func (w window) pressed(msg tea.KeyMsg) (window, bool) {
	const zoom = 2
	switch {
	case key.Matches(msg, keys.earlier):
		return w.moved(-1), true
	case key.Matches(msg, keys.later):
		return w.moved(1), true
	case key.Matches(msg, keys.narrower):
		return w.zoomed(1.0 / zoom), true
	case key.Matches(msg, keys.wider):
		return w.zoomed(zoom), true
	case key.Matches(msg, keys.panBack):
		return w.panned(-1), true
	case key.Matches(msg, keys.panOn):
		return w.panned(1), true
	case key.Matches(msg, keys.whole):
		whole := wholeNight(w.cells)
		whole.at = w.at
		return whole, true
	}
	return w, false
}

// tracePanel draws a trace over the window under a line that reads it out at the
// cursor.
func tracePanel(d data, l look, t *review.Trace, width, height int) []string {
	if height < 2 {
		return nil
	}
	var second []float64
	if set := d.places.trace(t.Place, t.Quantity.Set()); set != nil && set != t {
		second = inWindow(d.window, set.Mean)
	}
	plot := tracePlot(d, l, t, width, height-1)
	plot.Second = second
	head := t.Place + " " + title(t.Quantity) + "  " + readOut(d, l, t)
	return append([]string{l.styles.heading.Render(l.left(head, width))}, plot.Lines()...)
}

func tracePlot(d data, l look, t *review.Trace, width, height int) chart.Plot {
	from, to := d.window.times(d.report.CellStart, d.report.CellWidth)
	driftLow, driftUp := t.ReferenceBand()
	actLow, actUp := t.ActBand()
	return chart.Plot{
		Width: width, Height: height, ASCII: l.ascii, Styles: l.styles.chart, Unit: axisUnit(t.Unit),
		Series:   chart.Series{Mean: inWindow(d.window, t.Mean), Min: inWindow(d.window, t.Min), Max: inWindow(d.window, t.Max)},
		MarkFrom: d.report.Reference.From, MarkTo: d.report.Reference.To,
		Limits: chart.Limits{Reference: t.Reference, DriftLow: driftLow, DriftUp: driftUp, ActLow: actLow, ActUp: actUp},
		From:   from, To: to, Zone: d.zone, Cursor: d.window.at - d.window.from,
		Close: d.window.span() < d.window.cells,
	}
}

// axisUnit is a unit as it stands at an axis: a pure ratio has none.
func axisUnit(unit string) string {
	if unit == "1" {
		return ""
	}
	return unit
}

// readOut writes what a trace reads under the cursor.
func readOut(d data, l look, t *review.Trace) string {
	i := d.window.at
	at := d.report.CellStart.Add(time.Duration(i) * d.report.CellWidth)
	words := d.moment(at) + "  "
	switch {
	case i < 0 || i >= len(t.Mean) || math.IsNaN(t.Mean[i]):
		return words + "no reading"
	case i < len(t.Min) && i < len(t.Max) && t.Min[i] < t.Max[i]:
		digits := decimalsOf(t.Unit)
		words += inUnit(t.Mean[i], t.Unit) + " (" + number(t.Min[i], digits) + " to " + number(t.Max[i], digits) + ")"
	default:
		words += inUnit(t.Mean[i], t.Unit)
	}
	if !math.IsNaN(t.Reference) {
		words += "  " + changeWords(t, t.Mean[i]) + " from the reference"
	}
	if i < len(t.Settled) && !t.Settled[i] {
		words += "  not settled"
	}
	return words
}

// changeWords writes how far a value lies from the reference, as its limits
// count it.
func changeWords(t *review.Trace, v float64) string {
	if t.Basis == rf.Relative && t.Reference != 0 {
		return withUnit(signed(100*(v-t.Reference)/math.Abs(t.Reference), 1), "%")
	}
	return signedIn(v-t.Reference, t.Unit)
}
