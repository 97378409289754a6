package handover

import (
	"encoding/json"
	"io"
	"math"
	"strconv"
	"time"

	"dawncrest/rf"
)

// figure is a number in JSON: null where it is not known. Nine digits are more
// than any reading carries and the same on every machine.
type figure float64

func (f figure) MarshalJSON() ([]byte, error) {
	v := float64(f)
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return []byte("null"), nil
	}
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', 8, 64), 64)
	if err != nil || rounded == 0 { // 0 also takes the sign off a negative zero
		return []byte("0"), err
	}
	return json.Marshal(rounded)
}

func (f *figure) UnmarshalJSON(b []byte) error {
	if string(b) == "null" {
		*f = figure(math.NaN())
		return nil
	}
	v, err := strconv.ParseFloat(string(b), 64)
	*f = figure(v)
	return err
}

// in takes a typed value out in the given unit.
func in[T ~float64](v, unit T) figure { return figure(rf.In(v, unit)) }

// word is a text in JSON: null where there is none.
type word string

func (w word) MarshalJSON() ([]byte, error) {
	if w == "" {
		return []byte("null"), nil
	}
	return json.Marshal(string(w))
}

// instant writes RFC 3339 in UTC; a time that never was is null.
func instant(t time.Time) word {
	if t.IsZero() {
		return ""
	}
	return word(t.UTC().Format(time.RFC3339))
}

func writeJSON(w io.Writer, v any) error {
	text, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return err
	}
	_, err = w.Write(append(text, '\n'))
	return err
}

// writeRowsJSON writes an object with one key, and one element of each list, to
// a line: half the size of full indentation, and still good to search and to
// compare line by line.
func writeRowsJSON(w io.Writer, v any) error {
	text, err := json.Marshal(v)
	if err != nil {
		return err
	}
	rows := make([]byte, 0, len(text)+len(text)/16)
	depth, quoted := 0, false
	for i, c := range text {
		rows = append(rows, c)
		switch {
		case c == '"' && !escapedAt(text, i):
			quoted = !quoted
		case quoted:
		case c == '{' || c == '[':
			depth++
			if depth == 1 || c == '[' && text[i+1] == '{' {
				rows = append(rows, '\n')
			}
		case c == '}' || c == ']':
			depth--
		case c == ',' && (depth == 1 || text[i+1] == '{'):
			rows = append(rows, '\n')
		}
	}
	_, err = w.Write(append(rows, '\n'))
	return err
}

// escapedAt reports whether an odd number of backslashes stands before i.
func escapedAt(text []byte, i int) bool {
	n := 0
	for i > n && text[i-1-n] == '\\' {
		n++
	}
	return n%2 == 1
}

// each turns a slice into another, never nil, so that JSON shows [] for none.
func each[A, B any](from []A, turn func(A) B) []B {
	to := make([]B, 0, len(from))
	for _, a := range from {
		to = append(to, turn(a))
	}
	return to
}

func itself(s string) string { return s }
