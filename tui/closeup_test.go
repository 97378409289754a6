package tui

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

// closeUpOf reads a report again in cells of whole seconds, each trace 100 of its
// unit above what the report says.
func closeUpOf(r *review.Report) func(context.Context, time.Time, time.Time, int) (CloseUp, error) {
	return func(ctx context.Context, from, to time.Time, cells int) (CloseUp, error) {
		if from.Before(r.CellStart) {
			from = r.CellStart
		}
		if to.After(r.To) {
			to = r.To
		}
		c := CloseUp{Start: from.Truncate(time.Second), Width: (to.Sub(from)/time.Duration(cells) + time.Second - 1).Truncate(time.Second)}
		c.Width = max(c.Width, time.Second)
		c.Cells = int(to.Sub(c.Start) / c.Width)
		for _, t := range r.Traces {
			close := review.Trace{Place: t.Place, Quantity: t.Quantity, Unit: t.Unit}
			for i := range c.Cells {
				v := math.NaN()
				if at := gridOf(r).index(c.Start.Add(time.Duration(i) * c.Width)); at >= 0 && at < len(t.Mean) {
					v = t.Mean[at] + 100
				}
				close.Mean, close.Min, close.Max = append(close.Mean, v), append(close.Min, v-1), append(close.Max, v+1)
			}
			c.Traces = append(c.Traces, close)
		}
		return c, ctx.Err()
	}
}

// under returns what is read of a quantity under the cursor.
func (m Model) under(place string, q rf.Quantity) cell {
	return m.data.cellAt(m.data.places.trace(place, q), m.data.window.at)
}

func TestShortWindowIsReadAgain(t *testing.T) {
	m := press(opened(fixture(), Options{}, 100, 30), "2", "+", "+", "+", "+")
	if !m.data.window.same(gridOf(m.data.report)) || m.data.window.span() != 45 {
		t.Fatalf("the window is %+v before it is short", m.data.window)
	}
	coarse := m.under("S01", rf.BeamVoltage).mean
	m = press(m, "+")
	if w := m.data.window; w.width != 4*time.Second || w.span() != 22*15 || fixtureAt(fixtureCells-1).Add(30*time.Second).Sub(w.cursor()) >= w.width {
		t.Fatalf("the window is %+v, its cursor at %s", w, w.cursor())
	}
	if c := m.under("S01", rf.BeamVoltage); c.mean != coarse+100 || c.min != coarse+99 || c.max != coarse+101 {
		t.Errorf("reads %+v, the report %g", c, coarse)
	}
	if frame := m.View(); !strings.Contains(frame, " over 4s  ") {
		t.Errorf("the cells are not told:\n%s", frame)
	}
	for range 8 {
		m = press(m, "+")
	}
	if w := m.data.window; w.width != time.Second || w.span() != narrowest {
		t.Errorf("the shortest window is %+v", w)
	}
	if frame := m.View(); !strings.Contains(frame, "05:59:") {
		t.Errorf("no seconds in\n%s", frame)
	}
	for range 14 {
		m = press(m, "-")
	}
	if w := m.data.window; w.width != time.Minute || w.from != 0 || w.to != fixtureCells {
		t.Errorf("the longest window is %+v", w)
	}
	if m.data.closeUp.cells != 0 {
		t.Error("the close-up is kept where it is not shown")
	}
}

// cursor is the instant under the cursor.
func (w window) cursor() time.Time { return w.grid.at(w.at) }

// A window that is moved off what was read is read again there; what is missing
// until then is drawn from the report.
func TestCloseUpMovesOn(t *testing.T) {
	m := press(opened(fixture(), Options{}, 100, 30), "2", "+++++")
	for range 6 {
		m = press(m, "[")
		from, to := m.data.window.times()
		c := m.data.closeUp
		if !m.data.window.same(c.grid) || from.Before(c.at(0)) || to.After(c.at(c.cells)) {
			t.Fatalf("%s to %s of a close-up from %s to %s", from, to, c.at(0), c.at(c.cells))
		}
	}
	read := m.source.CloseUp
	m.source.CloseUp = func(context.Context, time.Time, time.Time, int) (CloseUp, error) {
		return CloseUp{}, errors.New("night.csv: no such file")
	}
	m = press(m, "[[[[")
	if frame := m.View(); !strings.Contains(frame, "not read again: night.csv: no such file") {
		t.Errorf("not told:\n%s", frame)
	}
	trace := m.data.places.trace("S01", rf.BeamVoltage)
	if got, want := m.under("S01", rf.BeamVoltage).mean, trace.Mean[gridOf(m.data.report).index(m.data.window.cursor())]; got != want {
		t.Errorf("reads %g, the report %g", got, want)
	}
	m.source.CloseUp = read
	if m = press(m, "["); m.under("S01", rf.BeamVoltage).mean < 100 {
		t.Errorf("not read again after a failure")
	}
}

