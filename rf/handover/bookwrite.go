package handover

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"dawncrest/rf/review"
)

// mostOfOneShift is how many entries one shift may have before it is a mistake.
const mostOfOneShift = 99

// Writable reports before any work is done whether an entry could be written:
// nil, or the error that Write would end in.
func (b *Book) Writable() error {
	root, err := b.folder()
	if err != nil {
		return err
	}
	defer root.Close()
	temp, err := stage(root, nil)
	if err != nil {
		return writeFailure(b.Dir, err)
	}
	return root.Remove(temp)
}

// Write puts a handover into the book and returns the name of its entry.
//
// An entry that is there already stays: a further one of the same shift gets
// the next free number behind its name ("2026-11-24-night-2"), which the caller
// can see and say. With replace the entry of the name itself is written anew.
//
// The text comes first, then the levels, and the JSON last: an entry is whole
// when its JSON is there, whenever the writer was stopped. Two writers at once
// get two names. An error leaves the entries of the book as they were.
func (b *Book) Write(r *review.Report, m Meta, h History, replace bool) (name string, err error) {
	name, err = EntryName(r, m)
	if err != nil {
		return "", err
	}
	files, err := entryFiles(r, m, h)
	if err != nil {
		return "", err
	}
	root, err := b.folder()
	if err != nil {
		return "", err
	}
	defer root.Close()
	staged := make([]string, 0, len(files))
	defer func() {
		for _, temp := range staged {
			err = errors.Join(err, discard(root, temp))
		}
	}()
	// All of it is on the disk before any name is taken: a full disk shows here.
	for _, f := range files {
		temp, err := stage(root, f.data)
		if err != nil {
			return "", writeFailure(filepath.Join(b.Dir, name), err)
		}
		staged = append(staged, temp)
	}
	if old, err := os.ReadDir(b.Dir); err == nil {
		sweep(root, staged[0], old)
	}
	name, err = claim(root, staged[0], name, replace)
	if err != nil {
		return "", writeFailure(filepath.Join(b.Dir, name), err)
	}
	for i, f := range files[1:] {
		if err := settle(root, staged[i+1], name+f.suffix, true); err != nil {
			if !replace {
				// Nothing but what this call wrote stands under a name it claimed.
				err = errors.Join(err, discard(root, name+textSuffix), discard(root, name+levelsSuffix))
			}
			return "", writeFailure(filepath.Join(b.Dir, name+f.suffix), err)
		}
	}
	return name, nil
}

type entryFile struct {
	suffix string
	data   []byte
}

// entryFiles makes the files of an entry in the order in which they are written.
func entryFiles(r *review.Report, m Meta, h History) ([]entryFile, error) {
	var text, levels, entry bytes.Buffer
	if err := Text(&text, r, m, h); err != nil {
		return nil, err
	}
	if err := writeRowsJSON(&levels, levelsOf(r)); err != nil {
		return nil, err
	}
	if err := writeRowsJSON(&entry, NewEntry(r, m, h)); err != nil {
		return nil, err
	}
	return []entryFile{{textSuffix, text.Bytes()}, {levelsSuffix, levels.Bytes()}, {jsonSuffix, entry.Bytes()}}, nil
}

// claim gives the text its name and with it takes the name of the entry.
func claim(root *os.Root, temp, name string, replace bool) (string, error) {
	if replace {
		return name, settle(root, temp, name+textSuffix, true)
	}
	for nth := 1; nth <= mostOfOneShift; nth++ {
		free := numbered(name, nth)
		if _, err := root.Lstat(free + jsonSuffix); err == nil {
			continue
		}
		err := rename(root, temp, free+textSuffix, false)
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		return free, err
	}
	return name, fmt.Errorf("%d entries of one shift are too many", mostOfOneShift)
}

// folder opens the folder of the book and makes it where it is not there.
func (b *Book) folder() (*os.Root, error) {
	if err := os.MkdirAll(b.Dir, 0o777); err != nil {
		return nil, writeFailure(b.Dir, err)
	}
	root, err := os.OpenRoot(b.Dir)
	if err != nil {
		return nil, writeFailure(b.Dir, err)
	}
	return root, nil
}
