package tui

import (
	"context"
	"math"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"dawncrest/rf"
	"dawncrest/rf/review"
	"dawncrest/tui/chart"
)

// CloseUp is a short span of the log in finer cells than those of the report.
type CloseUp struct {
	Start  time.Time // of the first cell
	Width  time.Duration
	Cells  int
	Traces []review.Trace
}

// closeUp is a close-up as the screens use it.
type closeUp struct {
	grid
	from, to time.Time // what was read; no row stands in it outside the cells
	cells    int
	traces   map[traceName]*review.Trace
}

// read reports whether the log was read again for an instant.
func (c closeUp) read(t time.Time) bool { return !t.Before(c.from) && t.Before(c.to) }

type traceName struct {
	place    string
	quantity rf.Quantity
}

// asked is the span that was last asked for.
type asked struct {
	from, to time.Time
	cancel   context.CancelFunc // of the reading; nil: nothing was asked
}

func (a asked) holds(w window) bool {
	from, to := w.times()
	return a.cancel != nil && !from.Before(a.from) && !to.After(a.to)
}

// closeUpMsg is a close-up that was asked for, or why there is none.
type closeUpMsg struct {
	asked   asked
	closeUp CloseUp
	err     error
}

const (
	coarseCells  = 24  // a window of fewer of the report's cells is read again
	closeUpCells = 600 // of a close-up, which is twice as long as its window
)

// looked shows a window. One in which the cells are too wide to tell much is read
// again from the log, and shown in the cells at hand until that is there.
func (m Model) looked(w window) (Model, tea.Cmd) {
	night := gridOf(m.data.report)
	if from, to := w.times(); m.source.CloseUp == nil || to.Sub(from) >= coarseCells*night.width {
		m.data.window, m.data.closeUp, m.data.awaited = w.onto(night), closeUp{}, false
		m.asked.stop()
		m.asked = asked{}
		return m, nil
	}
	m.data.window = w
	if m.asked.holds(w) && (w.span() >= coarseCells || !w.grid.same(m.data.closeUp.grid)) {
		return m, nil
	}
	return m.askCloser(w)
}

// lookedOn shows the window of a log that has grown. A close-up of its end stays until
// the new rows are read too.
func (m Model) lookedOn() (Model, tea.Cmd) {
	w := m.data.window
	if !w.grid.same(m.data.closeUp.grid) {
		return m.looked(w.goesOn(gridOf(m.data.report)))
	}
	grown := w.grid.over(m.data.report)
	if w.to < w.last {
		return m.looked(w.onto(grown))
	}
	m.asked.stop()
	m.asked = asked{}
	m, again := m.askCloser(w.goesOn(grown))
	m.data.awaited = false // what is shown is only a little old
	return m, again
}

func (a asked) stop() {
	if a.cancel != nil {
		a.cancel()
	}
}

// askCloser reads a window again, with half of its length on either side.
func (m Model) askCloser(w window) (Model, tea.Cmd) {
	from, to := w.times()
	beside := to.Sub(from) / 2
	next := asked{from: from.Add(-beside), to: to.Add(beside)}
	if next.from.Equal(m.asked.from) && next.to.Equal(m.asked.to) {
		return m, nil
	}
	m.asked.stop()
	var ctx context.Context
	ctx, next.cancel = context.WithCancel(m.loading.ctx)
	m.asked, m.data.awaited = next, true
	read := m.source.CloseUp
	return m, guarded(func() tea.Msg {
		defer next.cancel()
		c, err := read(ctx, next.from, next.to, closeUpCells)
		return closeUpMsg{next, c, err}
	})
}

// lookedCloser takes a close-up over.
func (m Model) lookedCloser(msg closeUpMsg) (tea.Model, tea.Cmd) {
	if m.leaving || !msg.asked.from.Equal(m.asked.from) || !msg.asked.to.Equal(m.asked.to) {
		return m, nil // it is no longer asked for
	}
	m.data.awaited = false
	if msg.err != nil {
		m.asked = asked{}
		m.data.outcome = "not read again: " + clean(msg.err.Error())
		return m, nil
	}
	c := closeUp{grid: grid{start: msg.closeUp.Start, width: msg.closeUp.Width}, from: msg.asked.from, to: msg.asked.to, cells: msg.closeUp.Cells, traces: map[traceName]*review.Trace{}}
	c.grid = c.grid.over(m.data.report)
	for i := range msg.closeUp.Traces {
		t := &msg.closeUp.Traces[i]
		c.traces[traceName{t.Place, t.Quantity}] = t
	}
	m.data.closeUp = c
	w := m.data.window.goesOn(c.grid)
	if !m.asked.holds(w) {
		return m.looked(w)
	}
	m.data.window = w
	return m, nil
}

