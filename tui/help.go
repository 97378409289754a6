package tui

import (
	"strings"

	"github.com/charmbracelet/bubbles/key"
)

// helpGroup is a heading with what stands under it: what is pressed or drawn,
// and what it means.
type helpGroup struct {
	title string
	rows  [][2]string
}

func keyGroup(title string, bindings ...key.Binding) helpGroup {
	g := helpGroup{title: title}
	for _, b := range bindings {
		g.rows = append(g.rows, [2]string{b.Help().Key, b.Help().Desc})
	}
	return g
}

// helpView draws the keys that are valid on the page and what the marks mean.
func (m Model) helpView() []string {
	left := []helpGroup{
		keyGroup("On this screen", m.pages[m.page].keys()...),
		keyGroup("Time, on every trace", keys.earlier, keys.later, keys.narrower, keys.wider, keys.panBack, keys.panOn, keys.whole),
		{"Screens", [][2]string{
			{"tab", "next; shift+tab: before"},
			{"1 2 3 4", "morning station water energy"},
			{"5 6 7 8", "compressors trips log handover"},
		}},
	}
	k := m.look.marks
	right := []helpGroup{
		keyGroup("Everywhere", keys.up, keys.down, keys.pageUp, keys.first, keys.enter, keys.back, keys.worst, keys.filter, keys.suspend, keys.quit),
		{"Marks", [][2]string{
			{k.outAbove + " " + k.outBelow + " " + k.outSomehow, "out: above, below, by count"},
			{k.driftUp + " " + k.driftDown + " " + k.driftSome, "drifting: up, down, either"},
			{k.inTolerance + " " + k.noData, "in tolerance, no data"},
			{m.look.beyond(), "beyond the scale of a trace"},
			{m.look.axisMarks(), "readings all, some; reference"},
		}},
	}
	width := m.width / 2
	columns := [2][]string{m.helpColumn(left, width-1), m.helpColumn(right, m.width-width)}
	lines := []string{
		m.look.styles.question.Render(m.look.left("Which keys mean something here, and what do the marks mean?", m.width)),
		m.look.styles.answer.Render(m.look.left("Any key goes back. The program reads logs; it controls nothing.", m.width)),
	}
	for i := range max(len(columns[0]), len(columns[1])) {
		line := strings.Repeat(" ", width-1)
		if i < len(columns[0]) {
			line = columns[0][i]
		}
		if i < len(columns[1]) {
			line += " " + columns[1][i]
		}
		lines = append(lines, line)
	}
	return lines
}

func (m Model) helpColumn(groups []helpGroup, width int) []string {
	var lines []string
	for _, g := range groups {
		if len(g.rows) == 0 {
			continue
		}
		lines = append(lines, m.look.styles.heading.Render(m.look.left(g.title, width)))
		for _, row := range g.rows {
			lines = append(lines, m.look.left(" "+m.look.left(row[0], 7)+" "+row[1], width))
		}
	}
	return lines
}

// beyond and axisMarks are the signs that charts draw.
func (l look) beyond() string {
	if l.ascii {
		return "^ v"
	}
	return "↑ ↓"
}

func (l look) axisMarks() string {
	if l.ascii {
		return "- . ="
	}
	return "─ ╌ ━"
}
