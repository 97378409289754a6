package ingest

import (
	"bytes"
	"cmp"
	"context"
	"io"
	"slices"
)

// load reads the young files into memory.
func (f *Follower) load() error {
	for _, t := range f.tails {
		if !t.isYoung() {
			continue
		}
		t.young = make([]byte, t.offset)
		n, err := t.file.ReadAt(t.young, 0)
		if err != nil && err != io.EOF {
			return plainFileError(err)
		}
		t.young = t.young[:n]
		t.offset = int64(n)
	}
	return nil
}

// settleYoung gives a stream to young files that have grown enough, and to the
// first ones where there are many.
func (f *Follower) settleYoung(ctx context.Context) {
	many, grown := -youngFiles, false
	for _, t := range f.tails {
		if t.isYoung() {
			many++
			grown = grown || len(t.young) >= headSize
		}
	}
	if many <= 0 && !grown {
		return
	}
	f.settle(ctx, func(t *tail) bool {
		many--
		return len(t.young) >= headSize || many >= 0
	})
}

// candidate is a young file that may be given a stream.
type candidate struct {
	t   *tail
	s   *source
	due bool
}

// settle gives a stream to the young files that are due, and to those of the same
// columns whose rows begin earlier: they are to be read in the order of time.
func (f *Follower) settle(ctx context.Context, due func(*tail) bool) {
	var young []candidate
	var sources []*source
	for _, t := range slices.Clone(f.tails) {
		if !t.isYoung() {
			continue
		}
		s, err := f.base.probeSafely(ctx, f.whole(t))
		if err == nil {
			young, sources = append(young, candidate{t: t, s: s}), append(sources, s)
		} else if due(t) {
			f.refuse(t, err)
		}
	}
	slices.SortStableFunc(young, func(a, b candidate) int { return cmp.Compare(a.s.first, b.s.first) })
	for i := range young {
		young[i].due = due(young[i].t)
	}
	f.base.fitTo(sources)
	for i, c := range young {
		waits := func(later candidate) bool { return later.due && slices.Equal(later.s.header, c.s.header) }
		if c.due || slices.ContainsFunc(young[i+1:], waits) {
			f.settleOne(ctx, c)
		}
	}
}

func (f *Follower) settleOne(ctx context.Context, c candidate) {
	t := c.t
	st := newStream(f.base, c.s)
	st.readSafely(ctx)
	t.adopt(st)
	t.rest = bytes.Clone(t.young[c.s.input.Size:])
	t.young = nil
	if t.stream.broken || t.stream.failed != nil {
		f.end(ctx, t, false, "")
	}
}

// whole returns the content of a young file up to its last whole line where that
// must be known before it is decoded.
func (f *Follower) whole(t *tail) Input {
	o := opened{text: bytes.NewReader(t.young)}
	o.decode(f.base.options.Force.Encoding)
	data := t.young
	if order, wide := byteOrder(o.encoding); wide {
		data = data[:wholeUnits(data, order)]
	}
	in := Memory(t.name, data)
	in.grows, in.path, in.info = true, cmp.Or(t.path, t.name), t.info
	return in
}
