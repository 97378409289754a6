package ingest

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
)

// job is one block on its way: cut by the reader, parsed ahead by a worker, taken
// into the night in the order of the file.
type job struct {
	block  *block
	schema *schema // the worker parsed it by this one
	out    *result
	err    error
	done   chan struct{}
}

// ahead is what workers must know of the place the reading has come to.
type ahead struct {
	schema atomic.Pointer[schema]
	near   atomic.Int64
	width  atomic.Int64 // of the cells that are kept by now
	alone  atomic.Bool  // rows depend on the ones before: do not parse ahead
}

// stubborn is after how many blocks in a row that could not be taken as parsed
// ahead it is not tried until one would have been.
const stubborn = 3

// read reads the file of the stream. One goroutine reads and cuts blocks, as many
// as there are processors parse them ahead, and this one takes the results in
// order. A block that shows anything a worker cannot decide by itself is parsed
// again here, with the judge.
func (s *stream) read(ctx context.Context) error {
	blocks, o, err := s.open()
	if err != nil {
		return err
	}
	if int64(s.source.dialect.step)*slowRows > s.night.grid.width {
		blocks.size = slowBlockSize
	}
	quit := make(chan struct{})
	var running sync.WaitGroup
	defer func() {
		close(quit)
		if ctx.Err() == nil { // else a reader may be stuck in a file that does not answer
			running.Wait()
			if !blocks.grows {
				blocks.release()
			}
		}
		o.close()
	}()

	next := &ahead{}
	next.schema.Store(s.schema)
	next.near.Store(s.judge.near)
	next.width.Store(s.night.grid.width)
	next.alone.Store(s.alone())
	order, work := make(chan *job, 4), make(chan *job, 4)
	running.Go(func() { s.cutBlocks(blocks, o, order, work, quit) })
	for range min(4, runtime.GOMAXPROCS(0)) {
		p := s.newParser(nil) // here, where no header in the middle can change the schema
		running.Go(func() { s.parseAhead(p, work, next) })
	}
	if err := s.takeBlocks(ctx, blocks, order, next); err != nil {
		return err
	}
	s.tellCut(o)
	return nil
}

// tellCut tells where a file that was read whole ended before it did when it was
// found.
func (s *stream) tellCut(o *opened) {
	read, size := o.stored.n.Load(), s.source.input.Size
	if s.source.blocks == nil && !s.broken && o.plainAt >= 0 && read < size {
		s.notice("ended after %d of %d bytes: cut while it was read", read, size)
	}
}

// alone reports whether the rows of this file never can be parsed ahead.
func (s *stream) alone() bool {
	return s.source.dialect.sparse || s.source.dialect.form == formTimeOfDay
}

func (s *stream) open() (*blockReader, *opened, error) {
	if s.source.blocks != nil {
		return s.source.blocks, s.source.opened, nil
	}
	o, err := openText(s.source.input, s.night.limits, s.night.options.Force.Encoding)
	if err != nil {
		return nil, nil, err
	}
	return s.night.newBlocks(o.text, s.source.dialect.separator), o, nil
}

// cutBlocks reads the file and hands out its blocks; the last job carries the
// error that ended it.
func (s *stream) cutBlocks(blocks *blockReader, o *opened, order, work chan<- *job, quit <-chan struct{}) {
	defer close(order)
	defer close(work)
	for {
		j := &job{done: make(chan struct{})}
		func() {
			defer func() {
				if p := recover(); p != nil {
					j.err = faultOfOurs(p)
				}
			}()
			j.block, j.err = blocks.next()
		}()
		if j.block != nil {
			j.block.stored = o.stored.n.Load()
		}
		select {
		case order <- j:
		case <-quit:
			return
		}
		if j.err != nil {
			close(j.done)
			return
		}
		select {
		case work <- j:
		case <-quit:
			return
		}
	}
}

// parseAhead parses blocks by what they show themselves.
func (s *stream) parseAhead(p *parser, work <-chan *job, next *ahead) {
	defer s.done(p)
	for j := range work {
		func() {
			defer close(j.done)
			defer func() {
				if trouble := recover(); trouble != nil {
					j.err = faultOfOurs(trouble)
				}
			}()
			j.out = s.newResult()
			if next.alone.Load() {
				j.out.stop = stopAsk
				return
			}
			j.schema = next.schema.Load()
			p.near, p.width = next.near.Load(), next.width.Load()
			p.setSchema(j.schema)
			p.run(j.block, 0, j.block.line, j.out)
		}()
	}
}

