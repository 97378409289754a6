package tui

import (
	"math"

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
		whole := wholeNight(w.grid)
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
		second = d.drawn(set).Mean
	}
	plot := tracePlot(d, l, t, width, height-1)
	plot.Second = second
	head := t.Place + " " + title(t.Quantity) + "  " + readOut(d, l, t) + d.closeness()
	return append([]string{l.styles.heading.Render(l.left(head, width))}, plot.Lines()...)
}

func tracePlot(d data, l look, t *review.Trace, width, height int) chart.Plot {
	from, to := d.window.times()
	driftLow, driftUp := t.ReferenceBand()
	actLow, actUp := t.ActBand()
	return chart.Plot{
		Width: width, Height: height, ASCII: l.ascii, Styles: l.styles.chart, Unit: axisUnit(t.Unit),
		Series:   d.drawn(t),
		MarkFrom: d.report.Reference.From, MarkTo: d.report.Reference.To,
		Limits: chart.Limits{Reference: t.Reference, DriftLow: driftLow, DriftUp: driftUp, ActLow: actLow, ActUp: actUp},
		From:   from, To: to, Zone: d.zone, Cursor: d.window.at - d.window.from,
		Close: from.After(d.report.CellStart) || to.Before(gridOf(d.report).at(d.report.Cells)),
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
	at := d.window.grid.at(d.window.at)
	words := d.instant(at) + "  "
	c := d.cellAt(t, d.window.at)
	switch {
	case math.IsNaN(c.mean):
		return words + "no reading"
	case c.min < c.max:
		digits := decimalsOf(t.Unit)
		words += inUnit(c.mean, t.Unit) + " (" + number(c.min, digits) + " to " + number(c.max, digits) + ")"
	default:
		words += inUnit(c.mean, t.Unit)
	}
	if !math.IsNaN(t.Reference) {
		words += "  " + changeWords(t, c.mean) + " from the reference"
	}
	if i := gridOf(d.report).index(at); i >= 0 && i < len(t.Settled) && !t.Settled[i] {
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
