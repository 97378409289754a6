package ingest

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"syscall"

	"dawncrest/rf/series"
)

// Input is one log that can be opened, once or again.
type Input struct {
	Name string
	Size int64 // as stored; -1: not known
	Open func() (io.ReadCloser, error)

	once  bool // a stream that cannot be opened again
	grows bool // only its whole rows are taken: the rest of the last one is still to come
	path  string
	info  fs.FileInfo // of the file, when it was found
}

// StdinName is the name under which standard input is reported.
const StdinName = "standard input"

// Memory returns an input whose content is at hand.
func Memory(name string, data []byte) Input {
	return Input{Name: name, Size: int64(len(data)), Open: func() (io.ReadCloser, error) {
		return io.NopCloser(bytes.NewReader(data)), nil
	}}
}

// Inputs finds the logs that paths name: files, folders with everything in them
// that has the name of a log (see IsLogName), and "-" for standard input. The same
// file is taken once however often it is named. What cannot be read is returned as
// the account of a file with its error; the error is for when nothing is left.
func Inputs(paths []string, stdin io.Reader, limits Limits) ([]Input, []series.File, error) {
	c := collector{limits: limits.withDefaults(), seen: map[string]bool{}}
	for _, path := range paths {
		if path == "-" {
			c.addStream(stdin)
			continue
		}
		c.addPath(path)
	}
	if len(c.inputs) > 0 {
		return c.inputs, c.unreadable, nil
	}
	var errs []error
	for _, file := range c.unreadable {
		errs = append(errs, file.Err)
	}
	if errs == nil {
		errs = append(errs, errors.New("no log given: name files or folders, or - for standard input"))
	}
	return nil, c.unreadable, errors.Join(errs...)
}

// IsLogName reports whether a file in a folder is taken as a log by its name.
func IsLogName(name string) bool {
	name = strings.ToLower(name)
	name = strings.TrimSuffix(strings.TrimSuffix(name, ".gz"), ".zst")
	switch filepath.Ext(name) {
	case ".csv", ".tsv", ".txt":
		return true
	}
	return false
}

// collector gathers inputs.
type collector struct {
	limits     Limits
	inputs     []Input
	unreadable []series.File
	seen       map[string]bool // real paths of files and folders
}

func (c *collector) refuse(name string, err error) {
	name = cleanText(name)
	c.unreadable = append(c.unreadable, series.File{Name: name, Err: fmt.Errorf("%s: %w", name, err)})
}

func (c *collector) addStream(stdin io.Reader) {
	if stdin == nil {
		c.refuse("-", errors.New("standard input is not open"))
		return
	}
	if c.seen["-"] {
		return
	}
	c.seen["-"] = true
	c.inputs = append(c.inputs, Input{Name: StdinName, Size: -1, once: true,
		Open: func() (io.ReadCloser, error) { return io.NopCloser(stdin), nil }})
}

func (c *collector) addPath(path string) {
	info, err := os.Stat(path)
	if err != nil {
		c.refuse(path, plainFileError(err))
		return
	}
	if info.IsDir() {
		before := len(c.inputs)
		unread := len(c.unreadable)
		c.addFolder(path, 0)
		if len(c.inputs) == before && len(c.unreadable) == unread && !c.seenBefore(path) {
			c.refuse(path, errors.New("no log in this folder: looked for *.csv, *.tsv and *.txt, also packed as .gz or .zst"))
		}
		return
	}
	c.addFile(path, info)
}

// seenBefore reports whether a path was met already, by another name.
func (c *collector) seenBefore(path string) bool {
	real, err := filepath.EvalSymlinks(path)
	return err == nil && c.seen[real+"\x00files"]
}

func (c *collector) addFile(path string, info fs.FileInfo) {
	if !info.Mode().IsRegular() {
		c.refuse(path, fmt.Errorf("is %s and not a file: send it to standard input and name -", kindOfFile(info.Mode())))
		return
	}
	real, err := filepath.EvalSymlinks(path)
	if err != nil {
		c.refuse(path, plainFileError(err))
		return
	}
	if c.seen[real] {
		return
	}
	c.seen[real] = true
	if len(c.inputs) >= c.limits.Files {
		if len(c.inputs) == c.limits.Files {
			c.refuse(path, &limitError{"Files", int64(c.limits.Files), "too many logs in one call, this and the ones after it are left out"})
		}
		return
	}
	c.inputs = append(c.inputs, Input{Name: cleanText(path), Size: info.Size(), path: path, info: info, Open: func() (io.ReadCloser, error) {
		file, err := openRegular(path)
		if err != nil {
			return nil, err
		}
		return file, nil
	}})
}

// openRegular opens a file that may have been replaced since it was found: by a
// pipe that nobody writes to it must not wait for ever.
func openRegular(path string) (*os.File, error) {
	f, err := os.OpenFile(path, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	if err != nil {
		return nil, plainFileError(err)
	}
	info, err := f.Stat()
	if err == nil && !info.Mode().IsRegular() {
		err = fmt.Errorf("was replaced while the logs were read: is %s now", kindOfFile(info.Mode()))
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}

// addFolder takes the logs of a folder in order of name. Links are followed, each
// folder once, so that loops end; a plant folder holds tables and no logs.
func (c *collector) addFolder(path string, depth int) {
	real, err := filepath.EvalSymlinks(path)
	if err != nil {
		c.refuse(path, plainFileError(err))
		return
	}
	if c.seen[real] {
		return
	}
	c.seen[real] = true
	if depth > c.limits.FolderDepth {
		c.refuse(path, &limitError{"FolderDepth", int64(c.limits.FolderDepth), "folders too deep"})
		return
	}
	entries, err := os.ReadDir(path)
	if err != nil {
		c.refuse(path, plainFileError(err))
		return
	}
	sort.Slice(entries, func(i, j int) bool { return entries[i].Name() < entries[j].Name() })
	for _, entry := range entries {
		if entry.Name() == plantTOMLFile {
			return
		}
	}
	for _, entry := range entries {
		if strings.HasPrefix(entry.Name(), ".") {
			continue
		}
		inside := filepath.Join(path, entry.Name())
		info, err := os.Stat(inside)
		switch {
		case err != nil && IsLogName(entry.Name()):
			c.refuse(inside, plainFileError(err))
		case err != nil:
		case info.IsDir():
			c.addFolder(inside, depth+1)
		case IsLogName(entry.Name()):
			c.seen[real+"\x00files"] = true
			c.addFile(inside, info)
		}
	}
}

func kindOfFile(mode fs.FileMode) string {
	switch {
	case mode&fs.ModeNamedPipe != 0:
		return "a pipe"
	case mode&fs.ModeSocket != 0:
		return "a socket"
	case mode&fs.ModeDevice != 0:
		return "a device"
	case mode.IsDir():
		return "a folder"
	}
	return "something else"
}

// plainFileError returns the reason why a file could not be opened, without the
// path that the caller names anyway.
func plainFileError(err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return errors.New("no such file or folder; name a log, a folder of logs, or - for standard input")
	case errors.Is(err, fs.ErrPermission):
		return errors.New("permission denied: ask its owner for leave to read it")
	}
	var path *fs.PathError
	if errors.As(err, &path) {
		return path.Err
	}
	return err
}
