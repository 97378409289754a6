package handover

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"dawncrest/rf/review"
)

const textWidth = 78

// Text writes the handover as plain text for a terminal or a mail. Tables may
// be wider than the text.
func Text(w io.Writer, r *review.Report, m Meta, h History) error {
	c := contentOf(r, m, h)
	var b strings.Builder
	b.WriteString(strings.ToUpper(c.title[:1]) + c.title[1:] + "\n" + strings.Repeat("=", utf8.RuneCountInString(c.title)) + "\n")
	for _, line := range c.subtitle {
		wrapped(&b, "", line)
	}
	b.WriteByte('\n')
	for _, line := range c.headline {
		wrapped(&b, "* ", line)
	}
	for _, s := range c.sections {
		b.WriteString("\n" + s.title + "\n" + strings.Repeat("-", utf8.RuneCountInString(s.title)) + "\n")
		for _, line := range s.lead {
			wrapped(&b, "", line)
		}
		for i, t := range s.tasks {
			wrapped(&b, fmt.Sprintf("%d. ", i+1), t.head)
			for _, p := range t.parts {
				wrapped(&b, "   ", labelled(p.label)+p.text)
			}
		}
		for _, line := range s.bullets {
			wrapped(&b, "* ", line)
		}
		if s.grid != nil {
			textGrid(&b, s.grid)
		}
		for _, line := range s.after {
			wrapped(&b, "", line)
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// wrapped writes text in lines of textWidth behind a lead; further lines are
// set in by as much.
func wrapped(b *strings.Builder, lead, text string) {
	indent := utf8.RuneCountInString(lead)
	b.WriteString(lead)
	at := indent
	for i, word := range strings.Fields(text) {
		n := utf8.RuneCountInString(word)
		switch {
		case i == 0:
		case at+1+n > textWidth:
			b.WriteString("\n" + strings.Repeat(" ", indent))
			at = indent
		default:
			b.WriteByte(' ')
			at++
		}
		b.WriteString(word)
		at += n
	}
	b.WriteByte('\n')
}

func textGrid(b *strings.Builder, g *grid) {
	rows := make([][]string, 0, len(g.rows)+1)
	heads := make([]string, len(g.columns))
	for i, c := range g.columns {
		heads[i] = c.head
	}
	rows = append(append(rows, heads), g.rows...)
	widths := widthsOf(rows)
	for _, row := range rows {
		var line strings.Builder
		for i, cell := range row {
			if i > 0 {
				line.WriteString("  ")
			}
			line.WriteString(padded(cell, widths[i], g.columns[i].numeric))
		}
		b.WriteString(strings.TrimRight(line.String(), " ") + "\n")
	}
}

// widthsOf returns the widest cell of each column, in characters.
func widthsOf(rows [][]string) []int {
	widths := make([]int, len(rows[0]))
	for _, row := range rows {
		for i, cell := range row {
			widths[i] = max(widths[i], utf8.RuneCountInString(cell))
		}
	}
	return widths
}

func padded(cell string, width int, right bool) string {
	room := strings.Repeat(" ", max(0, width-utf8.RuneCountInString(cell)))
	if right {
		return room + cell
	}
	return cell + room
}
