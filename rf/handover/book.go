package handover

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"runtime"
	"slices"
	"strings"
	"sync"
)

// Book is the shift book: a folder that holds one entry for each handover, as
// text for people and as JSON for the reviews after it. A folder can be read,
// searched and kept under version control by anyone.
type Book struct {
	Dir     string
	Fresh   bool     // the folder is not there yet; the first entry makes it
	Entries []Entry  // whole ones, in order of the nights
	Notices []string // what stands in the folder and is no whole entry
}

// OpenBook reads the shift book in a folder. A damaged entry is passed over with
// a notice. A folder that is not there is an empty book: the first entry makes
// it.
func OpenBook(dir string) (*Book, error) {
	b := &Book{Dir: dir}
	files, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		b.Fresh = true
		return b, nil
	}
	if err != nil {
		return nil, fmt.Errorf("open shift book %s: %w", dir, cause(err))
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, fmt.Errorf("open shift book %s: %w", dir, cause(err))
	}
	defer root.Close()
	names, unfinished := entryNames(files)
	for _, name := range unfinished {
		b.Notices = append(b.Notices, fmt.Sprintf("%s stands without its %s: that entry was never finished and is passed over; write it again, or remove it", name+textSuffix, jsonSuffix))
	}
	entries, errs := readEntries(root, names)
	for i, err := range errs {
		if err != nil {
			b.Notices = append(b.Notices, fmt.Sprintf("%s is damaged and passed over: %v; write it again, or move it out of the book", names[i]+jsonSuffix, err))
			continue
		}
		b.Entries = append(b.Entries, entries[i])
	}
	// Nights in order, and of one night the latest word last.
	slices.SortStableFunc(b.Entries, func(x, y Entry) int {
		if d := x.To.Compare(y.To); d != 0 {
			return d
		}
		return x.Written.Compare(y.Written)
	})
	return b, nil
}

// entryNames returns the entries that have their JSON, and those that have only
// their text.
func entryNames(files []fs.DirEntry) (names, unfinished []string) {
	whole := make(map[string]bool)
	var texts []string
	for _, f := range files {
		name := f.Name()
		switch {
		case strings.HasPrefix(name, "."), f.IsDir(), strings.HasSuffix(name, levelsSuffix):
		case strings.HasSuffix(name, jsonSuffix):
			entry := strings.TrimSuffix(name, jsonSuffix)
			whole[entry] = true
			names = append(names, entry)
		case strings.HasSuffix(name, textSuffix):
			texts = append(texts, strings.TrimSuffix(name, textSuffix))
		}
	}
	for _, name := range texts {
		if !whole[name] {
			unfinished = append(unfinished, name)
		}
	}
	return names, unfinished
}

// readEntries reads the entries of those names, as many at once as there are
// processors.
func readEntries(root *os.Root, names []string) ([]Entry, []error) {
	entries := make([]Entry, len(names))
	errs := make([]error, len(names))
	workers := min(runtime.GOMAXPROCS(0), len(names))
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			for i := w; i < len(names); i += workers {
				entries[i], errs[i] = readEntry(root, names[i])
			}
		})
	}
	wg.Wait()
	return entries, errs
}

// largestEntry is far above any entry; what is larger is something else.
const largestEntry = 16 << 20

func readEntry(root *os.Root, name string) (Entry, error) {
	var e Entry
	text, err := readBounded(root, name+jsonSuffix)
	if err != nil {
		return e, err
	}
	if err := parseStored(text, &e); err != nil {
		return e, err
	}
	switch {
	case e.Schema != EntrySchema:
		return e, fmt.Errorf("its schema is %q, not %s", e.Schema, EntrySchema)
	case e.From.IsZero() || !e.To.After(e.From):
		return e, errors.New("it does not say which night it is of")
	}
	e.Name = name
	return e, nil
}

func readBounded(root *os.Root, name string) ([]byte, error) {
	info, err := root.Stat(name)
	if err != nil {
		return nil, cause(err)
	}
	if !info.Mode().IsRegular() || info.Size() > largestEntry {
		return nil, errors.New("it is no entry's file")
	}
	text, err := root.ReadFile(name)
	if err != nil {
		return nil, cause(err)
	}
	return text, nil
}

// parseStored reads one stored object. What its error quotes of the file is shown
// without what a terminal would obey.
func parseStored(text []byte, into any) error {
	if err := json.Unmarshal(text, into); err != nil {
		return errors.New(clean(err.Error()))
	}
	return nil
}
