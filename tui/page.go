package tui

import (
	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
)

// page is one screen. It owns its cursor and choices; everything it shows comes
// as an argument.
type page interface {
	// question is what the screen answers, in words; answer is the answer.
	question(d data) string
	answer(d data) string
	// update answers a key; the fact it returns, if any, is for the root.
	update(msg tea.KeyMsg, d data) (page, tea.Msg)
	// renewed keeps the cursor on its row in a report that goes on.
	renewed(before, after data) page
	// view draws at most height lines of at most width cells.
	view(d data, l look, width, height int) []string
	// keys are those that mean something here, beside those of every page.
	keys() []key.Binding
}

// pageID names a page in the root's table.
type pageID int

const (
	morningPage pageID = iota
	stationPage
	waterPage
	energyPage
	compressorsPage
	tripsPage
	logPage
	handoverPage
	findingPage // reached from others only
	pageCount
)

// look is how things are drawn: colours and marks.
type look struct {
	styles styles
	marks  marks
	ascii  bool
}

func newLook(o Options) look {
	l := look{styles: newStyles(o), marks: unicodeMarks, ascii: o.ASCII}
	if o.ASCII {
		l.marks = asciiMarks
	}
	return l
}

// pointer begins a row: a character, not a colour, shows where the cursor is.
func (l look) pointer(here bool) string {
	if here {
		return ">"
	}
	return " "
}

// Facts that pages tell the root.
type (
	stationPickedMsg struct{ station string }
	findingPickedMsg struct{ finding int }
)
