package tui

import (
	"strings"

	"github.com/charmbracelet/bubbles/key"
)

// helpView draws the keys that are valid on the page.
func (m Model) helpView() []string {
	p := m.pages[m.page]
	s := m.look.styles
	groups := []struct {
		title string
		keys  []key.Binding
	}{
		{"On this screen", p.keys()},
		{"Moving", []key.Binding{keys.up, keys.down, keys.pageUp, keys.pageDown, keys.first, keys.last, keys.enter, keys.back, keys.worst, keys.filter}},
		{"Time", []key.Binding{keys.earlier, keys.later, keys.narrower, keys.wider, keys.panBack, keys.panOn, keys.whole}},
		{"Screens", append([]key.Binding{keys.nextPage, keys.previousPage}, keys.pages...)},
		{"Leaving", []key.Binding{keys.help, keys.suspend, keys.quit}},
	}
	columns := [][]string{nil, nil}
	width := m.width / 2
	for _, g := range groups {
		if len(g.keys) == 0 {
			continue
		}
		block := []string{s.heading.Render(m.look.left(g.title, width))}
		for _, b := range g.keys {
			block = append(block, m.look.left("  "+m.look.left(b.Help().Key, 10)+" "+b.Help().Desc, width))
		}
		shorter := 0
		if len(columns[1]) < len(columns[0]) {
			shorter = 1
		}
		columns[shorter] = append(columns[shorter], block...)
	}
	lines := []string{
		s.question.Render(m.look.left("Which keys mean something here?", m.width)),
		s.answer.Render(m.look.left("Any key goes back. The program reads logs; it controls nothing.", m.width)),
	}
	for i := range max(len(columns[0]), len(columns[1])) {
		line := strings.Repeat(" ", width)
		if i < len(columns[0]) {
			line = columns[0][i]
		}
		if i < len(columns[1]) {
			line += columns[1][i]
		}
		lines = append(lines, line)
	}
	return lines
}
