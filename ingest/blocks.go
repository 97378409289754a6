package ingest

import (
	"bytes"
	"fmt"
	"io"
)

// block is a run of whole rows of one file.
type block struct {
	data   []byte // ends with a line end
	line   int    // physical number of its first line
	offset int64  // of its first byte in the text; without meaning where NUL bytes were left out before it
	quotes bool   // some row holds a quote: rows may run over line ends
	nuls   bool   // some row may hold a NUL byte
	torn   bool   // the last row had no line end: one was put there
	stored int64  // bytes of the file, as stored, read so far
}

// blockSize is large enough that handing a block over costs nothing beside
// parsing it, and small enough to stay in a processor's own memory.
const blockSize = 512 << 10

// slowBlockSize is for logs with fewer than slowRows rows in a cell: what a block
// comes to takes more room than its text then.
const (
	slowBlockSize = 64 << 10
	slowRows      = 16
)

// blockReader cuts a text into blocks of whole rows. Line ends of every kind
// become LF; NUL bytes before, behind and between the lines are left out.
type blockReader struct {
	r         io.Reader
	separator byte
	limit     int // bytes of one row
	size      int // bytes of one block

	pending []byte // read and not handed out
	scanned int    // bytes of pending that are cleaned already
	line    int    // of the start of pending
	offset  int64  // of the start of pending in the text
	grows   bool   // a row without an end stays pending until the rest of it comes
	atEnd   bool
	afterCR bool  // the last byte read was a CR that may belong to an LF
	nuls    int   // NUL bytes left out
	inside  bool  // some line held NUL bytes, which stay
	nulRun  int   // of these since the last byte of text
	failed  error // of the text, told behind what was read before it
	free    chan []byte
}

func newBlockReader(r io.Reader, separator byte, limit int) *blockReader {
	return &blockReader{r: r, separator: separator, limit: limit, size: blockSize, line: 1, free: make(chan []byte, 16)}
}

// newBlocks returns a reader of blocks that shares its buffers with those before it.
func (b *builder) newBlocks(r io.Reader, separator byte) *blockReader {
	blocks := newBlockReader(r, separator, b.limits.LineBytes)
	blocks.free = b.buffers
	return blocks
}

// release gives the buffer back, when nothing of it is needed any more.
func (b *blockReader) release() {
	b.recycle(&block{data: b.pending})
	b.pending = nil
}

// resume goes on with more text, where the one before has ended.
func (b *blockReader) resume(more io.Reader) {
	b.r, b.atEnd, b.failed = more, false, nil
}

// rest keeps of what was read no more than the row that is not whole yet.
func (b *blockReader) rest() {
	b.r, b.pending, b.free = nil, bytes.Clone(b.pending), make(chan []byte, cap(b.free))
}

// head returns the start of the text, at least size bytes of it and at least one
// line where there are as many, and leaves it to be read again.
func (b *blockReader) head(size int) ([]byte, error) {
	for !b.atEnd && (len(b.pending) < size || bytes.Count(b.pending, []byte("\n")) < 12 && len(b.pending) < 16*size) {
		b.fill(size)
	}
	if len(b.pending) == 0 && b.failed != nil {
		return nil, b.failed
	}
	if len(b.pending) >= 16*size && bytes.IndexByte(b.pending, '\n') < 0 && len(b.pending) < b.limit {
		return b.head(2 * size)
	}
	if len(b.pending) >= b.limit && bytes.IndexByte(b.pending, '\n') < 0 {
		return nil, &limitError{"LineBytes", int64(b.limit), "line 1 is too long"}
	}
	return b.pending, nil
}

// next returns the next block; io.EOF behind the last one.
func (b *blockReader) next() (*block, error) {
	size := b.size
	for {
		for !b.atEnd && len(b.pending) < size {
			b.fill(size - len(b.pending))
		}
		if len(b.pending) == 0 && b.failed != nil {
			return nil, b.failed
		}
		if len(b.pending) == 0 {
			return nil, io.EOF
		}
		quotes := bytes.IndexByte(b.pending, '"') >= 0
		end := b.wholeRows(quotes)
		switch {
		case end > 0:
			return b.cut(end, quotes), nil
		case b.atEnd && b.grows && b.failed != nil:
			return nil, b.failed
		case b.atEnd && b.grows && len(b.pending) <= b.limit:
			return nil, io.EOF
		case b.atEnd && !b.grows:
			return b.cut(len(b.pending), quotes), nil
		case len(b.pending) > b.limit:
			return nil, &limitError{"LineBytes", int64(b.limit), fmt.Sprintf("line %d is too long", b.line)}
		}
		size = 2 * len(b.pending)
	}
}

