package tui

import (
	"math"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"

	"dawncrest/rf"
	"dawncrest/rf/review"
	"dawncrest/rf/series"
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
	head := readOut(d, t, t.Place+" "+title(t.Quantity), width)
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

// readOut writes behind a head what a trace reads under the cursor: when, over what
// time where that is not the report's cell, and how far from the reference. Where
// that is too wide the extremes are left out.
func readOut(d data, t *review.Trace, head string, width int) string {
	at := d.window.grid.at(d.window.at)
	c := d.cellAt(t, d.window.at)
	head += "  " + d.instant(at)
	switch {
	case d.awaited:
		head += ", reading the log again"
	case !d.window.grid.same(gridOf(d.report)):
		head += " over " + series.ShortSpan(c.over)
	}
	if math.IsNaN(c.mean) {
		return head + "  no reading"
	}
	head += "  " + inUnit(c.mean, t.Unit)
	extremes, rest := "", ""
	if c.min < c.max {
		digits := decimalsOf(t.Unit)
		extremes = " (" + number(c.min, digits) + " to " + number(c.max, digits) + ")"
	}
	if !math.IsNaN(t.Reference) {
		rest = "  " + changeWords(t, c.mean) + " from the reference"
	}
	if i := gridOf(d.report).index(at); i >= 0 && i < len(t.Settled) && !t.Settled[i] {
		rest += "  not settled"
	}
	if whole := head + extremes + rest; lipgloss.Width(whole) <= width {
		return whole
	}
	return head + rest
}

// changeWords writes how far a value lies from the reference, as its limits
// count it.
func changeWords(t *review.Trace, v float64) string {
	if t.Basis == rf.Relative && t.Reference != 0 {
		return withUnit(signed(100*(v-t.Reference)/math.Abs(t.Reference), 1), "%")
	}
	return signedIn(v-t.Reference, t.Unit)
}
