package chart

import (
	"strings"

	"github.com/charmbracelet/lipgloss"
)

// role names what a cell of the box shows; [Styles] gives it its colour.
type role uint8

const (
	blank role = iota
	trace
	second
	driftLimit
	actLimit
	reference
	axis
	cursor
	roles // how many there are
)

// Styles colours the parts of a chart. The zero value draws without colour.
type Styles struct {
	Trace      lipgloss.Style
	Second     lipgloss.Style
	DriftLimit lipgloss.Style
	ActLimit   lipgloss.Style
	Reference  lipgloss.Style
	Axis       lipgloss.Style
	Cursor     lipgloss.Style
}

func (s Styles) byRole() [roles]lipgloss.Style {
	return [roles]lipgloss.Style{
		trace: s.Trace, second: s.Second, driftLimit: s.DriftLimit, actLimit: s.ActLimit,
		reference: s.Reference, axis: s.Axis, cursor: s.Cursor,
	}
}

// Every cell of text holds two by four dots.
const (
	dotsWide = 2
	dotsHigh = 4
)

// dotBits are the bits of a braille pattern by column and row of its dots.
//
// Source: The Unicode Standard, Braille Patterns block, U+2800 to U+28FF.
var dotBits = [dotsWide][dotsHigh]uint8{
	{0x01, 0x02, 0x04, 0x40},
	{0x08, 0x10, 0x20, 0x80},
}

type cell struct {
	glyph rune // 0: none
	role  role
	dots  uint8 // laid over the glyph
}

// canvas is a box of cells that can be drawn on in dots and in glyphs. Drawing
// outside of it does nothing.
type canvas struct {
	width, height int
	cells         []cell
	ascii         bool
}

func newCanvas(width, height int, ascii bool) *canvas {
	return &canvas{width: width, height: height, cells: make([]cell, width*height), ascii: ascii}
}

func (c *canvas) at(x, y int) *cell {
	if x < 0 || y < 0 || x >= c.width || y >= c.height {
		return nil
	}
	return &c.cells[y*c.width+x]
}

// put sets a glyph, over whatever glyph stood there.
func (c *canvas) put(x, y int, glyph rune, r role) {
	if at := c.at(x, y); at != nil {
		at.glyph, at.role = glyph, r
	}
}

// text writes s from x on. Its letters must be one cell wide.
func (c *canvas) text(x, y int, s string, r role) {
	for _, letter := range s {
		c.put(x, y, letter, r)
		x++
	}
}

// dots sets the dots of one dot column between two dot rows, both included.
func (c *canvas) dots(dotX, from, to int) {
	if from > to {
		from, to = to, from
	}
	from, to = max(from, 0), min(to, c.height*dotsHigh-1)
	for y := from; y <= to; y++ {
		if at := c.at(dotX/dotsWide, y/dotsHigh); at != nil {
			at.dots |= dotBits[dotX%dotsWide][y%dotsHigh]
		}
	}
}

// lines renders the canvas, equal neighbours in one run of colour.
func (c *canvas) lines(styles Styles) []string {
	lines := make([]string, c.height)
	looks := styles.byRole()
	var line, run strings.Builder
	for y := range lines {
		line.Reset()
		current := blank
		flush := func() {
			if run.Len() == 0 {
				return
			}
			if current == blank {
				line.WriteString(run.String())
			} else {
				line.WriteString(looks[current].Render(run.String()))
			}
			run.Reset()
		}
		for x := range c.width {
			glyph, r := c.cells[y*c.width+x].shown(c.ascii)
			if r != current {
				flush()
				current = r
			}
			run.WriteRune(glyph)
		}
		flush()
		lines[y] = line.String()
	}
	return lines
}

func (c cell) shown(ascii bool) (rune, role) {
	switch {
	case c.dots != 0 && ascii:
		return asciiDots(c.dots), trace
	case c.dots != 0:
		return 0x2800 + rune(c.dots), trace
	case c.glyph != 0:
		return c.glyph, c.role
	}
	return ' ', blank
}

// asciiDots stands for a pattern of dots where the terminal knows no others: by
// its height where it is flat, a bar where it is tall.
func asciiDots(dots uint8) rune {
	rows, sum := 0, 0
	for y := range dotsHigh {
		if dots&(dotBits[0][y]|dotBits[1][y]) != 0 {
			rows++
			sum += y
		}
	}
	switch {
	case rows == dotsHigh:
		return '|'
	case sum == 0:
		return '\''
	case sum < 3*rows:
		return '-'
	}
	return '.'
}
