package ingest

import (
	"math"
	"slices"
	"time"

	"dawncrest/rf/series"
)

// gapsKept bounds how many gaps of a file are told one by one.
const gapsKept = 20

// stream is one file while it is read: what its blocks come to, in order.
type stream struct {
	night   *builder
	source  *source
	file    *series.File
	book    *signals
	schema  *schema
	rejects *rejects
	judge   *judge
	totals  []total
	odd     map[oddWord]oddCount
	keys    []*history
	latest  int64
	gap     int64 // a longer step than this is a gap
	slow    int   // gaps in a row
	headers int
	schemas []*schema // one for each header
	reorder lines     // header lines with other columns
	nuls    int       // NUL bytes left out between the lines
	held    bool      // values stand from before the span asked for
	beyond  bool      // rows come behind it
	part    *partFile // nil, or what remembers where the rows stand
	span    extent    // of the rows of a block
	broken  bool      // read only in part
	failed  error     // why it could not be read
}

// extent is the times from the first to the last; empty where first is later.
type extent struct{ first, last int64 }

var noExtent = extent{math.MaxInt64, minTime}

func (e *extent) take(at int64) { e.first, e.last = min(e.first, at), max(e.last, at) }

// total is the account of one signal over a file.
type total struct {
	counts   signalCounts
	readings int
	low      float64
	high     float64
	sum      float64
}

// add takes the readings of a cell.
func (t *total) add(c series.Cell) {
	if t.readings == 0 {
		t.low, t.high = c.Min, c.Max
	}
	t.low, t.high = min(t.low, c.Min), max(t.high, c.Max)
	t.readings += int(c.Count)
	t.sum += c.Mean * float64(c.Count)
}

func newStream(b *builder, s *source) *stream {
	failed := s.layOut(b)
	st := &stream{night: b, source: s, failed: failed, file: &s.file, book: s.book, schema: s.schema, latest: minTime, span: noExtent, odd: map[oddWord]oddCount{}}
	st.schemas = []*schema{s.schema}
	st.rejects = &rejects{file: st.file, counts: map[string]int{}, writer: b.rejected}
	st.judge = &judge{histories: st.history, room: b.room, near: s.first, fileLast: map[int]int64{}, day: s.day, unit: s.dialect.epochUnit}
	if b.options.Parts != nil {
		st.part = b.options.Parts.of(s, b.forked)
	}
	st.gap = max(int64(s.dialect.step)*5/2, int64(10*time.Second))
	return st
}

// readFrom returns from when on rows of a file are read: where values hold until the
// next one, those that hold into the span asked for stand before it.
func (b *builder) readFrom(sparse bool) int64 {
	if !sparse || b.from == math.MinInt64 {
		return b.from
	}
	return b.from - b.holder.age
}

// history returns what is remembered of the rows of a group, over all files.
func (s *stream) history(key int) *history {
	for len(s.keys) <= key {
		s.keys = append(s.keys, nil)
	}
	if s.keys[key] == nil {
		s.keys[key] = s.night.history(s.book.signalsOf(key, s.source.schema.whole))
	}
	return s.keys[key]
}

// fresh reports whether every row of a result is later than all before it, so that
// it can be taken as it is.
func (s *stream) fresh(r *result) bool {
	seen := map[int32]bool{}
	for _, row := range r.stamps {
		if s.schema.whole != nil {
			return row.at > s.history(0).last
		}
		if !seen[row.key] {
			seen[row.key] = true
			if row.at <= s.history(int(row.key)).last {
				return false
			}
		}
	}
	return true
}

// remember notes the rows of a result that no judge has seen.
func (s *stream) remember(r *result) {
	room := s.night.room()
	for _, row := range r.stamps {
		s.history(int(row.key)).push(row.at, row.hash, room)
		s.judge.fileLast[int(row.key)] = row.at
		s.judge.near = row.at
	}
}

// commit takes what a block came to into the night.
func (s *stream) commit(r *result) {
	for len(s.totals) < len(r.counts) {
		s.totals = append(s.totals, total{})
	}
	s.commitRows(r)
	s.beyond = s.beyond || r.beyond
	list := s.book.all()
	for _, p := range r.pieces {
		s.totals[p.signal].add(p.cell)
		if channel := list[p.signal].channel; channel >= 0 && !s.schema.sparse {
			s.night.grid.store(channel, p.start, p.cell)
		}
	}
	for i, c := range r.counts {
		s.totals[i].counts.add(c)
	}
	for _, c := range r.changes {
		if sig := list[c.signal]; sig.channel >= 0 && c.at < s.night.from {
			s.night.events.stood(sig.channel, c)
		} else if sig.channel >= 0 {
			s.night.events.take(sig.channel, sig, c)
		}
	}
	for _, step := range r.steps {
		if sig := list[step.signal]; sig.channel >= 0 {
			s.night.events.takeCell(sig.channel, sig, step, s.source.dialect.step)
		}
	}
	for _, said := range r.reasons {
		if sig := list[said.signal]; sig.quantity != "" && said.at >= s.night.from {
			s.night.events.speak(sig.place, said)
		}
	}
	for _, reading := range r.sparse {
		if channel := list[reading.signal].channel; channel >= 0 {
			reading.at = max(reading.at, s.night.from)
			s.night.holder.take(channel, reading)
		}
	}
	for _, refused := range r.refused {
		s.rejects.add(refused.line, refused.why, refused.row)
	}
	for word, c := range r.odd {
		seen, known := s.odd[word]
		if !known && len(s.odd) >= 4*oddWordsKept {
			continue
		}
		if !known {
			seen.line = c.line
		}
		seen.count += c.count
		s.odd[word] = seen
	}
	s.file.RowsOutside += r.outside
	s.headers += r.headers
}