// coarse returns the window in the report's cells.
func (d data) coarse() window { return d.window.onto(gridOf(d.report)) }

// cell is what a trace reads over some time.
type cell struct {
	mean, min, max float64
	over           time.Duration
}

// cellAt returns what a trace reads in a cell of the window's grid: in the close-up
// where that has the cell, else in the report's cell of that time.
func (d data) cellAt(t *review.Trace, i int) cell {
	at := d.window.grid.at(i)
	fine := d.closeUp.traces[traceName{t.Place, t.Quantity}]
	if !d.window.grid.same(d.closeUp.grid) {
		fine = nil
	}
	switch {
	case fine != nil && i >= 0 && i < d.closeUp.cells:
		c := cell{fine.Mean[i], fine.Min[i], fine.Max[i], d.closeUp.width}
		if info, known := t.Quantity.Info(); known && info.Form == rf.Angle {
			turn := 360 * math.Round((nearestMean(t, gridOf(d.report).index(at))-c.mean)/360)
			if !math.IsNaN(turn) {
				c.mean, c.min, c.max = c.mean+turn, c.min+turn, c.max+turn
			}
		}
		return c
	case fine != nil && d.closeUp.read(at):
		return cell{math.NaN(), math.NaN(), math.NaN(), d.closeUp.width}
	}
	c := cell{math.NaN(), math.NaN(), math.NaN(), d.report.CellWidth}
	if i = gridOf(d.report).index(at); i >= 0 && i < len(t.Mean) {
		c.mean = t.Mean[i]
	}
	if i >= 0 && i < len(t.Min) && i < len(t.Max) {
		c.min, c.max = t.Min[i], t.Max[i]
	}
	return c
}

// nearestMean returns the mean of a trace in a cell, or in the nearest one that has
// a reading.
func nearestMean(t *review.Trace, i int) float64 {
	for beside := range t.Mean {
		for _, at := range []int{i - beside, i + beside} {
			if at >= 0 && at < len(t.Mean) && !math.IsNaN(t.Mean[at]) {
				return t.Mean[at]
			}
		}
	}
	return math.NaN()
}

// drawn returns a trace in the cells of the window. In a close-up a reading that
// comes a little late leaves a cell empty and falls into the next one: the one
// before stands for it.
func (d data) drawn(t *review.Trace) chart.Series {
	if w := d.window; w.grid.same(gridOf(d.report)) {
		return chart.Series{Mean: inWindow(w, t.Mean), Min: inWindow(w, t.Min), Max: inWindow(w, t.Max)}
	}
	n := d.window.span()
	s := chart.Series{Mean: make([]float64, n), Min: make([]float64, n), Max: make([]float64, n)}
	for i := range n {
		c := d.cellAt(t, d.window.from+i)
		s.Mean[i], s.Min[i], s.Max[i] = c.mean, c.min, c.max
	}
	if !d.window.grid.same(d.closeUp.grid) {
		return s
	}
	for i := 1; i+1 < n; i++ {
		if math.IsNaN(s.Mean[i]) && !math.IsNaN(s.Mean[i+1]) {
			s.Mean[i], s.Min[i], s.Max[i] = s.Mean[i-1], s.Min[i-1], s.Max[i-1]
		}
	}
	return s
}

// inCells returns values of the report's cells in the cells of the window.
func (d data) inCells(values []float64) []float64 {
	out := make([]float64, d.window.span())
	for i := range out {
		out[i] = math.NaN()
		if at := gridOf(d.report).index(d.window.grid.at(d.window.from + i)); at >= 0 && at < len(values) {
			out[i] = values[at]
		}
	}
	return out
}
