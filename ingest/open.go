package ingest

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io"
	"sync/atomic"

	"github.com/klauspost/compress/zstd"
	"golang.org/x/text/encoding/unicode"
)

// opened is the plain text of one input, whatever it was packed and encoded in.
type opened struct {
	text     io.Reader
	encoding string
	notices  []string
	stored   *counter // bytes as stored
	file     io.Reader
	plainAt  int64 // where the text begins in the file; -1: the text is not the bytes of the file
	closers  []func()
}

// close gives everything back; a second time it does nothing.
func (o *opened) close() {
	for i := len(o.closers) - 1; i >= 0; i-- {
		o.closers[i]()
	}
	o.closers = nil
}

// counter counts what passes through it.
type counter struct {
	r io.Reader
	n atomic.Int64 // asked for while another goroutine reads ahead
}

func (c *counter) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	c.n.Add(int64(n))
	return n, err
}

// openText opens an input, unpacks it and turns UTF-16 into UTF-8. All of these
// are told by content: a name may say otherwise.
func openText(in Input, limits Limits, encoding string) (*opened, error) {
	file, err := in.Open()
	if err != nil {
		return nil, err
	}
	o := &opened{stored: &counter{r: file}, file: file, closers: []func(){func() { file.Close() }}}
	if err := o.unpack(limits); err != nil {
		o.close()
		return nil, err
	}
	o.decode(encoding)
	return o, nil
}

var (
	gzipMagic = []byte{0x1f, 0x8b}
	zstdMagic = []byte{0x28, 0xb5, 0x2f, 0xfd}
)

func (o *opened) unpack(limits Limits) error {
	packed := bufio.NewReaderSize(o.stored, 64<<10)
	magic, _ := packed.Peek(4)
	var plain io.Reader
	release := func() {}
	switch {
	case bytes.HasPrefix(magic, gzipMagic):
		z, err := gzip.NewReader(packed)
		if err != nil {
			return fmt.Errorf("unpack gzip: %w", err)
		}
		plain = z
	case bytes.Equal(magic, zstdMagic):
		z, err := zstd.NewReader(packed, zstd.WithDecoderConcurrency(1), zstd.WithDecoderLowmem(true), zstd.WithDecoderMaxWindow(32<<20))
		if err != nil {
			return fmt.Errorf("unpack zstd: %w", err)
		}
		plain, release = z, z.Close
	default:
		o.text = packed
		return nil
	}
	o.plainAt = -1
	ahead := newReadAhead(&unpackLimit{r: plain, stored: o.stored, limits: limits}, release)
	o.closers = append(o.closers, ahead.stop)
	o.text = ahead
	return nil
}

// unpackLimit ends a packed file that unpacks out of all proportion.
type unpackLimit struct {
	r      io.Reader
	stored *counter
	n      int64
	limits Limits
}

const unpackFree = 256 << 20 // bytes that may be unpacked from however few

func (u *unpackLimit) Read(p []byte) (int, error) {
	n, err := u.r.Read(p)
	u.n += int64(n)
	if u.n > unpackFree && u.n > u.stored.n.Load()*int64(u.limits.UnpackRatio) {
		return 0, &limitError{"UnpackRatio", int64(u.limits.UnpackRatio), "unpacks to far more than it holds"}
	}
	if err != nil && err != io.EOF {
		err = fmt.Errorf("unpack: %w", err)
	}
	return n, err
}

// errChanged is for a file that no longer holds what was read of it.
var errChanged = errors.New("has changed since it was read: start again to read it as it is now")

// changed says so too where the file is shorter than it was.
func changed(err error) error {
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return errChanged
	}
	return err
}

// Encodings, as they are named to people and by people.
const (
	UTF8    = "UTF-8"
	UTF16LE = "UTF-16LE"
	UTF16BE = "UTF-16BE"
	Latin1  = "Latin-1"
)

