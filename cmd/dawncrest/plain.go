package main

import (
	"io"
	"strings"
	"unicode"
)

// plainWriter passes text on without what a terminal would obey. Names of files
// and words of the command line come into messages as they were given, and a name
// that a shell found in a folder can hold anything. It remembers the first failure,
// because not every command looks whether its answer was taken.
type plainWriter struct {
	w   io.Writer
	err error
}

func (p *plainWriter) Write(text []byte) (int, error) {
	if _, err := io.WriteString(p.w, strings.Map(plainRune, string(text))); err != nil {
		if p.err == nil {
			p.err = err
		}
		return 0, err
	}
	return len(text), nil
}

// plainRune drops control characters, marks that turn the direction of writing,
// and bytes that are no character.
func plainRune(r rune) rune {
	switch {
	case r == '\n', r == '\t':
		return r
	case r == unicode.ReplacementChar, unicode.IsControl(r), unicode.Is(unicode.Bidi_Control, r):
		return -1
	}
	return r
}
