package tui

import (
	"strings"

	"github.com/charmbracelet/bubbles/cursor"
	"github.com/charmbracelet/bubbles/textinput"
	tea "github.com/charmbracelet/bubbletea"

	"dawncrest/rf/handover"
)

// entry is a line that is being typed at the foot of the screen.
type entry struct {
	kind     entryKind
	input    textinput.Model
	initials string // typed before a mark's note
}

type entryKind uint8

const (
	noEntry entryKind = iota
	filterEntry
	initialsEntry
	markEntry
	noteEntry
)

// longestEntry bounds what can be typed into one line.
const longestEntry = 400

func newEntry(kind entryKind, prompt, value string) entry {
	input := textinput.New()
	input.Prompt = prompt + " "
	input.CharLimit = longestEntry
	input.Cursor.SetMode(cursor.CursorStatic) // a blinking one would send all the time
	input.KeyMap.Paste.Unbind()               // no look at a clipboard on a far machine
	input.SetValue(value)
	input.Focus()
	return entry{kind: kind, input: input}
}

func newFilterEntry(now string) entry { return newEntry(filterEntry, "rows that hold:", now) }

func newNoteEntry() entry { return newEntry(noteEntry, "note for the next shift:", "") }

// newMarkEntry asks for the note of a mark, and first for initials where nobody
// said them.
func newMarkEntry(initials string) entry {
	if initials == "" {
		return newEntry(initialsEntry, "seen by (initials):", "")
	}
	e := newEntry(markEntry, "seen by "+initials+", note:", "")
	e.initials = initials
	return e
}

func (e entry) open() bool { return e.kind != noEntry }

// enteredMsg is a line that was typed to its end.
type enteredMsg struct {
	kind     entryKind
	text     string
	initials string
}

// typed answers a key while a line is being typed.
func (m Model) typed(msg tea.KeyMsg) (Model, tea.Cmd) {
	switch msg.Type {
	case tea.KeyEsc:
		m.entry = entry{}
		return m, nil
	case tea.KeyEnter:
		done := enteredMsg{m.entry.kind, strings.TrimSpace(clean(m.entry.input.Value())), m.entry.initials}
		m.entry = entry{}
		m = m.entered(done)
		return m, m.previewed()
	}
	var cmd tea.Cmd
	m.entry.input, cmd = m.entry.input.Update(msg)
	if m.entry.kind == filterEntry {
		m.data.filter = clean(m.entry.input.Value())
	}
	return m, cmd
}

// entered takes over a line that was typed.
func (m Model) entered(done enteredMsg) Model {
	switch done.kind {
	case filterEntry:
		m.data.filter = done.text
	case initialsEntry:
		if done.text != "" {
			m.options.Initials = done.text
			m.entry = newMarkEntry(done.text)
		}
	case markEntry:
		return m.marked(done)
	case noteEntry:
		if done.text != "" {
			m.data.notes = append(m.data.notes[:len(m.data.notes):len(m.data.notes)], done.text)
		}
	}
	return m
}

// marked notes that the finding picked was seen.
func (m Model) marked(done enteredMsg) Model {
	f, ok := pickedFinding(m.data)
	if !ok {
		m.data.outcome = "not marked: the finding has cleared meanwhile"
		return m
	}
	mark := handover.Seen{
		Key:      keyOf(f),
		Initials: done.initials,
		Note:     done.text,
		At:       m.options.Now(),
	}
	m.data.seen = append(m.data.seen[:len(m.data.seen):len(m.data.seen)], mark)
	m.data.outcome = "marked as seen by " + done.initials + "; it stays where it is"
	return m
}
