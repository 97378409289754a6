package handover

import (
	"fmt"
	"strings"
	"unicode"

	"dawncrest/rf/review"
)

const longestShift = 40 // letters in the name of a shift

// EntryName returns the name under which a report stands in the shift book: the
// date in plant time on which its shift began, and the shift. A shift's name may
// hold letters, digits, hyphens and underscores; spaces become hyphens.
func EntryName(r *review.Report, m Meta) (string, error) {
	date, shift := shiftOf(r, m)
	shift = strings.Join(strings.Fields(shift), "-")
	for _, c := range m.Shift + shift {
		if !unicode.IsLetter(c) && !unicode.IsDigit(c) && c != '-' && c != '_' && c != ' ' {
			return "", fmt.Errorf("shift name %q: %q cannot stand in a file name; use letters, digits, - and _", m.Shift, c)
		}
	}
	if n := len([]rune(shift)); n > longestShift {
		return "", fmt.Errorf("shift name %q: %d letters are too many; use at most %d", m.Shift, n, longestShift)
	}
	return date + "-" + shift, nil
}

// numbered returns the name for a further entry of the same shift.
func numbered(name string, nth int) string {
	if nth == 1 {
		return name
	}
	return fmt.Sprintf("%s-%d", name, nth)
}

// The files of one entry, in the order in which they are written: the entry is
// in the book once its JSON is there.
const (
	textSuffix   = ".txt"
	levelsSuffix = ".levels.json"
	jsonSuffix   = ".json"
)