// wholeRows returns the length of the pending text up to the end of its last
// whole row.
func (b *blockReader) wholeRows(quotes bool) int {
	if !quotes {
		return bytes.LastIndexByte(b.pending, '\n') + 1
	}
	at := 0
	for at < len(b.pending) {
		end, state := rowEnd(b.pending[at:], b.separator, b.atEnd && !b.grows)
		if state == rowUnfinished || b.pending[at+end-1] != '\n' {
			break
		}
		at += end
	}
	return at
}

func (b *blockReader) cut(end int, quotes bool) *block {
	data := b.pending[:end]
	out := &block{data: data, line: b.line, offset: b.offset, quotes: quotes, nuls: b.inside}
	rest := b.pending[end:]
	if out.torn = data[end-1] != '\n'; out.torn {
		out.data = append(data, '\n') // pending holds nothing behind end
	}
	b.line += bytes.Count(out.data, []byte("\n"))
	b.offset += int64(end)
	b.pending = append(b.buffer(len(rest)+b.size), rest...)
	b.scanned = len(b.pending)
	return out
}

// buffer returns an empty buffer with room for size bytes.
func (b *blockReader) buffer(size int) []byte {
	select {
	case old := <-b.free:
		if cap(old) >= size {
			return old[:0]
		}
	default:
	}
	return make([]byte, 0, max(size, b.size+headSize)+64)
}

// recycle takes back the buffer of a block that nobody needs any more.
func (b *blockReader) recycle(done *block) {
	if cap(done.data) > 4*b.size || cap(done.data) < b.size {
		return
	}
	select {
	case b.free <- done.data:
	default:
	}
}

// fill reads up to size more bytes and cleans them.
func (b *blockReader) fill(size int) {
	size = max(size, 512)
	if cap(b.pending)-len(b.pending) < size+1 {
		small := b.pending
		b.pending = append(b.buffer(2*len(small)+size), small...)
		b.recycle(&block{data: small})
	}
	from := len(b.pending)
	n, err := b.r.Read(b.pending[from : from+size])
	b.pending = b.pending[:from+n]
	b.lineEnds(from)
	b.leaveOutNULs(b.scanned)
	if n > 0 && len(b.pending) == b.scanned {
		b.nulRun += n
	} else if n > 0 {
		b.nulRun = 0
	}
	b.scanned = len(b.pending)
	if err == nil && b.nulRun > b.limit {
		err = &limitError{"LineBytes", int64(b.limit), fmt.Sprintf("NUL bytes and nothing else behind line %d", b.line)}
	}
	if err == nil {
		return
	}
	b.atEnd = true
	if b.afterCR && !b.grows {
		b.pending[len(b.pending)-1], b.afterCR = '\n', false
	}
	if err != io.EOF {
		b.failed = err
	}
}

// lineEnds turns each CR that no LF follows into an LF. Whether one follows the
// last byte is seen when the next ones come, so a CR at the very end waits.
func (b *blockReader) lineEnds(from int) {
	if b.afterCR && from < len(b.pending) {
		if b.pending[from] != '\n' {
			b.pending[from-1] = '\n'
		}
		b.afterCR = false
	}
	for at := from; ; {
		next := bytes.IndexByte(b.pending[at:], '\r')
		if next < 0 {
			return
		}
		at += next
		if at+1 == len(b.pending) {
			b.afterCR = true
			return
		}
		if b.pending[at+1] != '\n' {
			b.pending[at] = '\n'
		}
		at++
	}
}

// leaveOutNULs removes NUL bytes at the start of a line, as a disk block that was
// never written leaves them behind. Those inside a line stay: its row is refused.
func (b *blockReader) leaveOutNULs(from int) {
	if bytes.IndexByte(b.pending[from:], 0) < 0 {
		return
	}
	to := from
	for _, c := range b.pending[from:] {
		if c == 0 && (to == 0 || b.pending[to-1] == '\n') {
			b.nuls++
			continue
		}
		b.inside = b.inside || c == 0
		b.pending[to] = c
		to++
	}
	b.pending = b.pending[:to]
}
