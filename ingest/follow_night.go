package ingest

import (
	"cmp"
	"context"
	"errors"
	"maps"
	"slices"

	"dawncrest/rf/series"
)

// snapshot makes a night of all that was read so far, which stays as it is while
// the reading goes on.
func (f *Follower) snapshot(ctx context.Context) (*series.Night, error) {
	n := f.base.fork()
	for _, c := range f.closed {
		n.log.Bytes += c.size
		if c.account != nil {
			account := *c.account
			account.Notices = slices.Clip(account.Notices)
			n.log.Files = append(n.log.Files, account)
		}
	}
	var young []Input
	for _, t := range f.tails {
		n.log.Bytes += t.offset
		switch {
		case t.stream != nil:
			n.log.Files = append(n.log.Files, t.account(n))
		case t.isYoung():
			young = append(young, f.whole(t))
		}
	}
	bytes := n.log.Bytes
	if err := n.readYoung(ctx, young); err != nil {
		return nil, err
	}
	n.log.Bytes = bytes
	for _, r := range f.roots {
		n.log.Files = append(n.log.Files, r.lost...)
	}
	return n.finish()
}

// readYoung reads the young files into a copy of the night. Those that have no row
// yet are told only where nothing else is.
func (b *builder) readYoung(ctx context.Context, inputs []Input) error {
	before := len(b.log.Files)
	sources := b.probeAll(ctx, inputs)
	defer closeAll(sources)
	b.fitTo(sources)
	slices.SortStableFunc(sources, func(x, y *source) int { return cmp.Compare(x.first, y.first) })
	for _, s := range sources {
		b.read(ctx, s)
	}
	rowless := slices.DeleteFunc(slices.Clone(b.log.Files[before:]), func(f series.File) bool { return !errors.Is(f.Err, errNoRow) && !errors.Is(f.Err, errEmpty) })
	b.log.Files = slices.DeleteFunc(b.log.Files, func(f series.File) bool { return errors.Is(f.Err, errNoRow) || errors.Is(f.Err, errEmpty) })
	if !b.anyRead() {
		b.log.Files = append(b.log.Files, rowless...)
	}
	return ctx.Err()
}

// fitTo lets files that come later have a say in what is decided once for all: the
// width of cells as long as nothing is kept in them, and whether what nobody
// understands is shown.
func (b *builder) fitTo(sources []*source) {
	if b.grid.capacity == 0 {
		b.chooseWidth(sources)
	}
	b.openUnknown(sources)
}

// fork returns a copy of the night that can be finished, or read on, without a
// change in this one.
func (b *builder) fork() *builder {
	n := *b
	n.forked = true
	if b.options.Parts != nil {
		b.options.Parts.forgetYoung()
	}
	n.grid, n.events = b.grid.fork(), b.events.fork()
	n.holder = b.holder.fork(n.grid)
	n.histories = make(map[string]*history, len(b.histories))
	for name, h := range b.histories {
		n.histories[name] = h.fork()
	}
	n.log, n.rejected, n.options.Progress = series.Log{}, nil, nil
	return &n
}

func (g *grid) fork() *grid {
	n := *g
	n.byName, n.channels = maps.Clone(g.byName), make([]*gridChannel, len(g.channels))
	for i, c := range g.channels {
		channel := *c
		channel.cells = slices.Clone(c.cells)
		n.channels[i] = &channel
	}
	return &n
}

func (e *events) fork() *events {
	n := &events{list: slices.Clone(e.list), state: maps.Clone(e.state), reasons: make(map[string][]spoken, len(e.reasons)),
		counted: maps.Clone(e.counted), falls: maps.Clone(e.falls)}
	for place, said := range e.reasons {
		n.reasons[place] = slices.Clip(said)
	}
	return n
}

func (h *holder) fork(g *grid) *holder {
	n := *h
	n.grid, n.last = g, maps.Clone(h.last)
	return &n
}

func (h *history) fork() *history {
	n := *h
	n.times, n.hashes, n.late = slices.Clone(h.times), slices.Clone(h.hashes), maps.Clone(h.late)
	return &n
}
