package ingest

// batchRows is how many rows wait to be taken together: what is known of a signal
// then stays at hand for as many readings.
const batchRows = 8

// batch is the rows of one cell that were read and not yet taken. The row being
// read is the one behind them.
type batch struct {
	values []float64 // of the row being read, by column
	text   [][]byte  // what stood in each column, where it was no number

	columns int
	matrix  []float64
	texts   [][]byte
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
	if b.columns == columns {
		return
	}
	b.columns = columns
	if len(b.matrix) < batchRows*columns {
		b.matrix = make([]float64, batchRows*columns)
		b.texts = make([][]byte, batchRows*columns)
	}
	b.face(0)
}

// face turns values and text to a row of the batch.
func (b *batch) face(row int) {
	from, to := row*b.columns, (row+1)*b.columns
	b.values, b.text = b.matrix[from:to], b.texts[from:to]
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
	values, text := p.values, p.text
	p.pending = 0
	p.face(0)
	copy(p.values, values)
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

// takeColumn adds the pending readings of one signal. What it needs of sums and
// treatment is held in variables meanwhile, where a processor has them at hand.
func (p *parser) takeColumn(s *sums, number int32, c int) {
	t := &p.treatments[number]
	least, most, scale, offset, bend := t.low, t.high, t.scale, t.offset, t.bend
	count, first, sum, square, low, high, last := s.count, s.first, s.sum, s.square, s.low, s.high, s.last
	wanted := t.special&isStep != 0 || p.schema.sparse
	for r, i := 0, c; r < p.pending; r, i = r+1, i+p.columns {
		v := p.matrix[i]
		if v >= least && v <= most { // false for a value that is missing
			v = v*scale + offset
		} else if v = p.secondLook(number, p.texts[i], v, p.rows[r]); v != v {
			continue
		}
		if count == 0 {
			first, low, high, sum, square = v, v, v, 0, 0
		}
		d := v - first
		if d > bend || d < -bend {
			v = onto(v, first)
			d = v - first
		}
		count++
		sum += d
		square += d * d
		if v < low {
			low = v
		}
		if v > high {
			high = v
		}
		last = v
		if wanted {
			p.note(t, number, v, p.rows[r].at)
		}
	}
	*s = sums{count, first, sum, square, low, high, last}
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
