package ingest

import (
	"fmt"
	"math"

	"dawncrest/rf/series"
)

// mostInCell bounds the count of a cell: more readings than any logger takes in
// one, few enough that counts can be added.
const mostInCell = 1e9

// A mean may lie outside the extremes by rounding of the size of the readings, for
// databases add in single precision, and by dust where all of them are zero and
// larger ones of the same column went into the sum.
const (
	rounding = 1e-6
	dust     = 1e-6
)

// reduced is what one row of a cells log says.
type reduced struct {
	cell   series.Cell // in the native unit; the zero Cell where there was no reading
	signal int32
}

// readCell reads the parts of a cell from the row whose fields were read. The
// error is for what no readings can come to, and for what cannot be told from
// reduced readings.
func (p *parser) readCell(g *group) (reduced, *rowError) {
	at := p.schema.cells
	number := g.signals[at.mean]
	t := &p.treatments[number]
	switch {
	case t.special&isLevel != 0:
		return reduced{}, &rowError{reason: "a mean of decibels is not the mean of the power: turn readings into W, kW or MW in the query before they are averaged"}
	case t.special&isReason != 0:
		return reduced{}, &rowError{reason: "trip reasons are words: a cell cannot hold them"}
	}
	c, why := p.cellAsWritten()
	if why != nil || c.Count == 0 {
		return reduced{signal: number}, why
	}
	if why := possible(c); why != nil {
		return reduced{}, why
	}
	if c, why = t.native(c); why != nil {
		return reduced{}, why
	}
	return reduced{c, number}, nil
}

// cellAsWritten returns the parts of the row in the unit of the log, without
// readings where it has none. M2 and Last are made up from the others.
func (p *parser) cellAsWritten() (series.Cell, *rowError) {
	at := p.schema.cells
	count, mean, low, high, sd := p.numbers[at.count][p.pending], p.numbers[at.mean][p.pending], p.numbers[at.min][p.pending], p.numbers[at.max][p.pending], p.numbers[at.sd][p.pending]
	switch {
	case count != count:
		return series.Cell{}, p.notNumber("count", at.count)
	case count < 0 || count != math.Trunc(count):
		return series.Cell{}, &rowError{reason: "count is no whole number of readings", detail: fmt.Sprintf("count %s is no whole number of readings", significant(count)), column: "count"}
	case count > mostInCell:
		return series.Cell{}, &rowError{reason: "count is beyond a thousand million readings", column: "count"}
	case count == 0 || mean != mean && p.noValue(at.mean):
		return series.Cell{}, nil
	case mean != mean:
		return series.Cell{}, p.notNumber("mean", at.mean)
	case low != low:
		return series.Cell{}, p.notNumber("min", at.min)
	case high != high:
		return series.Cell{}, p.notNumber("max", at.max)
	case sd != sd && !p.noValue(at.sd):
		return series.Cell{}, p.notNumber("sd", at.sd)
	case sd < 0:
		return series.Cell{}, &rowError{reason: "sd below zero", detail: "sd " + significant(sd) + " is below zero", column: "sd"}
	case low == high:
		sd = 0 // else what a database leaves of the difference of two large sums
	case sd != sd && count > 1:
		return series.Cell{}, &rowError{reason: "no sd in a cell of several readings", column: "sd"}
	case sd != sd:
		sd = 0
	}
	return series.Cell{Count: uint32(count), Mean: mean, M2: sd * sd * (count - 1), Min: low, Max: high}, nil
}

// noValue reports whether a column of the row stands empty or holds a word for
// nothing, as databases write NULL.
func (p *parser) noValue(c int) bool {
	return len(p.text[c]) == 0 || p.words[lowerWord(p.text[c])]
}

func (p *parser) notNumber(part string, c int) *rowError {
	if p.noValue(c) {
		return &rowError{reason: "no " + part, column: part}
	}
	return &rowError{reason: part + " is no number", detail: fmt.Sprintf("%s %q is no number", part, shownWord(string(p.text[c]))), column: part}
}

