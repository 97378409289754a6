package chart

import "strings"

// Spark draws values as one line of text within a scale: dots from the smallest
// to the largest value of each column, a blank for a gap, an arrow where the
// values lie beyond the scale.
func Spark(s Series, scale Scale, width int, ascii bool) string {
	if width <= 0 {
		return ""
	}
	if !scale.Known() || len(s.Mean) == 0 {
		return strings.Repeat(" ", width)
	}
	c := newCanvas(width, 1, ascii)
	p := Plot{Width: width, Height: 1, ASCII: ascii, Series: s}
	p.drawTrace(c, layout{columns: width, rows: 1}, scale)
	return c.lines(Styles{})[0]
}
