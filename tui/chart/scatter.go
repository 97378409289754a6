package chart

import "github.com/charmbracelet/lipgloss"

// Line is y = Intercept + Slope*(x - At).
type Line struct{ At, Intercept, Slope float64 }

func (l Line) value(x float64) float64 { return l.Intercept + l.Slope*(x-l.At) }

// Scatter is points in a plane with the line fitted to them and, for
// comparison, the line that was expected.
type Scatter struct {
	Width, Height int
	ASCII         bool
	Styles        Styles

	X, Y          []float64 // NaN in either: no point
	Fit, Expected Line
	XUnit, YUnit  string
}

// Lines draws the scatter: Height lines, none wider than Width.
func (s Scatter) Lines() []string {
	if s.Width <= 0 || s.Height <= 0 {
		return nil
	}
	c := newCanvas(s.Width, s.Height, s.ASCII)
	xs, ys := s.points()
	xScale, yScale := CalmScale(xs), CalmScale(ys)
	if s.Width < 24 || s.Height < 5 || !xScale.Known() || !yScale.Known() {
		c.text(0, s.Height/2, clip("no points here", s.Width), axis)
		return c.lines(s.Styles)
	}
	rows := s.Height - 2
	left := s.drawFrame(c, rows, xScale, yScale)
	columns := s.Width - left - 1
	for i := range xs {
		dotX := int(xScale.fraction(xs[i]) * float64(columns*dotsWide-1))
		dotY := yScale.row(ys[i], rows*dotsHigh)
		if dotX >= 0 && dotX < columns*dotsWide && dotY >= 0 && dotY < rows*dotsHigh {
			c.dots((left+1)*dotsWide+dotX, dotY, dotY)
		}
	}
	// The lines share the columns between them: neither hides the other or the
	// points.
	s.drawLine(c, left+1, columns, rows, s.Expected, xScale, yScale, second)
	s.drawLine(c, left+1, columns, rows, s.Fit, xScale, yScale, reference)
	return c.lines(s.Styles)
}

func (s Scatter) points() (xs, ys []float64) {
	for i := range min(len(s.X), len(s.Y)) {
		if finite(s.X[i]) && finite(s.Y[i]) {
			xs, ys = append(xs, s.X[i]), append(ys, s.Y[i])
		}
	}
	return xs, ys
}

// drawFrame draws both axes with the values at their ends and returns the column
// of the value axis.
func (s Scatter) drawFrame(c *canvas, rows int, x, y Scale) int {
	bar, line, corner := '│', '─', '└'
	if s.ASCII {
		bar, line, corner = '|', '-', '+'
	}
	step := (y.High - y.Low) / float64(rows)
	top, bottom := Number(y.High, step), Number(y.Low, step)
	left := min(max(len(top), len(bottom), lipgloss.Width(s.YUnit))+1, s.Width/3)
	c.text(left-len(top)-1, 0, top, axis)
	c.text(left-len(bottom)-1, rows-1, bottom, axis)
	c.text(left-lipgloss.Width(s.YUnit)-1, rows, s.YUnit, axis)
	for row := range rows {
		c.put(left, row, bar, axis)
	}
	c.put(left, rows, corner, axis)
	for column := left + 1; column < s.Width; column++ {
		c.put(column, rows, line, axis)
	}
	xStep := (x.High - x.Low) / 20
	low, high := Number(x.Low, xStep), Number(x.High, xStep)
	c.text(left+1, rows+1, low, axis)
	if unit := lipgloss.Width(s.XUnit); left+len(low)+unit+len(high)+4 <= s.Width {
		c.text(left+(s.Width-left-unit)/2, rows+1, s.XUnit, axis)
	}
	c.text(s.Width-len(high), rows+1, high, axis)
	return left
}

func (s Scatter) drawLine(c *canvas, start, columns, rows int, l Line, x, y Scale, r role) {
	glyph, first := '•', 0
	if s.ASCII {
		glyph = '*'
	}
	if r == second {
		glyph, first = '∘', 2
		if s.ASCII {
			glyph = 'o'
		}
	}
	for column := first; column < columns; column += 4 {
		at := x.Low + (x.High-x.Low)*(float64(column)+0.5)/float64(columns)
		v := l.value(at)
		if row := y.row(v, rows); finite(v) && row >= 0 && row < rows {
			c.put(start+column, row, glyph, r)
			c.at(start+column, row).dots = 0
		}
	}
}
