package ingest

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// shownTextLimit keeps one name or word of a log short enough to hold in memory
// and to show: no logger writes longer ones on purpose.
const shownTextLimit = 2000

// cleanText returns text of a log as it may be shown: without escape sequences
// and control characters (C0, C1, bidirectional overrides), blanks of every kind
// as one plain blank, bytes that are not UTF-8 read as Latin-1.
func cleanText(raw string) string {
	if plainText(raw) {
		return raw
	}
	var b strings.Builder
	blank := false
	for i := 0; i < len(raw); {
		r, size := utf8.DecodeRuneInString(raw[i:])
		if r == utf8.RuneError && size == 1 {
			r = rune(raw[i])
		}
		if n := escapeLength(raw[i:], r, size); n > 0 {
			i += n
			continue
		}
		i += size
		switch {
		case unicode.IsSpace(r):
			blank = true
			continue
		case !unicode.IsPrint(r):
			continue
		case blank && b.Len() > 0:
			b.WriteByte(' ')
		}
		blank = false
		if b.Len() > shownTextLimit {
			b.WriteString("…")
			break
		}
		b.WriteRune(r)
	}
	return b.String()
}

// plainText reports whether a text may be shown as it stands: printable ASCII
// without blanks around it or in a row.
func plainText(raw string) bool {
	blank := true
	for i := range len(raw) {
		c := raw[i]
		if c < ' ' || c > '~' || c == ' ' && blank {
			return false
		}
		blank = c == ' '
	}
	return (!blank || raw == "") && len(raw) <= shownTextLimit
}

// escapeLength returns how many bytes the terminal control sequence at the start
// of s takes, 0 where there is none: control sequences (ECMA-48 5.4), control
// strings such as a window title (5.6), and two-byte escapes.
func escapeLength(s string, first rune, size int) int {
	kind := byte(0)
	at := size
	switch {
	case first == 0x1b && len(s) > 1:
		kind, at = s[1], 2
	case first == 0x1b:
		return 1
	case first >= 0x80 && first <= 0x9f: // C1 control: the same as ESC and a letter
		kind = byte(first-0x80) + 0x40
	default:
		return 0
	}
	switch kind {
	case '[':
		for at < len(s) && s[at] >= 0x20 && s[at] <= 0x3f {
			at++
		}
		return min(at+1, len(s))
	case ']', 'P', 'X', '^', '_':
		for ; at < len(s); at++ {
			if s[at] == 0x07 {
				return at + 1
			}
			if s[at] == 0x1b && at+1 < len(s) && s[at+1] == '\\' {
				return at + 2
			}
		}
		return at
	}
	return at
}

// shownWord returns a value of a log for a message: clean and cut to a length
// that fits on a line.
func shownWord(raw string) string {
	const limit = 40
	word := cleanText(raw)
	if utf8.RuneCountInString(word) > limit {
		word = string([]rune(word)[:limit]) + "…"
	}
	return word
}