// possible tells what is wrong with a cell that no readings can come to.
func possible(c series.Cell) *rowError {
	slack := dust + rounding*max(math.Abs(c.Min), math.Abs(c.Max))
	say := func(reason, column string) *rowError {
		return &rowError{reason: reason, column: column, detail: fmt.Sprintf("%s: count %d, mean %s, min %s, max %s, sd %s",
			reason, c.Count, significant(c.Mean), significant(c.Min), significant(c.Max), significant(c.StdDev()))}
	}
	switch {
	case c.Max < c.Min:
		return say("max below min", "max")
	case c.Mean < c.Min-slack || c.Mean > c.Max+slack:
		return say("mean outside min and max", "mean")
	case c.Count == 1 && c.Max-c.Min > slack:
		return say("one reading, and min differs from max", "count")
	case c.Count > 1 && c.StdDev() > c.Max-c.Min+slack:
		return say("sd greater than the span from min to max", "sd")
	}
	return nil
}

// native returns a cell in the native unit of its quantity. M2 scales with the
// square, and a scale below zero turns the extremes round.
func (t *treatment) native(c series.Cell) (series.Cell, *rowError) {
	convert := conversion{scale: t.scale, offset: t.offset}
	c.Mean, c.Min, c.Max = convert.of(c.Mean), convert.of(c.Min), convert.of(c.Max)
	c.M2 *= t.scale * t.scale
	if t.scale < 0 {
		c.Min, c.Max = c.Max, c.Min
	}
	c.Mean = min(max(c.Mean, c.Min), c.Max)
	if t.special&isMagnitude != 0 && c.Min < 0 && c.Max > 0 {
		return c, &rowError{reason: "readings of both signs in a quantity that is taken by magnitude: take the magnitude in the query before they are averaged"}
	}
	if c.Max-c.Min > t.bend {
		return c, &rowError{reason: "a phase that runs over more than half a turn in one cell: unwrap it, or shift it by 180 degrees, in the query before it is averaged"}
	}
	return c, nil
}

// takeCell takes what a row says into the pieces of the block, unless some of the
// readings in it cannot be readings: then its mean is of no use.
func (p *parser) takeCell(r reduced, at int64) {
	c, t, counts := r.cell, &p.treatments[r.signal], &p.out.counts[r.signal]
	if c.Count == 0 {
		counts.empty++
		return
	}
	if t.special&isMagnitude != 0 && c.Min < 0 {
		counts.negative++
		c.Mean, c.Min, c.Max = -c.Mean, -c.Max, -c.Min
	}
	for _, v := range [...]float64{c.Min, c.Max} {
		if p.codeForNothing(t, v) {
			counts.codes++
			return
		}
		if b := p.bounds[r.signal]; !(v >= b.low && v <= b.high) {
			if counts.impossible == 0 {
				counts.oddLine, counts.oddValue, counts.oddAt = int32(p.line), v, at
			}
			counts.impossible++
			return
		}
	}
	c.Last = lastOf(c)
	p.out.pieces = append(p.out.pieces, piece{r.signal, floorTo(at, p.width), c})
	if t.special&isStep != 0 {
		p.out.steps = append(p.out.steps, cellStep{r.signal, at, c.Min, c.Max})
	}
}

// codeForNothing reports whether an extreme, in the native unit, is a number that
// stands for no value.
func (p *parser) codeForNothing(t *treatment, v float64) bool {
	written := (v - t.offset) / t.scale
	for _, code := range p.book.codes {
		if math.Abs(written-code) <= 1e-12*math.Abs(code) {
			return true
		}
	}
	return t.special&isOpen != 0 && isNoValueCode(written)
}

// lastOf returns a reading to stand for the last one of a cell, which is not told:
// the extreme nearer to the mean, so that it is a reading, and where a set value
// was moved in the cell the one that held for longer.
func lastOf(c series.Cell) float64 {
	if c.Mean-c.Min <= c.Max-c.Mean {
		return c.Min
	}
	return c.Max
}
