package ingest

import (
	"bytes"
	"fmt"
	"hash/maphash"
	"slices"
	"strconv"
	"strings"
)

// time returns the instant of the row whose fields were read.
func (p *parser) time(filled int) (reading, *rowError) {
	times := p.schema.times
	if len(times) == 1 && times[0] < filled {
		return p.times.read(p.text[times[0]])
	}
	p.scratch = p.scratch[:0]
	for i, c := range times {
		if c >= filled {
			return reading{}, &rowError{reason: "no time"}
		}
		if i > 0 {
			p.scratch = append(p.scratch, ' ')
		}
		p.scratch = append(p.scratch, p.text[c]...)
	}
	return p.times.read(p.scratch)
}

// keepRow takes a row that is whole and has a time, unless it is a repeat or lies
// outside the span asked for.
func (p *parser) keepRow(row []byte, when reading) stopReason {
	g := p.group()
	if g == nil {
		return p.refuse(row, &rowError{reason: "too many channels", detail: fmt.Sprintf("one channel more than the limit Series = %d; --limit Series=NUMBER raises it", p.book.limit)})
	}
	var cell reduced
	if p.schema.cells != nil {
		var why *rowError
		if cell, why = p.readCell(g); why != nil {
			return p.refuse(row, why)
		}
	}
	hash := uint32(maphash.Bytes(p.seed, bytes.TrimRight(row, "\r\n")))
	at := when.at
	if p.judge == nil {
		odd := when.second != 0 || when.tod || when.unit != p.unit || at <= p.lastAt[g.key] || at-p.near > clockReach || p.near-at > clockReach
		if odd {
			return stopAsk
		}
	} else {
		verdict, why := p.judge.row(g.key, &at, when, hash, p.line)
		switch verdict {
		case rowRefused:
			return p.refuse(row, why)
		case rowNotUsed:
			return stopNot
		}
	}
	p.lastAt[g.key], p.near = at, at
	if at < p.from || at >= p.to {
		p.out.outside++
		p.out.beyond = p.out.beyond || at >= p.to
		return stopNot
	}
	p.out.stamps = append(p.out.stamps, stamp{at: at, hash: hash, key: int32(g.key), line: int32(p.line)})
	if p.schema.cells != nil {
		p.takeCell(cell, at)
		return stopNot
	}
	for _, c := range p.schema.spoken {
		if number := g.signals[c]; number >= 0 && p.treatments[number].special&isReason != 0 {
			p.reason(number, c, at)
		}
	}
	if at < p.start || at >= p.end {
		p.flush()
		p.start = floorTo(at, p.width)
		p.end = p.start + p.width
	}
	p.pend(g, at)
	return stopNot
}

func floorTo(at, width int64) int64 {
	rest := at % width
	if rest < 0 {
		rest += width
	}
	return at - rest
}

// group returns the signals of the row whose fields were read.
func (p *parser) group() *group {
	s := p.schema
	if s.whole != nil {
		return s.whole
	}
	p.scratch = append(p.scratch[:0], s.mark...)
	for _, c := range s.named() {
		if c >= 0 {
			p.scratch = append(p.scratch, p.text[c]...)
		}
		p.scratch = append(p.scratch, 0)
	}
	if g, ok := p.groups[string(p.scratch)]; ok {
		return g
	}
	name := bytes.Clone(p.scratch)
	g := p.book.group(string(name), func(g *group) { s.createGroup(p.book, g, p.text) })
	if g != nil {
		p.groups[string(name)] = g
		p.grow()
	}
	return g
}

// grow makes room for the signals and groups booked so far.
func (p *parser) grow() {
	var groups int
	p.treatments, p.bounds, groups = p.book.snapshot()
	p.batch.fit(len(p.schema.columns))
	for len(p.widths) < len(p.schema.columns) {
		p.widths = append(p.widths, 0)
	}
	for len(p.sums) < len(p.treatments) {
		p.sums = append(p.sums, sums{})
		p.lastState = append(p.lastState, missing)
	}
	for len(p.out.counts) < len(p.treatments) {
		p.out.counts = append(p.out.counts, signalCounts{})
	}
	for len(p.lastAt) < max(1, groups) {
		p.lastAt = append(p.lastAt, minTime)
	}
}

// secondLook returns a reading in the native unit that the quick range does not
// vouch for, NaN where there is none after all.
func (p *parser) secondLook(number int32, text []byte, v float64, row pendingRow) float64 {
	t := &p.treatments[number]
	counts := &p.out.counts[number]
	if v != v {
		if v = p.wordValue(number, text, t.special&isState != 0, row.line); v != v {
			return missing
		}
	}
	switch {
	case slices.Contains(p.book.codes, v):
		counts.empty++
		return missing
	case t.special&isOpen != 0 && isNoValueCode(v):
		counts.codes++
		return missing
	}
	v = conversion{t.scale, t.offset, t.special&isLevel != 0}.of(v)
	if t.special&isMagnitude != 0 && v < 0 {
		counts.negative++
		v = -v
	}
	if low, high := p.bounds[number].low, p.bounds[number].high; !(v >= low && v <= high) {
		if counts.impossible == 0 {
			counts.oddLine, counts.oddValue, counts.oddAt = int32(row.line), v, row.at
		}
		counts.impossible++
		return missing
	}
	return v
}

// wordValue returns the state that a word stands for; a word that is no value is
// counted.
func (p *parser) wordValue(number int32, text []byte, state bool, line int) float64 {
	counts := &p.out.counts[number]
	if len(text) == 0 {
		counts.empty++
		return missing
	}
	if state {
		if v, ok := stateWords[string(bytes.ToLower(text))]; ok {
			return v
		}
	}
	if p.words[lowerWord(text)] {
		counts.empty++
	} else {
		counts.words++
	}
	if p.out.odd == nil {
		p.out.odd = map[oddWord]oddCount{}
	}
	key := oddWord{number, shownWord(string(text))}
	if seen, ok := p.out.odd[key]; ok || len(p.out.odd) < oddWordsKept {
		if !ok {
			seen.line = line
		}
		seen.count++
		p.out.odd[key] = seen
	}
	return missing
}

func lowerWord(text []byte) string { return string(bytes.ToLower(text)) }

// reason notes a word in a column of trip reasons.
func (p *parser) reason(number int32, c int, at int64) {
	text := p.text[c]
	if v := p.numbers[c][p.pending]; v == v {
		text = strconv.AppendFloat(nil, v, 'g', -1, 64)
	}
	word := shownWord(string(text))
	if low := strings.ToLower(word); p.words[low] || stillWords[low] {
		word = ""
	}
	if said, ok := p.said[number]; ok && said == word {
		return
	}
	p.said[number] = word
	p.out.reasons = append(p.out.reasons, spoken{number, at, word})
}

// flush turns the sums of the cell into pieces.
func (p *parser) flush() {
	p.drain()
	for _, number := range p.touched {
		s := &p.sums[number]
		if s.count == 0 {
			continue
		}
		p.out.pieces = append(p.out.pieces, piece{number, p.start, s.cell()})
		s.count = 0
	}
	p.touched = p.touched[:0]
	p.start, p.end = 0, minTime
}
