package ingest

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"slices"

	"dawncrest/rf/series"
)

// start reads what is there. The files that grew last are held open; of these the
// small ones, with none after them that is not small, stay young.
func (f *Follower) start(ctx context.Context, inputs []Input) error {
	newest := slices.Clone(inputs)
	slices.SortStableFunc(newest, func(a, b Input) int { return b.info.ModTime().Compare(a.info.ModTime()) })
	live := map[string]bool{}
	for _, in := range newest[:min(liveFiles, len(newest))] {
		live[in.path] = true
	}
	tails := map[*source]*tail{}
	var sources []*source
	defer func() { closeAll(sources) }()
	for _, in := range inputs {
		f.base.log.Bytes += in.Size
		var t *tail
		if live[in.path] {
			t = f.hold(&in)
		}
		s, err := f.base.probeSafely(ctx, in)
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case err == nil:
			sources, tails[s] = append(sources, s), t
		case t == nil || t.packed || t.offset >= headSize:
			s.file.Err = fmt.Errorf("%s: %w", in.Name, err)
			f.close(in, t, &s.file)
		}
	}
	f.base.progress.TotalBytes = f.base.log.Bytes
	f.base.prepare(sources)
	last := len(sources) - 1
	for last >= 0 && tails[sources[last]] != nil && sources[last].input.grows && tails[sources[last]].offset < headSize {
		last--
	}
	for _, s := range sources[:last+1] {
		st := newStream(f.base, s)
		st.readSafely(ctx)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		f.base.progress.Rows += int64(st.file.RowsKept)
		f.base.progress.Bytes += max(0, s.input.Size)
		if t := tails[s]; t != nil && s.input.grows && !st.broken && st.failed == nil {
			t.adopt(st)
			continue
		}
		account := st.account()
		f.close(s.input, tails[s], &account)
	}
	return f.load()
}

// hold opens a file that may grow and has the input read it as far as it now goes.
func (f *Follower) hold(in *Input) *tail {
	file, err := openRegular(in.path)
	if err != nil {
		return nil // told when it is read
	}
	t := &tail{path: in.path, name: in.Name, file: file, info: in.info, offset: in.Size, grewAt: in.info.ModTime()}
	head := make([]byte, 1024)
	n, _ := file.ReadAt(head, 0)
	if t.packed = isPacked(head[:n]); t.packed {
		f.tails = append(f.tails, t)
		return t
	}
	o := opened{text: bytes.NewReader(head[:n])}
	o.decode(f.base.options.Force.Encoding)
	if order, wide := byteOrder(o.encoding); wide {
		from := max(0, in.Size-headSize) &^ 1
		end := make([]byte, in.Size-from)
		n, _ := file.ReadAt(end, from)
		t.offset = from + int64(wholeUnits(end[:n], order))
	}
	t.before = make([]byte, min(beforeBytes, t.offset))
	if n, _ := file.ReadAt(t.before, t.offset-int64(len(t.before))); n < len(t.before) {
		t.before = nil // cut meanwhile: the first look will tell
	}
	size := t.offset
	in.grows = true
	in.Open = func() (io.ReadCloser, error) { return io.NopCloser(io.NewSectionReader(file, 0, size)), nil }
	f.tails = append(f.tails, t)
	return t
}

// isPacked reports whether a file begins as packed ones do.
func isPacked(start []byte) bool {
	return bytes.HasPrefix(start, gzipMagic) || bytes.HasPrefix(start, zstdMagic)
}

// close books a file that is read and not held.
func (f *Follower) close(in Input, t *tail, account *series.File) {
	c := &closedFile{path: in.path, info: in.info, size: in.Size, account: account}
	if t == nil {
		f.closed = append(f.closed, c)
		return
	}
	if c.packed = t.packed; c.packed && account.Err == nil {
		account.Notices = append(account.Notices, "packed: read once, and not followed")
	}
	f.drop(t, c)
}

