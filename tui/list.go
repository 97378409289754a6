package tui

import (
	"slices"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"dawncrest/rf/review"
)

// list is the cursor of a page of rows. The rows themselves belong to the page.
type list struct{ cursor int }

// pageRows is how far the page keys move the cursor.
const pageRows = 10

// moved answers the keys that move in every list.
func (l list) moved(msg tea.KeyMsg, rows int) list {
	switch {
	case key.Matches(msg, keys.up):
		l.cursor--
	case key.Matches(msg, keys.down):
		l.cursor++
	case key.Matches(msg, keys.pageUp):
		l.cursor -= pageRows
	case key.Matches(msg, keys.pageDown):
		l.cursor += pageRows
	case key.Matches(msg, keys.first):
		l.cursor = 0
	case key.Matches(msg, keys.last):
		l.cursor = rows - 1
	}
	return l.within(rows)
}

// within keeps the cursor on a row.
func (l list) within(rows int) list {
	l.cursor = min(max(l.cursor, 0), max(rows-1, 0))
	return l
}

// kept leaves the cursor on the row of the same name in rows that have changed, and
// where it stands when that is gone.
func (l list) kept(before, after []string) list {
	l = l.within(len(before))
	if len(before) > 0 {
		if now := slices.Index(after, before[l.cursor]); now >= 0 {
			l.cursor = now
		}
	}
	return l.within(len(after))
}

// stationNames are the rows of a list of stations.
func stationNames(rows []review.StationResult) []string {
	var names []string
	for _, s := range rows {
		names = append(names, s.Station)
	}
	return names
}

// pressedOn answers a key on a list of stations: it moves, jumps to the worst by
// rank, or tells which station is to be looked at closer.
func (l list) pressedOn(msg tea.KeyMsg, rows []review.StationResult, rank func(review.StationResult) int) (list, tea.Msg) {
	l = l.within(len(rows))
	switch {
	case key.Matches(msg, keys.worst):
		return l.worst(len(rows), func(i int) int { return rank(rows[i]) }), nil
	case key.Matches(msg, keys.enter) && len(rows) > 0:
		return l, stationPickedMsg{rows[l.cursor].Station}
	}
	return l.moved(msg, len(rows)), nil
}

// flaggedRanks is how many ranks of verdict are worth jumping to: out of
// tolerance and drifting.
const flaggedRanks = 2

// worst moves the cursor to the worst row, and from there to the next worst.
// rank tells the rank of a row's verdict, 0 for the worst.
func (l list) worst(rows int, rank func(int) int) list {
	var order []int
	here := -1
	for want := range flaggedRanks {
		for i := range rows {
			if rank(i) != want {
				continue
			}
			if i == l.cursor {
				here = len(order)
			}
			order = append(order, i)
		}
	}
	if len(order) > 0 {
		l.cursor = order[(here+1)%len(order)]
	}
	return l
}

// shown returns which rows stand in a height of so many. The rows move by half a
// height at a time, so that most moves of the cursor redraw two lines only.
func (l list) shown(rows, height int) (from, to int) {
	if rows <= height {
		return 0, rows
	}
	if height < 2 {
		return l.cursor, l.cursor + max(height, 0)
	}
	half := height / 2
	from = min(max(l.cursor/half-1, 0)*half, rows-height)
	return from, from + height
}
