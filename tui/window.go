package tui

import "time"

// window is the span of the night that every trace shows, and the cursor in it,
// in cells of the report's grid.
type window struct {
	from, to int // to is one beyond the last
	at       int // cell under the cursor
	cells    int // of the whole night
}

// narrowest is the smallest window, in cells.
const narrowest = 10

func wholeNight(cells int) window { return window{to: cells, at: max(cells-1, 0), cells: cells} }

func (w window) span() int { return w.to - w.from }

// step is how far one key press moves the cursor: about one column of dots.
func (w window) step() int { return max(1, w.span()/120) }

// moved returns the window with the cursor moved by so many steps; the window
// follows a cursor that runs out of it.
func (w window) moved(steps int) window {
	w.at = min(max(w.at+steps*w.step(), 0), max(w.cells-1, 0))
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
	span := min(max(int(float64(w.span())*factor), min(narrowest, w.cells)), w.cells)
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
	moved.at = min(max(w.at+by, moved.from), max(moved.to-1, 0))
	return moved
}

// shifted moves the window and keeps it inside the night.
func (w window) shifted(by int) window {
	span := w.span()
	w.from = min(max(w.from+by, 0), max(w.cells-span, 0))
	w.to = w.from + span
	return w
}

// inWindow returns the part of a trace that lies in the window.
func inWindow[T any](w window, values []T) []T {
	return values[min(w.from, len(values)):min(w.to, len(values))]
}

// times returns the instants at which the window begins and ends.
func (w window) times(start time.Time, width time.Duration) (from, to time.Time) {
	return start.Add(time.Duration(w.from) * width), start.Add(time.Duration(w.to) * width)
}
