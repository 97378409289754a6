package tui

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"
)

// The least room in which the screens say all that they have to say.
const (
	leastWidth  = 76
	leastHeight = 20
)

// linesBelow is the line of keys under the body of a page; mostAnswer is how many
// lines an answer may take above it.
const (
	linesBelow = 1
	mostAnswer = 2
)

// View draws the screen.
func (m Model) View() string {
	if m.width <= 0 || m.height <= 0 {
		return ""
	}
	lines := fit(m.lines(), m.width, m.height)
	frame := strings.Join(lines, "\n")
	if m.options.ASCII {
		return onlyASCII(frame)
	}
	return frame
}

func (m Model) lines() []string {
	switch {
	case m.width < leastWidth || m.height < leastHeight:
		return m.tooSmall()
	case m.data.report == nil:
		return m.loading.view(m.source.Title, m.look, m.width, m.height)
	case m.helping:
		return m.helpView()
	}
	p := m.pages[m.page]
	lines := m.head(p)
	state := m.followLine()
	below := linesBelow + len(state)
	body := m.height - len(lines) - below
	lines = append(lines, fit(p.view(m.data, m.look, m.width, body), m.width, body)...)
	for len(lines) < m.height-below {
		lines = append(lines, "")
	}
	return append(append(lines, state...), m.foot(p))
}

// head draws the question, whose night it is, and the answer.
func (m Model) head(p page) []string {
	question, name := clean(p.question(m.data)), plantName(m.data)
	first := m.look.left(question, m.width)
	if gap := m.width - lipgloss.Width(question) - lipgloss.Width(name); gap >= 2 {
		first = question + strings.Repeat(" ", gap) + name
	}
	lines := []string{m.look.styles.question.Render(first)}
	for _, line := range m.look.wrap(p.answer(m.data), m.width, mostAnswer) {
		lines = append(lines, m.look.styles.answer.Render(m.look.left(line, m.width)))
	}
	return lines
}

// plantName names the plant and, where it is so, that the night is a demo.
func plantName(d data) string {
	name := "no plant folder"
	if d.report.Plant != nil && d.report.Plant.Name != "" {
		name = clean(d.report.Plant.Name)
	}
	if d.demo {
		name += ", demo night"
	}
	return name
}

// foot draws what is being typed, else what came of the last key, else the keys.
func (m Model) foot(p page) string {
	faint := m.look.styles.faint
	switch {
	case m.entry.open():
		return m.entry.input.View()
	case m.data.outcome != "":
		return m.look.styles.answer.Render(m.look.left(m.data.outcome, m.width))
	}
	from, to := m.data.window.times()
	span := m.data.instant(from) + "-" + m.data.instant(to) + " " + from.In(m.data.zone).Format("MST")
	if m.data.filter != "" {
		span = "filter: " + m.data.filter + "  " + span
	}
	words := keyLine(append(append([]key.Binding{keys.help, keys.quit}, p.keys()...), keys.worst, keys.filter, keys.nextPage), m.width-lipgloss.Width(span)-2)
	return faint.Render(m.look.left(words, m.width-lipgloss.Width(span)-1) + " " + span)
}

// keyLine writes as many keys with their meaning as fit.
func keyLine(bindings []key.Binding, width int) string {
	line := ""
	for _, b := range bindings {
		name, _, _ := strings.Cut(b.Help().Key, " ")
		next := name + " " + b.Help().Desc
		if line != "" {
			next = line + "  " + next
		}
		if lipgloss.Width(next) > width {
			continue
		}
		line = next
	}
	return line
}

// tooSmall says what the screens need, in as many words as there is room for.
func (m Model) tooSmall() []string {
	text := fmt.Sprintf("dawncrest needs %d columns and %d lines; this terminal has %d and %d. Make it larger, or press q to leave.",
		leastWidth, leastHeight, m.width, m.height)
	return m.look.wrap(text, m.width, m.height)
}

// fit cuts lines to a box. It is the last guard of every frame.
func fit(lines []string, width, height int) []string {
	lines = lines[:max(min(len(lines), height), 0)]
	for i, line := range lines {
		if lipgloss.Width(line) > width {
			lines[i] = ansi.Truncate(line, width, "")
		}
	}
	return lines
}

// onlyASCII replaces what a terminal without UTF-8 cannot show: all of it came
// from names in the log, as our own marks have ASCII forms.
func onlyASCII(frame string) string {
	var b strings.Builder
	for _, r := range frame {
		if r < 0x80 {
			b.WriteRune(r)
			continue
		}
		b.WriteString(strings.Repeat("?", lipgloss.Width(string(r))))
	}
	return b.String()
}
