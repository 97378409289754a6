package ingest

import (
	"bytes"
	"fmt"
	"hash/maphash"

	"dawncrest/rf/series"
)

// result is what one block came to.
type result struct {
	pieces   []piece
	stamps   []stamp
	changes  []change
	reasons  []spoken
	sparse   []sparseReading
	steps    []cellStep
	refused  []refusal
	counts   []signalCounts // by signal
	odd      map[oddWord]oddCount
	outside  int
	beyond   bool // some of these lie behind the span
	headers  int  // header lines met again
	stop     stopReason
	stopAt   int // where the rest of the block begins
	stopLine int
}

// piece is the part of a cell that came from one block.
type piece struct {
	signal int32
	start  int64 // of the cell
	cell   series.Cell
}

// stamp is one row that was kept.
type stamp struct {
	at   int64
	hash uint32
	key  int32
	line int32
}

// change is a reading of a counter or state that differs from the one before in
// its block, or is the first there.
type change struct {
	signal int32
	at     int64
	value  float64
}

// spoken is a word in a column of trip reasons.
type spoken struct {
	signal int32
	at     int64
	text   string
}

// sparseReading is a reading that holds until the next one.
type sparseReading struct {
	signal int32
	at     int64
	value  float64
}

type refusal struct {
	line int
	why  *rowError
	row  []byte
}

// signalCounts are the readings of one signal that were not to be had.
type signalCounts struct {
	empty      uint32 // nothing, or a word for nothing
	words      uint32 // anything else that is no number
	impossible uint32 // a number outside the physical range
	codes      uint32 // a number that stands for nothing
	negative   uint32 // taken by magnitude
	oddLine    int32  // of the first impossible one
	oddValue   float64
	oddAt      int64
}

type oddWord struct {
	signal int32
	word   string
}

type oddCount struct{ count, line int }

// oddWordsKept bounds the words that are remembered of one block.
const oddWordsKept = 100

// stopReason says why a parser left a block before its end.
type stopReason uint8

const (
	stopNot    stopReason = iota
	stopHeader            // another header stands here
	stopAsk               // only who knows the rows before can go on
)

// clockReach is how far from its neighbours a time is believed: a clock that was
// reset shows years.
const clockReach = 400 * 86400 * int64(1e9)

// parser turns blocks of one file into results. One that works ahead of the others
// keeps to what a block shows by itself; one with a judge asks it about each row.
type parser struct {
	schema *schema
	book   *signals
	times  timeReader
	width  int64
	from   int64
	to     int64
	words  map[string]bool // words for nothing
	keep   bool            // the refused rows themselves are wanted
	skipTo int             // lines up to this one are header and what stands above
	skip   map[int]bool    // more lines that are neither rows nor to be refused
	judge  *judge
	seed   maphash.Seed

	treatments []treatment
	batch
	widths     []byte // of the cell above, by column
	sums       []sums
	touched    []int32
	start, end int64 // of the cell being summed
	bounds     []bounds
	groups     map[string]*group
	lastAt     []int64 // by group key
	lastState  []float64
	said       map[int32]string // last trip reason, by signal
	near       int64
	unit       string // of epoch times
	out        *result
	line       int
	headerAt   int // line of the last header met between rows
	scratch    []byte
}

// run parses a block from an offset on.
func (p *parser) run(b *block, from, line int, out *result) {
	p.out, p.line = out, line
	p.grow()
	for i := range p.lastAt {
		p.lastAt[i] = minTime
	}
	for i := range p.lastState {
		p.lastState[i] = missing
	}
	p.said = map[int32]string{}
	for at := from; at < len(b.data); {
		end, state := 0, rowWhole
		if b.quotes {
			end, state = rowEnd(b.data[at:], p.schema.separator, true)
		} else {
			end = bytes.IndexByte(b.data[at:], '\n') + 1
		}
		row := b.data[at : at+end : at+end]
		torn := b.torn && at+end == len(b.data)
		if p.line > p.skipTo && !p.skip[p.line] {
			if out.stop = p.row(b.data[at:], row, state, torn, b.nuls); out.stop != stopNot {
				out.stopAt, out.stopLine = at, p.line
				break
			}
		}
		p.line++
		if b.quotes {
			p.line += bytes.Count(row, []byte("\n")) - 1
		}
		at += end
	}
	p.flush()
	if out.stop == stopNot {
		out.stopAt = len(b.data)
	}
}

// setSchema makes the parser follow a header.
func (p *parser) setSchema(s *schema) {
	if p.schema == s {
		return
	}
	p.schema = s
	clear(p.groups)
}

const minTime = -1 << 63