// decode removes a byte-order mark and turns UTF-16 into UTF-8. UTF-16 without a
// mark shows in the zero bytes at every second place.
func (o *opened) decode(forced string) {
	text := bufio.NewReaderSize(o.text, 64<<10)
	start, _ := text.Peek(1024)
	o.encoding = UTF8
	switch {
	case bytes.HasPrefix(start, []byte{0xef, 0xbb, 0xbf}):
		text.Discard(3)
		if o.plainAt == 0 {
			o.plainAt = 3
		}
	case bytes.HasPrefix(start, []byte{0xff, 0xfe}):
		o.encoding = UTF16LE
	case bytes.HasPrefix(start, []byte{0xfe, 0xff}):
		o.encoding = UTF16BE
	case forced == "" && everySecondZero(start, 1):
		o.encoding = UTF16LE
		o.notices = append(o.notices, "no byte-order mark: read as UTF-16LE by the zero bytes at every second place")
	case forced == "" && everySecondZero(start, 0):
		o.encoding = UTF16BE
		o.notices = append(o.notices, "no byte-order mark: read as UTF-16BE by the zero bytes at every second place")
	}
	if forced != "" {
		o.encoding = forced
	}
	o.text = text
	if order, wide := byteOrder(o.encoding); wide {
		o.text, o.plainAt = unicode.UTF16(order, unicode.UseBOM).NewDecoder().Reader(text), -1
	}
}

// skip goes on at an offset of the text: at once in a file as it is stored, by
// reading over what stands before in one that is packed or in UTF-16.
func (o *opened) skip(ctx context.Context, offset int64) error {
	if file, ok := o.file.(io.Seeker); ok && o.plainAt >= 0 && offset > 0 {
		before := []byte{0}
		_, err := file.Seek(o.plainAt+offset-1, io.SeekStart)
		if err == nil {
			_, err = io.ReadFull(o.stored, before)
		}
		if o.text = o.stored; err == nil && before[0] != '\n' && before[0] != '\r' {
			err = errChanged
		}
		return changed(err)
	}
	const piece = 4 << 20
	for offset > 0 && ctx.Err() == nil {
		n, err := io.CopyN(io.Discard, o.text, min(offset, piece))
		if err != nil {
			return changed(err)
		}
		offset -= n
	}
	return ctx.Err()
}

// byteOrder returns the order of the bytes of a UTF-16 encoding.
func byteOrder(encoding string) (order unicode.Endianness, wide bool) {
	return unicode.Endianness(encoding == UTF16LE), encoding == UTF16LE || encoding == UTF16BE
}

// everySecondZero reports whether nearly all bytes at the odd or even places are
// zero and nearly no others are.
func everySecondZero(start []byte, odd int) bool {
	zeros, others := 0, 0
	for i, c := range start {
		if c == 0 && i%2 == odd {
			zeros++
		} else if c == 0 {
			others++
		}
	}
	return len(start) >= 8 && zeros*10 >= len(start)*4 && others*20 <= len(start)
}

// readAhead reads in its own goroutine, so that unpacking and parsing overlap.
type readAhead struct {
	full  chan []byte
	empty chan []byte
	quit  chan struct{}
	err   error // of the reader; set before full is closed
	chunk []byte
	rest  []byte
}

// newReadAhead starts to read; release is called when the reading has ended.
func newReadAhead(r io.Reader, release func()) *readAhead {
	const chunks, size = 3, 256 << 10
	a := &readAhead{full: make(chan []byte, chunks), empty: make(chan []byte, chunks), quit: make(chan struct{})}
	for range chunks {
		a.empty <- make([]byte, size)
	}
	go a.run(r, release)
	return a
}

func (a *readAhead) run(r io.Reader, release func()) {
	defer close(a.full)
	defer release()
	defer func() {
		if p := recover(); p != nil {
			a.err = fmt.Errorf("unpack: %v", p)
		}
	}()
	for {
		var chunk []byte
		select {
		case chunk = <-a.empty:
		case <-a.quit:
			return
		}
		n, err := io.ReadFull(r, chunk[:cap(chunk)])
		if err == io.ErrUnexpectedEOF { // of ReadFull itself: the text ends inside this chunk
			err = io.EOF
		}
		a.full <- chunk[:n] // never blocks: as many places as chunks
		if err != nil {
			a.err = err
			return
		}
	}
}

func (a *readAhead) Read(p []byte) (int, error) {
	for len(a.rest) == 0 {
		if a.chunk != nil {
			a.empty <- a.chunk[:cap(a.chunk)]
			a.chunk = nil
		}
		chunk, more := <-a.full
		if !more {
			if a.err == nil {
				return 0, io.EOF
			}
			return 0, a.err
		}
		a.chunk, a.rest = chunk, chunk
	}
	n := copy(p, a.rest)
	a.rest = a.rest[n:]
	return n, nil
}

func (a *readAhead) stop() { close(a.quit) }
