package chart

import (
	"math"
	"slices"
	"time"

	"github.com/charmbracelet/lipgloss"
)

// Series is one run of values, one to a cell of time. Min and Max may be nil;
// the mean then stands for them.
type Series struct{ Mean, Min, Max []float64 }

// Limits are the levels drawn across a plot; NaN draws none.
type Limits struct {
	Reference         float64
	DriftLow, DriftUp float64
	ActLow, ActUp     float64
}

// NoLimits draws no levels.
var NoLimits = Limits{math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN()}

// Plot is one or two series over time in a box.
type Plot struct {
	Width, Height int
	ASCII         bool
	Styles        Styles

	Unit     string
	Series   Series
	Second   []float64 // same cells as Series; nil: none
	Limits   Limits
	From, To time.Time
	Zone     *time.Location
	MarkFrom time.Time // span that the axis marks: where the reference was taken
	MarkTo   time.Time
	Cursor   int  // cell under the cursor; below 0: none
	Close    bool // scaled to the readings alone, limits or not
}

// Lines draws the plot: Height lines, none wider than Width.
func (p Plot) Lines() []string {
	if p.Width <= 0 || p.Height <= 0 {
		return nil
	}
	if p.Zone == nil {
		p.Zone = time.UTC
	}
	scale := CalmScale(p.values(), p.levels()...)
	l := p.layout(scale)
	c := newCanvas(p.Width, p.Height, p.ASCII)
	if scale.Known() {
		p.drawLimits(c, l, scale)
		p.drawSecond(c, l, scale)
		p.drawTrace(c, l, scale)
	} else if l.rows > 0 {
		c.text(l.left+1, l.rows/2, clip("no readings here", l.columns-1), axis)
	}
	p.drawAxis(c, l)
	return c.lines(p.Styles)
}

// layout is where the parts of a plot stand in its box.
type layout struct {
	left    int // first column of the trace
	columns int // of the trace
	rows    int // of the trace; the time axis stands below
	axis    bool
	labels  []levelLabel
}

type levelLabel struct {
	row  int
	text string
	tag  string
}

const tagWidth = 6 // " drift"

func (p Plot) layout(scale Scale) layout {
	l := layout{rows: p.Height, columns: p.Width}
	if p.Height >= 4 {
		l.rows, l.axis = p.Height-2, true
	}
	if p.Width < 24 || !l.axis {
		return l
	}
	gutter := lipgloss.Width(p.Unit) + 1
	if scale.Known() {
		l.labels = p.levelLabels(scale, l.rows)
	}
	tags := false
	for _, label := range l.labels {
		gutter = max(gutter, len(label.text)+1)
		tags = tags || label.tag != ""
	}
	l.left = min(gutter, p.Width/3)
	l.columns = p.Width - l.left - 1
	if tags && l.columns > 8*tagWidth {
		l.columns -= tagWidth
	}
	return l
}

// levels returns the levels that the scale must hold: the reference and the
// drift limits always, the outer limits where the readings come near them.
func (p Plot) levels() []float64 {
	if p.Close {
		return nil
	}
	levels := []float64{p.Limits.Reference, p.Limits.DriftLow, p.Limits.DriftUp}
	inner := CalmScale(p.values(), levels...)
	for _, act := range []float64{p.Limits.ActLow, p.Limits.ActUp} {
		if f := inner.fraction(act); f > -0.6 && f < 1.6 {
			levels = append(levels, act)
		}
	}
	return levels
}

// values are what the scale must hold.
func (p Plot) values() []float64 {
	if p.Close {
		return p.Series.Mean
	}
	return slices.Concat(p.Series.Mean, p.Second)
}

