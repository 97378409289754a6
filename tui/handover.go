package tui

import (
	"errors"
	"fmt"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"dawncrest/rf/handover"
)

// handing shows the handover as it would be written now.
type handing struct {
	top  int
	form int
}

func (handing) question(data) string { return "What does the next shift need to know?" }

func (handing) answer(d data) string {
	seen := 0
	for _, f := range d.report.Findings {
		if _, ok := d.seenOf(f); ok {
			seen++
		}
	}
	return fmt.Sprintf("%s, %d seen; %s of this shift. Below is the handover as it would be written.",
		counted(len(d.report.Findings), "finding"), seen, counted(len(d.notes), "note"))
}

// Facts that the handover page tells the root.
type (
	noteAskedMsg   struct{}
	noteDroppedMsg struct{}
	writeAskedMsg  struct{ form string }
	previewedMsg   struct{ text string }
)

func (p handing) renewed(_, _ data) page { return p }

func (p handing) update(msg tea.KeyMsg, d data) (page, tea.Msg) {
	switch {
	case key.Matches(msg, keys.note):
		return p, noteAskedMsg{}
	case key.Matches(msg, keys.drop):
		return p, noteDroppedMsg{}
	case key.Matches(msg, keys.form):
		if len(d.forms) > 0 {
			p.form = (p.form + 1) % len(d.forms)
		}
	case key.Matches(msg, keys.write):
		return p, writeAskedMsg{p.chosen(d)}
	}
	p.top = list{p.top}.moved(msg, len(d.preview)).cursor
	return p, nil
}

func (p handing) chosen(d data) string {
	if len(d.forms) == 0 {
		return ""
	}
	return d.forms[p.form%len(d.forms)]
}

func (handing) keys() []key.Binding {
	return []key.Binding{keys.note, keys.form, keys.write, keys.drop, keys.down}
}

func (p handing) view(d data, l look, width, height int) []string {
	head := "form: " + p.chosen(d)
	if len(d.forms) == 0 {
		head = "cannot be written from here"
		if d.writeHint != "" {
			head += ": " + d.writeHint
		}
	}
	lines := []string{l.styles.heading.Render(l.left(head, width))}
	for _, note := range d.notes[max(len(d.notes)-3, 0):] {
		lines = append(lines, l.left("note: "+note, width))
	}
	lines = append(lines, l.styles.faint.Render(strings.Repeat(l.marks.rule, width)))
	room := height - len(lines)
	top := min(p.top, max(len(d.preview)-room, 0))
	for i := top; i < min(top+room, len(d.preview)); i++ {
		lines = append(lines, l.left(d.preview[i], width))
	}
	if hidden := len(d.preview) - top - room; hidden > 0 {
		lines[len(lines)-1] = l.styles.faint.Render(l.left(fmt.Sprintf("%s %s below", l.marks.more, counted(hidden+1, "line")), width))
	}
	return lines
}

// meta is what the handover says of itself so far.
func (m Model) meta() handover.Meta {
	return handover.Meta{Author: m.options.Initials, Notes: m.data.notes, Seen: m.data.seen, Demo: m.source.Demo}
}

// previewed asks for the handover as text.
func (m Model) previewed() tea.Cmd {
	if m.source.Preview == nil || m.data.report == nil {
		return nil
	}
	report, meta, preview := m.data.report, m.meta(), m.source.Preview
	return guarded(func() tea.Msg { return previewedMsg{preview(report, meta)} })
}

// write asks for the handover to be written.
func (m Model) write(form string) tea.Cmd {
	if m.source.Write == nil || form == "" {
		return func() tea.Msg {
			return handoverWrittenMsg{err: errors.New("a handover cannot be written from here")}
		}
	}
	report, meta, write := m.data.report, m.meta(), m.source.Write
	return guarded(func() tea.Msg {
		path, err := write(form, report, meta)
		return handoverWrittenMsg{path, err}
	})
}
