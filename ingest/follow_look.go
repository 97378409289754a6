package ingest

import (
	"bytes"
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"time"

	"dawncrest/rf/series"
)

// question is something asked of the disk: once at a time, in a goroutine of its
// own, because a mount that stalls may never answer.
type question[A any] struct {
	answer  chan A // nil: nothing is asked now
	since   time.Time
	overdue bool
}

func (q *question[A]) ask(now time.Time, get func() A) {
	if q.answer != nil {
		return
	}
	answer := make(chan A, 1)
	q.answer, q.since = answer, now
	go func() { answer <- get() }()
}

// take returns the answer where it comes in time. One that is overdue is not waited
// for again.
func (q *question[A]) take(late context.Context) (a A, answered bool) {
	if q.answer == nil {
		return a, false
	}
	select {
	case a = <-q.answer:
	default:
		if q.overdue {
			return a, false
		}
		select {
		case a = <-q.answer:
		case <-late.Done():
			q.overdue = true
			return a, false
		}
	}
	q.answer, q.overdue = nil, false
	return a, true
}

// root is one of the files and folders that are followed.
type root struct {
	question[listing]
	path string
	lost []series.File // named or found there but not readable
}

// listing is what stands under a root now.
type listing struct {
	inputs []Input
	lost   []series.File
}

// look is what is asked about a file; sight is the answer.
type look struct {
	file    *os.File  // nil: to be opened
	path    string    // empty: it has lost its name
	offset  int64     // up to which it was read
	before  []byte    // what stands before that
	written time.Time // when it was written last, as far as is known
	packed  bool      // only its size is asked for
}

type sight struct {
	file     *os.File
	info     fs.FileInfo // of the open file
	under    fs.FileInfo // of what stands under its path now; nil: nothing
	replaced bool        // the file no longer holds what was read of it
	data     []byte      // that follows
	more     bool        // than that
	err      error
}

const (
	pieceBytes  = 8 << 20 // read of a file at one look
	beforeBytes = 64      // by which a file is known again
)

// disk is where files are. Tests put stalls into it.
type disk struct {
	list func(path string) listing
	stat func(path string) (fs.FileInfo, error)
}

func realDisk(limits Limits) disk {
	return disk{
		list: func(path string) listing {
			inputs, lost, _ := Inputs([]string{path}, nil, limits) // its error is that of the files lost
			return listing{inputs, lost}
		},
		stat: os.Stat,
	}
}

// see looks at a file.
func (d disk) see(l look) (s sight) {
	if s.file = l.file; s.file == nil {
		if s.file, s.err = openRegular(l.path); s.err != nil {
			return s
		}
	}
	if s.info, s.err = s.file.Stat(); s.err != nil {
		return s
	}
	if l.path != "" {
		var err error
		if s.under, err = d.stat(l.path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			s.under = s.info // not known
		}
	}
	size := s.info.Size()
	switch {
	case l.packed, size == l.offset && s.info.ModTime().Equal(l.written):
		return s
	case size < l.offset:
		s.replaced = true
		return s
	}
	known := len(l.before)
	piece := make([]byte, int64(known)+min(size-l.offset, pieceBytes))
	n, err := s.file.ReadAt(piece, l.offset-int64(known))
	if err != nil && err != io.EOF {
		s.err = plainFileError(err)
		return s
	}
	if piece = piece[:n]; n < known || !bytes.Equal(piece[:known], l.before) {
		s.replaced = true
		return s
	}
	s.data = piece[known:]
	s.more = l.offset+int64(len(s.data)) < size
	return s
}
