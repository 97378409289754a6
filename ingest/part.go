package ingest

import (
	"context"
	"fmt"
	"io"
	"math"
	"slices"
	"sync"
	"time"

	"dawncrest/rf/series"
)

// Parts remembers where the rows of each time stand in the logs of a night, so that
// those of a short span can be read again alone: from the middle of a file as it is
// stored; in a packed one or one in UTF-16 what stands before them is unpacked and
// not parsed; only a file whose rows mean nothing without those before them (values
// written on change, times of day without a date, another header in the middle) is
// read from its start. Its methods may be called while logs are still followed.
type Parts struct {
	mu      sync.Mutex
	options Options
	files   []*partFile
	young   []*partFile // of small files that are read anew at each look
}

// begin forgets the logs of another night.
func (p *Parts) begin(o Options) {
	p.mu.Lock()
	defer p.mu.Unlock()
	o.Parts, o.Progress, o.RejectsTo = nil, nil, nil
	p.options, p.files, p.young = o, nil, nil
}

// forgetYoung forgets the small files that are to be read anew.
func (p *Parts) forgetYoung() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.young = nil
}

// of returns what remembers a file that is read from its start. A file may be read
// more than once: rows that are known by then are not remembered again.
func (p *Parts) of(s *source, young bool) *partFile {
	f := &partFile{input: s.input, order: MonthFirst, step: int64(s.dialect.step)}
	if s.dialect.order == dayFirst {
		f.order = DayFirst
	}
	if s.dialect.sparse {
		f.step = 0
	}
	if f.input.path != "" {
		f.input.Open = nil // it is opened by its name
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if young {
		p.young = append(p.young, f)
	} else {
		p.files = append(p.files, f)
	}
	return f
}

// Night reads the rows from one time to another again, into about so many cells:
// fewer where the rows of the log lie farther apart, wider ones where they would
// not fit into memory. Its error says why there is nothing to show; that of a single
// file stands in its account.
func (p *Parts) Night(ctx context.Context, from, to time.Time, cells int) (*series.Night, error) {
	o, runs, width := p.runs(from, to, cells)
	if len(runs) == 0 {
		return nil, fmt.Errorf("no row from %s to %s", from.UTC().Format(shownTime), to.UTC().Format(shownTime))
	}
	o.From, o.To, o.CellWidth = from, to, width
	b := newBuilder(o)
	b.before = math.MaxInt64
	var sources []*source
	defer func() { closeAll(sources) }()
	for _, r := range runs {
		s, err := b.probeRun(ctx, r)
		if err != nil {
			b.giveUp(&s.file, err)
			continue
		}
		sources = append(sources, s)
	}
	if err := b.readAll(ctx, sources); err != nil {
		return nil, err
	}
	return b.finish()
}

// runs finds where the rows of a span stand, and how wide cells are to be.
func (p *Parts) runs(from, to time.Time, cells int) (Options, []run, time.Duration) {
	p.mu.Lock()
	defer p.mu.Unlock()
	var runs []run
	step := time.Duration(math.MaxInt64)
	for _, f := range slices.Concat(p.files, p.young) {
		of := f.runs(from.UnixNano(), to.UnixNano(), int64(p.options.hold()))
		if len(of) > 0 {
			step = min(step, max(time.Duration(f.step), leastCell))
		}
		runs = append(runs, of...)
	}
	width := to.Sub(from) / time.Duration(max(cells, 1))
	return p.options, runs, max(1, (width+step-1)/step) * step
}

// leastCell is the width of the narrowest cell: a pulse of the fastest linacs.
const leastCell = time.Millisecond

// probeRun finds out how a file is written and makes ready to read a run of it.
func (b *builder) probeRun(ctx context.Context, r run) (*source, error) {
	in, err := r.again()
	if err != nil {
		return &source{file: series.File{Name: r.input.Name}}, err
	}
	b.options.Force.DateOrder = r.order
	s, err := b.probeSafely(ctx, in)
	if err != nil {
		return s, err
	}
	if r.whole {
		b.before = min(b.before, minTime)
		return s, nil
	}
	s.first, b.before = r.times.first, min(b.before, r.times.first-1)
	if s.opened, err = openText(in, b.limits, b.options.Force.Encoding); err != nil {
		return s, err
	}
	if err := s.opened.skip(ctx, r.offset); err != nil {
		s.opened.close()
		s.opened = nil
		return s, err
	}
	s.blocks = b.newBlocks(io.LimitReader(s.opened.text, r.end-r.offset), s.dialect.separator)
	s.blocks.line = r.line
	return s, nil
}
