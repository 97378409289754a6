package chart

import (
	"time"

	"github.com/charmbracelet/lipgloss"
)

// drawAxis draws the time axis. It is whole where all readings are there, dotted
// where some are missing and absent where all are.
func (p Plot) drawAxis(c *canvas, l layout) {
	if !l.axis {
		return
	}
	whole, some, heavy, corner, bar, mark, here := '─', '╌', '━', '└', '│', '┬', '┃'
	if p.ASCII {
		whole, some, heavy, corner, bar, mark, here = '-', '.', '=', '+', '|', '+', '|'
	}
	if l.left > 0 {
		for y := range l.rows {
			c.put(l.left, y, bar, axis)
		}
		c.put(l.left, l.rows, corner, axis)
		c.text(l.left-lipgloss.Width(p.Unit)-1, l.rows, p.Unit, axis)
	}
	for x := range l.columns {
		present, all := p.Series.present(x, l.columns)
		switch {
		case present == all && all > 0 && p.marked(x, l.columns):
			c.put(l.start()+x, l.rows, heavy, axis)
		case present == all && all > 0:
			c.put(l.start()+x, l.rows, whole, axis)
		case present > 0:
			c.put(l.start()+x, l.rows, some, axis)
		}
	}
	free := 0
	for _, t := range ticks(p.From, p.To, p.Zone, l.columns) {
		c.put(l.start()+t.column, l.rows, mark, axis)
		if x := max(t.column-len(t.label)/2, 0); x >= free && x+len(t.label) <= l.columns {
			c.text(l.start()+x, l.rows+1, t.label, axis)
			free = x + len(t.label) + 1
		}
	}
	p.drawCursor(c, l, here)
}

// ToTheSecond is the span below which times are read out to the second.
const ToTheSecond = 10 * time.Minute

// marked reports whether column x of n lies in the span that the axis marks.
func (p Plot) marked(x, n int) bool {
	at := p.From.Add(time.Duration(float64(p.To.Sub(p.From)) * (float64(x) + 0.5) / float64(n)))
	return !at.Before(p.MarkFrom) && at.Before(p.MarkTo)
}

func (p Plot) drawCursor(c *canvas, l layout, here rune) {
	n := len(p.Series.Mean)
	if p.Cursor < 0 || p.Cursor >= n {
		return
	}
	x := min((2*p.Cursor+1)*l.columns/(2*n), l.columns-1)
	c.put(l.start()+x, l.rows, here, cursor)
	at := p.From.Add(time.Duration(float64(p.To.Sub(p.From)) * float64(p.Cursor) / float64(n)))
	form := "15:04"
	if p.To.Sub(p.From) < ToTheSecond {
		form = "15:04:05"
	}
	text := "[" + at.In(p.Zone).Format(form) + "]"
	if l.columns < len(text) {
		return
	}
	from := min(max(x-len(text)/2, 0), l.columns-len(text))
	for _, beside := range []int{from - 1, from + len(text)} {
		// A label cut by the read-out would show a wrong hour.
		p.eraseWord(c, l, beside)
	}
	c.text(l.start()+from, l.rows+1, text, cursor)
}

// eraseWord blanks the letters of the label that x is part of.
func (p Plot) eraseWord(c *canvas, l layout, x int) {
	for _, step := range []int{-1, 1} {
		for at := x; at >= 0 && at < l.columns; at += step {
			here := c.at(l.start()+at, l.rows+1)
			if here == nil || here.glyph == 0 {
				break
			}
			if step > 0 || at < x {
				here.glyph = 0
			}
		}
	}
}

func clip(s string, width int) string { return s[:min(max(width, 0), len(s))] }
