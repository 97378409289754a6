package ingest

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
)

// partFile remembers where the rows of one file stand.
type partFile struct {
	mu        sync.Mutex
	input     Input
	order     string // of day and month, as a Force states it
	step      int64  // usual, between rows; 0: values are written only when they change
	whole     bool   // rows mean nothing without those before them: to be read from the start
	stretches []stretch
}

// stretch is a run of rows: where they stand in the text, and when they are of.
type stretch struct {
	offset, end int64
	line        int // of the first byte
	times       extent
}

// stretchBytes is how much text one of them covers at least, where there is as much.
const stretchBytes = 256 << 10

// take notes the rows of a block.
func (f *partFile) take(b *block, times extent, whole bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.whole = f.whole || whole
	if times == noExtent {
		return
	}
	m := stretch{offset: b.offset, end: b.offset + int64(len(b.data)), line: b.line, times: times}
	if n := len(f.stretches); n > 0 {
		last := &f.stretches[n-1]
		if last.end == m.offset && m.end-last.offset <= stretchBytes {
			last.end = m.end
			last.times.take(times.first)
			last.times.take(times.last)
			return
		}
	}
	f.stretches = append(f.stretches, m)
}

// run is rows of a file that stand together and are to be read again.
type run struct {
	input       Input
	order       string
	whole       bool // from the start of the file, whatever else it says
	offset, end int64
	line        int
	times       extent
}

// runs returns where the rows of a span stand; none where the file has none.
func (f *partFile) runs(from, to int64, hold int64) []run {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.step == 0 {
		from -= hold
	}
	var runs []run
	for _, m := range f.stretches {
		if m.times.last < from || m.times.first >= to {
			continue
		}
		if n := len(runs); n > 0 && (f.whole || runs[n-1].end == m.offset) {
			last := &runs[n-1]
			last.end = m.end
			last.times.take(m.times.first)
			continue
		}
		runs = append(runs, run{input: f.input, order: f.order, whole: f.whole, offset: m.offset, end: m.end, line: m.line, times: m.times})
	}
	return runs
}

// again returns the input as it can be opened now: a file that was renamed in its
// folder is found, and one that holds something else now is not taken for it.
func (r run) again() (Input, error) {
	in := r.input
	in.grows = false
	switch {
	case in.once:
		return in, errors.New("cannot be read a second time: save it to a file to look closer")
	case in.path == "":
		return in, nil
	}
	in.Open = func() (io.ReadCloser, error) {
		file, err := openRegular(in.path)
		if err == nil {
			if info, failed := file.Stat(); failed == nil && sameFile(info, in.info) {
				return file, nil
			}
			file.Close()
			err = errors.New("another file stands under its name since it was read, or a shorter one: start again to read that one")
		}
		if renamed := sameFileBeside(in.path, in.info); renamed != nil {
			return renamed, nil
		}
		return nil, err
	}
	return in, nil
}

// sameFile reports whether a file is the one that was known, and as long at least.
func sameFile(info, known fs.FileInfo) bool {
	return os.SameFile(info, known) && info.Size() >= known.Size()
}

// sameFileBeside opens the file that was known under a path and has another name in
// the same folder now, nil where there is none.
func sameFileBeside(path string, info fs.FileInfo) *os.File {
	folder := filepath.Dir(path)
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil
	}
	for _, entry := range entries {
		found, err := entry.Info()
		if err != nil || !sameFile(found, info) {
			continue
		}
		if file, err := openRegular(filepath.Join(folder, entry.Name())); err == nil {
			return file
		}
	}
	return nil
}
