package handover

import (
	"regexp"
	"strings"
	"unicode"
)

// terminalCodes are escape sequences as terminals take them: control sequences,
// operating-system commands such as window titles, and single codes.
//
// Source: ECMA-48, section 5.4; the operating-system command as xterm ends it.
var terminalCodes = regexp.MustCompile("(?:\x1b\\[|\u009b)[0-?]*[ -/]*[@-~]|(?:\x1b\\]|\u009d)[^\x07\x1b\u009c]*(?:\x07|\x1b\\\\|\u009c)?|\x1b[ -/]*[0-~]")

// clean makes text from a log, a note or a file name safe to print on a
// terminal and on one line: control and escape characters, and the marks that
// reverse the direction of writing, are taken out; line breaks become spaces.
func clean(s string) string {
	plain := strings.Map(func(r rune) rune {
		switch {
		case r == '\n', r == '\r', r == '\t', r == '\u2028', r == '\u2029':
			return ' '
		case r == unicode.ReplacementChar, unicode.IsControl(r), unicode.Is(unicode.Bidi_Control, r):
			return -1
		}
		return r
	}, terminalCodes.ReplaceAllString(s, ""))
	return strings.TrimSpace(plain)
}

func cleanAll(texts []string) []string {
	cleaned := make([]string, 0, len(texts))
	for _, t := range texts {
		if t = clean(t); t != "" {
			cleaned = append(cleaned, t)
		}
	}
	return cleaned
}