// levelLabels names the rows of the scale, the more telling levels first.
func (p Plot) levelLabels(scale Scale, rows int) []levelLabel {
	step := (scale.High - scale.Low) / float64(2*rows)
	var labels []levelLabel
	taken := map[int]bool{}
	add := func(v float64, tag string) {
		row := scale.row(v, rows)
		if !finite(v) || row < 0 || row >= rows || taken[row] {
			return
		}
		taken[row] = true
		labels = append(labels, levelLabel{row, Number(v, step), tag})
	}
	add(p.Limits.Reference, "ref")
	add(p.Limits.ActLow, "out")
	add(p.Limits.ActUp, "out")
	add(p.Limits.DriftLow, "drift")
	add(p.Limits.DriftUp, "drift")
	half := (scale.High - scale.Low) / float64(2*rows)
	for _, end := range []struct {
		row int
		v   float64
	}{{0, scale.High - half}, {rows - 1, scale.Low + half}} {
		if !taken[end.row] && !taken[end.row+1] && !taken[end.row-1] {
			taken[end.row] = true
			labels = append(labels, levelLabel{end.row, Number(end.v, step), ""})
		}
	}
	return labels
}

func (p Plot) drawLimits(c *canvas, l layout, scale Scale) {
	drift, act, ref := '┄', '─', '╌'
	if p.ASCII {
		drift, act, ref = ':', '=', '_'
	}
	across := func(v float64, glyph rune, r role) {
		row := scale.row(v, l.rows)
		if !finite(v) || row < 0 || row >= l.rows {
			return
		}
		for x := range l.columns {
			c.put(l.start()+x, row, glyph, r)
		}
	}
	across(p.Limits.DriftLow, drift, driftLimit)
	across(p.Limits.DriftUp, drift, driftLimit)
	across(p.Limits.ActLow, act, actLimit)
	across(p.Limits.ActUp, act, actLimit)
	across(p.Limits.Reference, ref, reference)
	for _, label := range l.labels {
		c.text(l.left-len(label.text)-1, label.row, label.text, axis)
		if l.start()+l.columns+tagWidth <= p.Width {
			c.text(l.start()+l.columns+1, label.row, label.tag, axis)
		}
	}
}

// start is the first column that the trace may use; the value axis stands left
// of it.
func (l layout) start() int {
	if l.left == 0 {
		return 0
	}
	return l.left + 1
}

func (p Plot) drawTrace(c *canvas, l layout, scale Scale) {
	up, down := '↑', '↓'
	if p.ASCII {
		up, down = '^', 'v'
	}
	dotRows := l.rows * dotsHigh
	previous, usual := reach{}, p.Series.usualReach()
	dots := l.columns * dotsWide
	for d := range dots {
		span := p.Series.reach(d, dots, usual)
		if !span.known {
			previous = span
			continue
		}
		x := l.start()*dotsWide + d
		top, bottom := scale.row(span.high, dotRows), scale.row(span.low, dotRows)
		if top < 0 {
			c.put(x/dotsWide, 0, up, trace)
		}
		if bottom >= dotRows {
			c.put(x/dotsWide, l.rows-1, down, trace)
		}
		if top < dotRows && bottom >= 0 {
			c.dots(x, max(top, 0), min(bottom, dotRows-1))
		}
		if previous.known {
			p.join(c, x, scale, dotRows, previous, span)
		}
		previous = span
	}
	p.keepArrows(c, l, up, down)
}

// join fills the dots between two neighbouring columns that do not touch.
func (p Plot) join(c *canvas, x int, scale Scale, dotRows int, from, to reach) {
	clampRow := func(v float64) int { return min(max(scale.row(v, dotRows), 0), dotRows-1) }
	if to.low > from.high {
		c.dots(x, clampRow(to.low), clampRow(from.high))
	} else if to.high < from.low {
		c.dots(x, clampRow(to.high), clampRow(from.low))
	}
}

// keepArrows takes the dots away from cells whose reading left the scale.
func (p Plot) keepArrows(c *canvas, l layout, up, down rune) {
	for x := l.start(); x < l.start()+l.columns; x++ {
		for _, y := range []int{0, l.rows - 1} {
			if at := c.at(x, y); at != nil && at.role == trace && (at.glyph == up || at.glyph == down) {
				at.dots = 0
			}
		}
	}
}

func (p Plot) drawSecond(c *canvas, l layout, scale Scale) {
	glyph := '∘'
	if p.ASCII {
		glyph = 'o'
	}
	s := Series{Mean: p.Second}
	for x := range l.columns {
		span := s.reach(x, l.columns, 0)
		if row := scale.row(span.low/2+span.high/2, l.rows); span.known && row >= 0 && row < l.rows {
			c.put(l.start()+x, row, glyph, second)
		}
	}
}
