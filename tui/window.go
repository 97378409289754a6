package tui

import (
	"time"

	"dawncrest/rf/review"
)

// grid is equal cells of time over the whole night.
type grid struct {
	start       time.Time // of cell 0
	width       time.Duration
	first, last int // the cells of the night; last is one beyond them
}

// gridOf returns the cells of a report.
func gridOf(r *review.Report) grid {
	return grid{start: r.CellStart, width: r.CellWidth, last: r.Cells}
}

// over returns the grid over the night of a report, up to its last row.
func (g grid) over(r *review.Report) grid {
	night := gridOf(r)
	end := time.Time{}
	for _, f := range r.Log.Files {
		end = later(end, f.Last)
	}
	if whole := night.at(night.last).Add(-1); end.IsZero() || end.After(whole) {
		end = whole
	}
	g.first, g.last = g.index(night.start), g.index(end)+1
	return g
}

// later returns the later one of two instants.
func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

// at returns the start of a cell.
func (g grid) at(cell int) time.Time { return g.start.Add(time.Duration(cell) * g.width) }

// index returns the cell that holds an instant.
func (g grid) index(t time.Time) int {
	d := t.Sub(g.start)
	if g.width <= 0 {
		return 0
	}
	if d < 0 {
		d -= g.width - 1
	}
	return int(d / g.width)
}

// same reports whether two grids have the same cells.
func (g grid) same(o grid) bool { return g.width == o.width && g.start.Equal(o.start) }

// window is the span of the night that every trace shows, and the cursor in it.
type window struct {
	grid
	from, to int // to is one beyond the last
	at       int // cell under the cursor
}

// narrowest is the smallest window, in cells.
const narrowest = 10

// wholeNight returns the window on all of a grid, the cursor at its end.
func wholeNight(g grid) window {
	return window{grid: g, from: g.first, to: g.last, at: max(g.last-1, g.first)}
}

func (w window) span() int { return w.to - w.from }

// step is how far one key press moves the cursor: about one column of dots.
func (w window) step() int { return max(1, w.span()/120) }

// moved returns the window with the cursor moved by so many steps; the window
// follows a cursor that runs out of it.
func (w window) moved(steps int) window {
	w.at = min(max(w.at+steps*w.step(), w.first), max(w.last-1, w.first))
	switch {
	case w.at < w.from:
		return w.shifted(w.at - w.from)
	case w.at >= w.to:
		return w.shifted(w.at - w.to + 1)
	}
	return w
}

// zoomed returns the window made narrower (factor below 1) or wider about the
// cursor.
func (w window) zoomed(factor float64) window {
	night := w.last - w.first
	span := min(max(int(float64(w.span())*factor), min(narrowest, night)), night)
	share := 0.5
	if w.span() > 0 {
		share = float64(w.at-w.from) / float64(w.span())
	}
	w.from = w.at - int(share*float64(span))
	w.to = w.from + span
	return w.shifted(0)
}

// panned returns the window moved by half its width, the cursor with it.
func (w window) panned(sign int) window {
	by := sign * max(w.span()/2, 1)
	moved := w.shifted(by)
	moved.at = min(max(w.at+by, moved.from), max(moved.to-1, moved.from))
	return moved
}

// shifted moves the window and keeps it inside the night.
func (w window) shifted(by int) window {
	span := w.span()
	w.from = min(max(w.from+by, w.first), max(w.last-span, w.first))
	w.to = w.from + span
	return w
}

// onto returns the window on other cells: those that hold what it shows.
func (w window) onto(g grid) window {
	if w.grid.same(g) {
		w.grid = g
		return w.shifted(0).inside()
	}
	n := window{grid: g, from: g.index(w.grid.at(w.from)), at: g.index(w.grid.at(w.at).Add(w.width / 2))}
	n.to = g.index(w.grid.at(w.to).Add(-1)) + 1
	return n.shifted(0).inside()
}

// goesOn returns the window on cells that end elsewhere, or are others. One that
// shows the end goes on showing it, the cursor with it.
func (w window) goesOn(g grid) window {
	n := w.onto(g)
	if w.to >= w.last {
		n = n.shifted(n.last - n.to)
	}
	if w.from <= w.first && w.to >= w.last {
		n.from = n.first
	}
	if w.at >= w.last-1 {
		n.at = n.last - 1
	}
	return n.inside()
}

// inside returns the window kept within the night, at least one cell wide where
// there is one, with the cursor in it.
func (w window) inside() window {
	w.from = min(max(w.from, w.first), max(w.last-1, w.first))
	w.to = max(min(w.to, w.last), min(w.from+1, w.last))
	w.at = min(max(w.at, w.from), max(w.to-1, w.from))
	return w
}

// times returns the instants at which the window begins and ends.
func (w window) times() (from, to time.Time) { return w.grid.at(w.from), w.grid.at(w.to) }

// inWindow returns the part of a trace that lies in a window on the cells of the
// report.
func inWindow[T any](w window, values []T) []T {
	return values[min(w.from, len(values)):min(w.to, len(values))]
}
