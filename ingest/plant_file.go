package ingest

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strings"
	"unicode/utf8"
)

// plantFileLimit bounds what is read of one file. The tables of a thousand stations
// stay below it.
const plantFileLimit = 2 << 20

// read returns the text of a file of the folder, with lines that end in LF. It
// notes what is wrong with it; the result is nil and true where an optional file
// is not there.
func (p *plantReader) read(file string, optional bool, about string) ([]byte, bool) {
	info, err := fs.Stat(p.fsys, file)
	switch {
	case errors.Is(err, fs.ErrNotExist) && optional:
		return nil, true
	case errors.Is(err, fs.ErrNotExist):
		right := "write it: " + about
		if near := nearestName(file, p.listing); near != "" {
			right = "did you mean " + near + "? rename it"
		}
		p.faultAt(file, 0, "", "is missing", right)
		return nil, false
	case err != nil:
		p.faultAt(file, 0, "", "cannot be opened: "+reason(err), openingAdvice(err))
		return nil, false
	case !info.Mode().IsRegular():
		p.faultAt(file, 0, "", "is not a file", "put the table itself into the folder")
		return nil, false
	}
	f, err := p.fsys.Open(file)
	if err != nil {
		p.faultAt(file, 0, "", "cannot be opened: "+reason(err), openingAdvice(err))
		return nil, false
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, plantFileLimit+1))
	switch {
	case err != nil:
		p.faultAt(file, 0, "", "cannot be read: "+reason(err), "")
		return nil, false
	case len(data) > plantFileLimit:
		p.faultAt(file, 0, "", fmt.Sprintf("is over %d MB", plantFileLimit>>20), "is this a log? keep only the description of the plant here")
		return nil, false
	}
	return p.plainText(file, data)
}

// plainText takes the byte-order mark and the carriage returns away, and refuses
// what is not UTF-8 text.
func (p *plantReader) plainText(file string, data []byte) ([]byte, bool) {
	if bytes.HasPrefix(data, []byte("\xff\xfe")) || bytes.HasPrefix(data, []byte("\xfe\xff")) {
		p.faultAt(file, 0, "", "is UTF-16", "save it as UTF-8")
		return nil, false
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	data = bytes.ReplaceAll(data, []byte("\r\n"), []byte("\n"))
	data = bytes.ReplaceAll(data, []byte("\r"), []byte("\n"))
	for i, line := range bytes.Split(data, []byte("\n")) {
		switch {
		case !utf8.Valid(line):
			p.faultAt(file, i+1, "", "is not UTF-8", "save the file as UTF-8")
			return nil, false
		case bytes.IndexByte(line, 0) >= 0:
			p.faultAt(file, i+1, "", "holds a zero byte", "the file is damaged or not text: save it as UTF-8 text")
			return nil, false
		}
	}
	if len(data) == 0 {
		return []byte{}, true
	}
	return data, true
}

// reason returns why a file could not be opened, without the path that stands
// before it already.
func reason(err error) string {
	var path *fs.PathError
	if errors.As(err, &path) {
		return path.Err.Error()
	}
	return err.Error()
}

func openingAdvice(err error) string {
	switch {
	case errors.Is(err, fs.ErrPermission):
		return "ask its owner for leave to read it"
	case strings.Contains(err.Error(), "escapes"):
		return "only files inside the folder are read: put the file itself there, not a link"
	}
	return ""
}
