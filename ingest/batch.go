package ingest

// batchRows is how many rows wait to be taken together: what is known of a signal
// then stays at hand for as many readings.
const batchRows = 16

// column holds the numbers of one column in the rows of a batch.
type column [batchRows]float64

// batch is the rows of one cell that were read and not yet taken. The row being
// read is the one behind them.
type batch struct {
	numbers []column // NaN where there is none
	text    [][]byte // what stood in each column of the row being read, where it was no number

	texts   [][]byte // row by row
	rows    [batchRows]pendingRow
	pending int
	of      *group // the signals of the pending rows
}

// pendingRow is where a row stands.
type pendingRow struct {
	at   int64
	line int
}

// fit makes room for rows of as many columns; no row is pending or being read then.
func (b *batch) fit(columns int) {
	if len(b.numbers) == columns {
		return
	}
	if cap(b.numbers) < columns {
		b.numbers = make([]column, columns)
		b.texts = make([][]byte, batchRows*columns)
	}
	b.numbers = b.numbers[:columns]
	b.face(0)
}

// face turns text to a row of the batch.
func (b *batch) face(row int) {
	columns := len(b.numbers)
	b.text = b.texts[row*columns : (row+1)*columns]
}

// forget drops what is pending, so that only the room is left.
func (b *batch) forget() {
	clear(b.texts)
	b.pending, b.of = 0, nil
	b.face(0)
}

// pend lets the row that was read wait.
func (p *parser) pend(g *group, at int64) {
	if p.pending > 0 && p.of != g {
		p.drain()
	}
	p.of = g
	p.rows[p.pending] = pendingRow{at, p.line}
	if p.pending++; p.pending == batchRows {
		p.take()
		p.pending = 0
	}
	p.face(p.pending)
}

// drain takes the pending rows. The row that was read behind them, if any, comes
// to stand first.
func (p *parser) drain() {
	if p.pending == 0 {
		return
	}
	p.take()
	text := p.text
	for c := range p.numbers {
		p.numbers[c][0] = p.numbers[c][p.pending]
	}
	p.pending = 0
	p.face(0)
	copy(p.text, text)
}

// take adds the pending rows to the sums of their cell, signal by signal.
func (p *parser) take() {
	for c, number := range p.of.signals {
		if number < 0 || p.treatments[number].special&isReason != 0 {
			continue
		}
		s := &p.sums[number]
		if s.count == 0 {
			p.touched = append(p.touched, number)
		}
		p.takeColumn(s, number, c)
	}
}

// takeColumn adds the pending readings of one signal: at once where none of them
// needs a second look, as nearly always.
func (p *parser) takeColumn(s *sums, number int32, c int) {
	t := &p.treatments[number]
	readings := p.numbers[c][:p.pending]
	still := t.special&isStep == 0 || t.allAt(readings, p.lastState[number])
	if still && !p.schema.sparse && s.addPlain(t, readings) {
		return
	}
	for r, v := range readings {
		if v >= t.low && v <= t.high { // false for a value that is missing
			v = v*t.scale + t.offset
		} else if v = p.secondLook(number, p.texts[r*len(p.numbers)+c], v, p.rows[r]); v != v {
			continue
		}
		if s.count == 0 {
			s.first, s.low, s.high, s.sum, s.square = v, v, v, 0, 0
		}
		if d := v - s.first; d > t.bend || d < -t.bend {
			v = onto(v, s.first)
		}
		s.add(v)
		if t.special&isStep != 0 || p.schema.sparse {
			p.note(t, number, v, p.rows[r].at)
		}
	}
}

// note keeps a reading that more than its cell is wanted of: a counter or state
// that changed, or a value that holds until the next one.
func (p *parser) note(t *treatment, number int32, v float64, at int64) {
	if t.special&isStep != 0 && v != p.lastState[number] {
		p.lastState[number] = v
		p.out.changes = append(p.out.changes, change{number, at, v})
	}
	if p.schema.sparse {
		p.out.sparse = append(p.out.sparse, sparseReading{number, at, v})
	}
}