// Keys that come faster than the log is read leave one reading to wait for, and a
// late answer does not move the window.
func TestCloseUpComesLate(t *testing.T) {
	m := press(opened(fixture(), Options{}, 100, 30), "2", "++++")
	m, first := pressed(m, "+")
	if frame := m.View(); !strings.Contains(frame, "reading the log again") {
		t.Errorf("not told that it is read:\n%s", frame)
	}
	m, second := pressed(m, "[[")
	if m, third := pressed(m, "left"); third != nil {
		t.Errorf("read again for a cursor that moved, in %+v", m.data.window)
	}
	before := m.data.window
	m = send(m, first())
	if m.data.window != before || m.data.closeUp.cells != 0 {
		t.Errorf("an answer to what is no longer asked was taken: %+v", m.data.window)
	}
	m = send(m, second())
	if f, to := m.data.window.times(); m.data.closeUp.cells == 0 || !f.Equal(before.start()) || to.Sub(f) != 22*time.Minute {
		t.Errorf("the window is %+v", m.data.window)
	}
}

func (w window) start() time.Time { return w.grid.at(w.from) }

func pressed(m Model, name string) (Model, tea.Cmd) {
	next, cmd := m.Update(keyNamed(name))
	return next.(Model), cmd
}

// Phases are shown on the turn on which the report has them.
func TestCloseUpKeepsTheTurn(t *testing.T) {
	m := opened(fixture(), Options{}, 100, 30)
	read := m.source.CloseUp
	m.source.CloseUp = func(ctx context.Context, from, to time.Time, cells int) (CloseUp, error) {
		c, err := read(ctx, from, to, cells)
		for i := range c.Traces {
			for k := range c.Traces[i].Mean {
				c.Traces[i].Mean[k] += 720 - 100
			}
		}
		return c, err
	}
	m = press(m, "2", "+++++")
	trace := m.data.places.trace("S01", rf.ForwardPhase)
	if got := m.under("S01", rf.ForwardPhase).mean; !m.data.window.same(m.data.closeUp.grid) || math.Abs(got-trace.Mean[fixtureCells-1]) > 1e-6 {
		t.Errorf("phase %g, the report %g", got, trace.Mean[fixtureCells-1])
	}
}

// A close-up at the end of a log that is followed goes on with it.
func TestCloseUpFollowsTheEnd(t *testing.T) {
	m := press(following(100, 40), "2", "+++++")
	longer := grown(30)
	m.source.CloseUp = closeUpOf(longer)
	m = send(m, followedMsg{report: longer, places: sortPlaces(longer), following: m.data.following})
	if _, to := m.data.window.times(); !to.Equal(longer.To) || m.under("S01", rf.BeamVoltage).mean < 100 {
		t.Errorf("shows until %s of %s, reads %+v", to, longer.To, m.under("S01", rf.BeamVoltage))
	}
	// Rows that come within the report's last cell are read too: those of its second
	// half here.
	half := 0
	read := m.source.CloseUp
	m.source.CloseUp = func(ctx context.Context, from, to time.Time, cells int) (CloseUp, error) {
		c, err := read(ctx, from, to, cells)
		c.Cells -= half
		for i := range c.Traces {
			t := &c.Traces[i]
			t.Mean, t.Min, t.Max = t.Mean[:c.Cells], t.Min[:c.Cells], t.Max[:c.Cells]
		}
		return c, err
	}
	news := followedMsg{report: longer, places: sortPlaces(longer), following: m.data.following}
	last := func() float64 {
		return m.data.cellAt(m.data.places.trace("S01", rf.BeamVoltage), m.data.window.to-1).mean
	}
	half = int(30 * time.Second / m.data.window.width)
	m.data.closeUp.cells -= half
	if m = send(m, news); m.data.closeUp.cells == 0 || !math.IsNaN(last()) {
		t.Errorf("reads %g of a cell that has no row yet", last())
	}
	half = 0
	if m = send(m, news); !(last() > 400) || m.data.awaited {
		t.Errorf("reads %g after rows came", last())
	}
}