// takeBlocks takes the results into the night in the order of the file.
func (s *stream) takeBlocks(ctx context.Context, blocks *blockReader, order <-chan *job, next *ahead) error {
	p := s.newParser(s.judge)
	defer s.done(p)
	refused := 0
	for {
		var j *job
		select {
		case j = <-order:
		case <-ctx.Done():
			return ctx.Err()
		}
		select {
		case <-j.done:
		case <-ctx.Done():
			return ctx.Err()
		}
		if j.err != nil {
			s.nuls = blocks.nuls
			return s.endOf(j.err)
		}
		s.span = noExtent
		if j.out.stop == stopNot && j.schema == s.schema && s.fresh(j.out) {
			refused = 0
			s.remember(j.out)
			s.commit(j.out)
		} else {
			refused++
			oddities := s.judge.oddities
			if err := s.takeCarefully(j.block, p, next); err != nil {
				return err
			}
			if s.judge.oddities == oddities {
				refused = 0
			}
		}
		next.alone.Store(s.alone() || refused >= stubborn)
		next.near.Store(s.judge.near)
		next.width.Store(s.night.grid.width)
		if s.part != nil {
			s.part.take(j.block, s.span, s.alone() || len(s.schemas) > 1 || blocks.nuls > 0)
		}
		s.report(j.block)
		s.recycle(j.out)
		blocks.recycle(j.block)
	}
}

// takeCarefully parses a block row by row with the judge, and follows the headers
// in it.
func (s *stream) takeCarefully(b *block, p *parser, next *ahead) error {
	at, line := 0, b.line
	for at < len(b.data) {
		out := s.newResult()
		p.setSchema(s.schema)
		p.run(b, at, line, out)
		s.commit(out)
		stop := out.stop
		at, line = out.stopAt, out.stopLine
		s.recycle(out)
		if stop != stopHeader {
			return nil
		}
		end, _ := rowEnd(b.data[at:], s.schema.separator, true)
		if err := s.follow(b.data[at:at+end], line); err != nil {
			return err
		}
		next.schema.Store(s.schema)
		line += bytes.Count(b.data[at:at+end], []byte("\n"))
		at += end
	}
	return nil
}

// follow takes a header in the middle of the file: the rows behind it are read by
// it.
func (s *stream) follow(row []byte, line int) error {
	var header []string
	for _, field := range readFields(row, s.schema.separator, s.night.limits.Columns+1) {
		header = append(header, cleanText(string(bytes.TrimPrefix(field, []byte("\ufeff")))))
	}
	candidates := timeColumns(header)
	if candidates == nil || len(header) > s.night.limits.Columns {
		return fmt.Errorf("line %d: a header without a time column", line)
	}
	for _, known := range s.schemas {
		if slices.Equal(known.header, header) {
			s.schema = known
			s.reorder.add(line)
			return nil
		}
	}
	times := candidates[0]
	for _, c := range candidates {
		if len(c) == len(s.schema.times) {
			times = c
			break
		}
	}
	schema, err := newSchema(&s.source.dialect, header, s.unitsFor(header), times, s.book)
	if err != nil {
		return fmt.Errorf("line %d: %w", line, err)
	}
	schema.mark = binary.AppendUvarint(nil, uint64(len(s.schemas)))
	s.schema = schema
	s.schemas = append(s.schemas, schema)
	s.reorder.add(line)
	return nil
}

// unitsFor returns the units row of the first header in the order of another one.
func (s *stream) unitsFor(header []string) []string {
	first := s.schemas[0]
	if first.units == nil {
		return nil
	}
	units := make([]string, len(header))
	for c, name := range header {
		for old, oldName := range first.header {
			if name == oldName {
				units[c] = cellAt(first.units, old)
			}
		}
	}
	return units
}

// endOf turns what ended the blocks into an error of the file, or a notice where
// part of it was read.
func (s *stream) endOf(err error) error {
	if errors.Is(err, io.EOF) {
		return nil
	}
	if s.file.RowsKept == 0 {
		return err
	}
	s.broken = true
	s.notice("read only as far as %s: %v", s.file.Last.Format(shownTime), err)
	return nil
}

func (s *stream) report(b *block) {
	p := &s.night.progress
	if s.night.options.Progress == nil {
		return
	}
	s.night.options.Progress(Progress{File: s.file.Name, Bytes: p.Bytes + b.stored, TotalBytes: p.TotalBytes, Rows: p.Rows + int64(s.file.RowsKept)})
}

func (s *stream) newParser(judge *judge) *parser {
	n := s.night
	d := &s.source.dialect
	p := &parser{book: s.book, times: s.source.times, width: n.grid.width, from: n.readFrom(s.schema.sparse), to: n.to, words: n.words,
		keep: n.rejected != nil, judge: judge, seed: n.seed, groups: map[string]*group{}, skipTo: d.skipTo(), skip: d.skip, unit: d.epochUnit}
	p.times.lastText = nil
	p.setSchema(s.schema)
	select {
	case p.batch = <-n.batches:
	default:
	}
	return p
}

// done gives back what a parser needs no more.
func (s *stream) done(p *parser) {
	p.batch.forget()
	select {
	case s.night.batches <- p.batch:
	default:
	}
}

func (s *stream) newResult() *result {
	select {
	case r := <-s.night.results:
		return r
	default:
		return &result{}
	}
}

// recycle keeps a result's room for another block.
func (s *stream) recycle(r *result) {
	*r = result{pieces: r.pieces[:0], stamps: r.stamps[:0], changes: r.changes[:0], counts: r.counts[:0]}
	select {
	case s.night.results <- r:
	default:
	}
}
