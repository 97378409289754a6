package ingest

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
	"time"

	"golang.org/x/text/encoding/unicode"

	"dawncrest/rf/series"
)

// tail is a file that is read on as it grows. A small one is young: it is held in
// memory and read anew at each look, until there is enough of it to tell how it is
// written. Then it has a stream, which goes on.
type tail struct {
	question[sight]
	path   string // empty: it has lost its name
	name   string
	file   *os.File // nil: not open yet
	info   fs.FileInfo
	offset int64  // up to which the file was read
	before []byte // the last of that
	still  int    // looks without growth since it lost its name
	grewAt time.Time

	young  []byte // all that was read of it
	packed bool
	stream *stream // nil: young
	blocks *blockReader
	rest   []byte // of UTF-16: behind the last whole line
	known  *series.File
}

// closedFile is a file that is no longer held open.
type closedFile struct {
	path    string // empty: something else stands there now, or nothing
	info    fs.FileInfo
	size    int64
	account *series.File // nil: it held no row
	packed  bool
}

// refused reports whether the file could not be read.
func (c *closedFile) refused() bool { return c.account != nil && c.account.Err != nil }

func (t *tail) look() look {
	return look{file: t.file, path: t.path, offset: t.offset, before: t.before, written: t.info.ModTime(), packed: t.packed}
}

// close closes the file, unless a question about it is still open.
func (t *tail) close() {
	if t.file != nil && t.answer == nil {
		t.file.Close()
	}
}

// isYoung reports whether the tail is to be read anew at each look.
func (t *tail) isYoung() bool { return t.stream == nil && !t.packed && t.file != nil }

// took notes what was read of the file.
func (t *tail) took(data []byte) {
	t.offset += int64(len(data))
	t.before = append(t.before, data[max(0, len(data)-beforeBytes):]...)
	t.before = bytes.Clone(t.before[max(0, len(t.before)-beforeBytes):])
}

// read reads on in the stream and reports whether there was a whole row.
func (t *tail) read(ctx context.Context, data []byte) bool {
	line := t.blocks.line
	text := io.Reader(bytes.NewReader(data))
	if order, wide := byteOrder(t.stream.file.Encoding); wide {
		all := append(t.rest, data...)
		end := wholeUnits(all, order)
		text, t.rest = unicode.UTF16(order, unicode.IgnoreBOM).NewDecoder().Reader(bytes.NewReader(all[:end])), bytes.Clone(all[end:])
	}
	t.blocks.resume(text)
	t.stream.readSafely(ctx)
	t.blocks.rest()
	t.known = nil
	return t.blocks.line != line
}

// adopt goes on with a stream whose file was read as far as it went, and lets go
// what was needed only to begin.
func (t *tail) adopt(st *stream) {
	t.stream, t.blocks = st, st.source.blocks
	t.blocks.rest()
	st.source.input.Open = nil
	st.source.opened = &opened{stored: &counter{}}
}

// finish reads the last row, which may have no end.
func (t *tail) finish(ctx context.Context) {
	t.blocks.grows = false
	if order, wide := byteOrder(t.stream.file.Encoding); wide {
		t.blocks.resume(unicode.UTF16(order, unicode.IgnoreBOM).NewDecoder().Reader(bytes.NewReader(t.rest)))
	} else {
		t.blocks.resume(bytes.NewReader(nil))
	}
	t.stream.readSafely(ctx)
	t.known = nil
}

// wholeUnits returns the length of UTF-16 text up to its last line end.
func wholeUnits(data []byte, order unicode.Endianness) int {
	for i := len(data)&^1 - 2; i >= 0; i -= 2 {
		unit := uint16(data[i]) | uint16(data[i+1])<<8
		if order == unicode.BigEndian {
			unit = unit>>8 | unit<<8
		}
		if unit == '\n' {
			return i + 2
		}
	}
	return 0
}

// account returns the account of the file so far, for a copy of the night.
func (t *tail) account(night *builder) series.File {
	if t.known == nil {
		st, file := *t.stream, *t.stream.file
		file.Notices, file.Gaps = slices.Clone(file.Notices), slices.Clone(file.Gaps)
		file.Rejects, file.Reasons = slices.Clone(file.Rejects), slices.Clone(file.Reasons)
		st.night, st.file, st.rejects = night, &file, &rejects{}
		st.account()
		t.known = &file
	}
	known := *t.known
	known.Notices = slices.Clip(known.Notices)
	return known
}

// end lets a file go. Where it is finished, its last row is read without an end.
func (f *Follower) end(ctx context.Context, t *tail, finished bool, why string, args ...any) {
	if t.isYoung() {
		f.settle(ctx, func(other *tail) bool { return other == t })
	}
	if !slices.Contains(f.tails, t) {
		return // it could not be read, and was let go
	}
	c := &closedFile{path: t.path, info: t.info, size: t.offset, packed: t.packed}
	if t.stream != nil {
		if finished {
			t.finish(ctx)
		}
		if why != "" {
			t.stream.notice(why, args...)
		}
		account := t.account(f.base)
		c.account = &account
	}
	f.drop(t, c)
}

// drop takes a tail out of those that are looked at.
func (f *Follower) drop(t *tail, c *closedFile) {
	t.close()
	f.tails = slices.DeleteFunc(f.tails, func(other *tail) bool { return other == t })
	f.closed = append(f.closed, c)
}

// refuse lets a file go that cannot be read. One that had no row yet is not told.
func (f *Follower) refuse(t *tail, err error) {
	c := &closedFile{path: t.path, info: t.info, size: t.offset, packed: t.packed}
	if t.file == nil {
		c.size = t.info.Size() // not to be tried again before it changes
	}
	if !errors.Is(err, errEmpty) && !errors.Is(err, errNoRow) {
		c.account = &series.File{Name: t.name, Err: fmt.Errorf("%s: %w", t.name, err)}
	}
	f.drop(t, c)
}