func (s *stream) commitRows(r *result) {
	s.schema.rows += len(r.stamps)
	for _, row := range r.stamps {
		if row.at < s.night.from {
			s.file.RowsOutside++
			s.held = true
			continue
		}
		s.file.RowsKept++
		s.span.take(row.at)
		at := utc(row.at)
		if s.file.First.IsZero() || at.Before(s.file.First) {
			s.file.First = at
		}
		if row.at <= s.latest {
			s.fillGap(row.at)
			continue
		}
		if s.latest != minTime && !s.schema.sparse {
			s.step(row.at)
		}
		s.latest = row.at
	}
	if s.latest != minTime {
		s.file.Last = utc(s.latest)
	}
}

// step books a gap where a row comes long after the one before. Rows that go on
// coming as slowly are no gaps: the logger was set to another pace.
func (s *stream) step(at int64) {
	const pace = 8
	if at-s.latest <= s.gap {
		s.slow = 0
		return
	}
	s.slow++
	s.file.GapCount++
	if len(s.file.Gaps) < gapsKept {
		s.file.Gaps = append(s.file.Gaps, series.Gap{From: utc(s.latest), To: utc(at)})
	}
	if s.slow == pace {
		s.gap = (at - s.latest) * 5 / 2
		s.file.GapCount -= pace - 1
		if n := len(s.file.Gaps); n < gapsKept {
			s.file.Gaps = s.file.Gaps[:n-pace+1]
		}
	}
}

// fillGap splits the gap into which a row falls that came late.
func (s *stream) fillGap(at int64) {
	row := utc(at)
	for i, g := range s.file.Gaps {
		if !row.After(g.From) || !row.Before(g.To) {
			continue
		}
		parts := slices.DeleteFunc([]series.Gap{{From: g.From, To: row}, {From: row, To: g.To}}, func(g series.Gap) bool {
			return g.To.Sub(g.From) <= time.Duration(s.gap)
		})
		s.file.Gaps = slices.Replace(s.file.Gaps, i, i+1, parts...)
		s.file.GapCount += len(parts) - 1
		return
	}
}

func (c *signalCounts) add(o signalCounts) {
	if c.impossible == 0 && o.impossible > 0 {
		c.oddLine, c.oddValue, c.oddAt = o.oddLine, o.oddValue, o.oddAt
	}
	c.empty += o.empty
	c.words += o.words
	c.impossible += o.impossible
	c.codes += o.codes
	c.negative += o.negative
}

// missing returns how many values of a signal were not to be had. A column of
// words that was not understood is text, and none is missing there.
func (t *total) missing(sig *signal) int {
	if sig.quantity == "" && t.readings == 0 && t.counts.words > 0 {
		return 0
	}
	return int(t.counts.empty + t.counts.words)
}

// columns returns the account of every signal of the file.
func (s *stream) columns() []series.Column {
	out := make([]series.Column, 0, len(s.book.list))
	for i, sig := range s.book.list {
		var t total
		if i < len(s.totals) {
			t = s.totals[i]
		}
		name := series.ColumnName{Header: sig.text, Place: sig.place, Quantity: sig.quantity, Unit: sig.unit, Guess: sig.guess}
		if sig.quantity != "" {
			name.Scale = sig.words(sig.info.Unit)
		} else if name.Guess == "" && t.readings == 0 && t.counts.words > 0 {
			name.Guess = "words, not readings"
		}
		c := series.Column{ColumnName: s.night.sharedName(name), Readings: t.readings, Missing: t.missing(sig), Impossible: int(t.counts.impossible + t.counts.codes), Min: t.low, Max: t.high, Mean: t.sum / float64(t.readings)}
		if t.readings == 0 {
			c.Min, c.Max, c.Mean = math.NaN(), math.NaN(), math.NaN()
		}
		if s.schema.layout == LayoutWide {
			c.Missing += s.absent(int32(i), c)
		}
		if sig.channel >= 0 && s.schema.sparse && t.readings > 0 {
			c.Mean = s.night.grid.mean(sig.channel)
		}
		out = append(out, c)
	}
	return out
}

// sharedName returns a name of a column, the same one for all files.
func (b *builder) sharedName(name series.ColumnName) *series.ColumnName {
	shared, known := b.columns[name]
	if !known {
		shared = &name
		b.columns[name] = shared
	}
	return shared
}

// absent returns the rows that stand under a header without the column of a
// signal.
func (s *stream) absent(number int32, c series.Column) int {
	if c.Readings == 0 && c.Missing == 0 {
		return 0 // a column of words
	}
	rows := 0
	for _, schema := range s.schemas {
		if !slices.Contains(schema.whole.signals, number) {
			rows += schema.rows
		}
	}
	return rows
}