// seen takes in what was seen of a file, and reports whether the night has changed
// and whether there is more to read at once.
func (f *Follower) seen(ctx context.Context, t *tail, s sight) (grown, more bool) {
	if s.err != nil {
		if t.file == nil {
			f.refuse(t, s.err)
		} else {
			f.end(ctx, t, false, "can no longer be read since %s: %v", f.now().UTC().Format(shownTime), s.err)
		}
		return true, false
	}
	first := t.file == nil
	t.file, t.info = s.file, s.info
	if t.path != "" && (s.under == nil || !os.SameFile(s.under, t.info)) {
		t.path = ""
	}
	switch {
	case s.replaced:
		again := &tail{path: t.path, name: t.name, info: t.info, grewAt: f.now()}
		t.path = ""
		f.end(ctx, t, true, "cut or written anew while it was followed, at %s: read again from its start", f.now().UTC().Format(shownTime))
		if again.path != "" {
			f.tails = append(f.tails, again)
		}
		return true, true
	case first && isPacked(s.data):
		t.packed, t.offset = true, s.info.Size()
		return false, false
	case t.packed:
		return f.seenPacked(ctx, t, s), false
	case len(s.data) == 0:
		return f.seenStill(ctx, t), false
	}
	t.still, t.grewAt = 0, f.now()
	t.took(s.data)
	if t.stream == nil {
		t.young = append(t.young, s.data...)
		return true, s.more
	}
	grown = t.read(ctx, s.data)
	if t.stream.broken || t.stream.failed != nil {
		f.end(ctx, t, false, "")
		return true, false
	}
	return grown, s.more
}

// seenPacked reads a packed file once it has stopped growing.
func (f *Follower) seenPacked(ctx context.Context, t *tail, s sight) bool {
	if size := s.info.Size(); size != t.offset {
		t.offset = size
		return false
	}
	in := Input{Name: t.name, Size: t.offset, path: t.path, info: t.info, Open: func() (io.ReadCloser, error) {
		return io.NopCloser(io.NewSectionReader(t.file, 0, t.offset)), nil
	}}
	s2, err := f.base.probeSafely(ctx, in)
	if err != nil {
		f.refuse(t, err)
		return true
	}
	defer closeAll([]*source{s2})
	st := newStream(f.base, s2)
	st.readSafely(ctx)
	account := st.account()
	f.close(in, t, &account)
	return true
}

// seenStill lets a file go that has lost its name and stopped growing.
func (f *Follower) seenStill(ctx context.Context, t *tail) bool {
	if t.path != "" {
		return false
	}
	if t.still++; t.still < stillLooks {
		return false
	}
	f.end(ctx, t, true, "renamed or removed while it was followed: read to its end, by %s", f.now().UTC().Format(shownTime))
	return true
}

// listed takes in what stands under a root: files that are new there are followed
// from their start.
func (f *Follower) listed(r *root, l listing) (changed, more bool) {
	same := func(a, b series.File) bool { return a.Err.Error() == b.Err.Error() }
	changed = !slices.EqualFunc(r.lost, l.lost, same)
	r.lost = l.lost
	read := map[string]*closedFile{}
	for _, c := range f.closed {
		read[c.path] = c
	}
	for _, in := range l.inputs {
		if f.holds(in) || f.hasRead(in, read[in.path]) {
			continue
		}
		for _, t := range f.tails {
			if t.path == in.path {
				t.path = "" // its file has another name now, or none
			}
		}
		f.tails = append(f.tails, &tail{path: in.path, name: in.Name, info: in.info, grewAt: f.now()})
		more = true
	}
	return changed, more
}

// holds reports whether a file that was found is one that is held open.
func (f *Follower) holds(in Input) bool {
	for _, t := range f.tails {
		if os.SameFile(t.info, in.info) {
			if t.path == "" {
				t.path, t.still = in.path, 0 // it was renamed
			}
			return true
		}
	}
	return false
}

// hasRead reports whether a file that was found was read, and has not changed since.
// c is what was read under its path.
func (f *Follower) hasRead(in Input, c *closedFile) bool {
	if c != nil && c.refused() && c.info.Mode() != in.info.Mode() {
		f.closed = slices.DeleteFunc(f.closed, func(other *closedFile) bool { return other == c }) // it may be read now
		return false
	}
	if c != nil && os.SameFile(c.info, in.info) && (c.packed || c.size == in.Size) {
		return true
	}
	if c != nil {
		c.path = ""
		if c.refused() {
			c.account = nil // it may be better now
		}
	}
	for _, c := range f.closed {
		if c.size == in.Size && c.info.ModTime().Equal(in.info.ModTime()) && os.SameFile(c.info, in.info) {
			c.path = in.path // it was renamed
			return true
		}
	}
	return false
}

// letGo lets the file go that grew longest ago, where too many are held open.
func (f *Follower) letGo(ctx context.Context) {
	for len(f.tails) > liveFiles {
		var oldest *tail
		for _, t := range f.tails {
			if t.answer == nil && t.file != nil && !t.packed && (oldest == nil || t.grewAt.Before(oldest.grewAt)) {
				oldest = t
			}
		}
		if oldest == nil {
			return
		}
		f.end(ctx, oldest, false, "")
	}
}