// row takes one row; from is the text of the block from there on.
func (p *parser) row(from, row []byte, state rowState, torn, nuls bool) stopReason {
	if isComment(row) || row[0] == '\n' || row[0] == '\r' || row[0] <= ' ' && blankRow(row, p.schema.separator) {
		return stopNot
	}
	switch {
	case state == rowBadQuote:
		return p.refuse(row, &rowError{reason: "a quote is not closed as it should be"})
	case nuls && bytes.IndexByte(row, 0) >= 0:
		return p.refuse(row, &rowError{reason: "NUL bytes inside the line"})
	}
	filled, whole := p.fields(from, len(row))
	at, bad := p.time(filled)
	if bad != nil {
		return p.badRow(row, filled, bad)
	}
	switch {
	case torn:
		return p.refuse(row, &rowError{reason: "cut off: the last line has no line end, so its last value may be cut too"})
	case !whole && filled < len(p.schema.columns):
		return p.refuse(row, &rowError{reason: "too few cells", detail: fmt.Sprintf("%d cells where the header has %d", filled, len(p.schema.columns))})
	case !whole:
		return p.refuse(row, &rowError{reason: "too many cells", detail: fmt.Sprintf("more cells than the %d of the header", len(p.schema.columns))})
	}
	return p.keepRow(row, at)
}

// badRow deals with a row whose time was not understood: it may be empty, a header
// once more, or wrong.
func (p *parser) badRow(row []byte, filled int, bad *rowError) stopReason {
	if blankRow(row, p.schema.separator) {
		return stopNot
	}
	fields := readFields(row, p.schema.separator, 2*len(p.schema.columns)+16)
	if p.schema.isHeader(fields) {
		p.headerAt = p.line
		return p.repeatedHeader(fields)
	}
	if p.headerAt == p.line-1 && p.headerAt > 0 && isUnitsRow(fields) {
		return stopNot
	}
	if bad.reason == "no time" && filled < len(p.schema.columns) {
		bad = &rowError{reason: "too few cells", detail: fmt.Sprintf("%d cells where the header has %d, and no time", filled, len(p.schema.columns))}
	}
	if len(p.schema.times) > 0 && bad.reason != "too few cells" {
		named := *bad
		named.column = cellAt(p.schema.header, p.schema.times[0])
		bad = &named
	}
	return p.refuse(row, bad)
}

// isUnitsRow reports whether a row under a header gives units.
func isUnitsRow(fields [][]byte) bool {
	var words []string
	for _, field := range fields {
		words = append(words, cleanText(string(field)))
	}
	return unitsRow(words) != nil
}

func (p *parser) repeatedHeader(fields [][]byte) stopReason {
	same := true
	for c := range max(len(fields), len(p.schema.header)) {
		var name []byte
		if c < len(fields) {
			name = bytes.TrimPrefix(fields[c], []byte("\ufeff"))
		}
		same = same && cleanText(string(name)) == cellAt(p.schema.header, c)
	}
	if !same {
		return stopHeader
	}
	p.out.headers++
	return stopNot
}

func (p *parser) refuse(row []byte, why *rowError) stopReason {
	r := refusal{line: p.line, why: why}
	if p.keep {
		r.row = bytes.Clone(row)
	}
	p.out.refused = append(p.out.refused, r)
	return stopNot
}

// fields reads the cells of the row that text begins with into values and text of
// the parser. It returns how many cells there are, up to the number of columns, and
// whether they are as many as the header has, give or take empty ones at the end.
func (p *parser) fields(text []byte, length int) (filled int, whole bool) {
	columns := p.schema.columns
	for c, i := 0, 0; ; c++ {
		n, next := readRun(text, i, p.schema.separator, p.schema.marks[c:], p.widths[c:], p.numbers[c:], p.pending)
		c, i = c+n, next
		if c == len(columns) {
			return c, blankRow(text[i:length], p.schema.separator)
		}
		if i = p.cell(text, i, c); text[i] != p.schema.separator {
			return c + 1, p.emptyFrom(c + 1)
		}
		if i++; c+1 == len(columns) {
			return c + 1, blankRow(text[i:length], p.schema.separator)
		}
	}
}

// cell reads one cell of whatever kind and returns the index of the separator or
// line end behind it.
func (p *parser) cell(text []byte, i, c int) (next int) {
	column := &p.schema.columns[c]
	if column.role == roleNumber {
		if v, next, ok := wrappedNumber(text, i, column.mark); ok && (text[next] == p.schema.separator || text[next] == '\n' || text[next] == '\r') {
			p.numbers[c][p.pending] = v
			return next
		}
	}
	field, next := readField(text, i, p.schema.separator)
	field = trimBlanks(field)
	p.numbers[c][p.pending], p.text[c] = missing, field
	if column.role == roleNumber && len(field) > 0 {
		if v, ok := slowNumber(field, column.mark, column.grouped); ok {
			p.numbers[c][p.pending] = v
		}
	}
	return next
}

// wrappedNumber reads a number, also behind blanks or between quotes.
func wrappedNumber(text []byte, i int, mark byte) (v float64, next int, ok bool) {
	switch text[i] {
	case ' ':
		for text[i] == ' ' {
			i++
		}
		return readNumber(text, i, mark)
	case '"':
		v, next, ok = readNumber(text, i+1, mark)
		return v, next + 1, ok && text[next] == '"'
	}
	return readNumber(text, i, mark)
}

// emptyFrom reports whether the columns from c on may be left out of a row: those
// without a name may. Their cells are set empty.
func (p *parser) emptyFrom(c int) bool {
	whole := true
	for ; c < len(p.schema.columns); c++ {
		p.numbers[c][p.pending], p.text[c] = missing, nil
		whole = whole && p.schema.columns[c].role == roleNothing
	}
	return whole
}
