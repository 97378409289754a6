package ingest

import "bytes"

// quotedRunLimit bounds how far a quoted field is followed past the end of its
// first line: a longer one is a quote that was never closed.
const quotedRunLimit = 64 << 10

// rowState tells how the row at the start of some text ends.
type rowState uint8

const (
	rowWhole      rowState = iota
	rowUnfinished          // the text ends inside the row
	rowBadQuote            // a quoted field is not closed as RFC 4180 asks; the row ends with its first line
)

// rowEnd returns the index behind the line end of the row at the start of text,
// which may run over several lines inside quotes. Where a quote is never closed,
// or something other than a separator follows it, the damage ends with the line.
// atEnd says that no more text will come.
func rowEnd(text []byte, separator byte, atEnd bool) (end int, state rowState) {
	line := bytes.IndexByte(text, '\n') + 1
	if line > 0 && bytes.IndexByte(text[:line], '"') < 0 {
		return line, rowWhole
	}
	if line == 0 {
		if !atEnd {
			return 0, rowUnfinished
		}
		line = len(text)
	}
	for i, start := 0, true; i < len(text); {
		c := text[i]
		switch {
		case c == '\n':
			return i + 1, rowWhole
		case c == '"' && start:
			closing, found := closingQuote(text, i+1)
			if !found && !atEnd && closing-line < quotedRunLimit {
				return 0, rowUnfinished
			}
			if !found || closing-line > quotedRunLimit {
				return line, rowBadQuote
			}
			i = closing + 1
			if i == len(text) {
				if atEnd {
					return i, rowWhole
				}
				return 0, rowUnfinished
			}
			if text[i] == '\r' && i+1 < len(text) {
				i++
			}
			if text[i] != separator && text[i] != '\n' {
				return line, rowBadQuote
			}
			start = false
		default:
			start = c == separator
			i++
		}
	}
	if atEnd {
		return len(text), rowWhole
	}
	return 0, rowUnfinished
}

// closingQuote returns the index of the quote that closes the field whose text
// starts at i; where there is none, the length of the text.
func closingQuote(text []byte, i int) (at int, found bool) {
	for i < len(text) {
		next := bytes.IndexByte(text[i:], '"')
		if next < 0 {
			return len(text), false
		}
		i += next
		if i+1 < len(text) && text[i+1] == '"' {
			i += 2
			continue
		}
		return i, true
	}
	return i, false
}

// readField returns the text of the field that starts at row[i], quotes resolved,
// and the index of the separator or line end behind it. The row ends with a line
// end and its quotes are good.
func readField(row []byte, i int, separator byte) (field []byte, next int) {
	if row[i] != '"' {
		for next = i; row[next] != separator && row[next] != '\n'; next++ {
		}
		field = row[i:next]
		if row[next] == '\n' && len(field) > 0 && field[len(field)-1] == '\r' {
			field = field[:len(field)-1]
		}
		return field, next
	}
	closing, _ := closingQuote(row, i+1)
	field = row[i+1 : closing]
	if bytes.IndexByte(field, '"') >= 0 {
		field = bytes.ReplaceAll(field, []byte(`""`), []byte(`"`))
	}
	next = min(closing+1, len(row)-1)
	if row[next] == '\r' {
		next++
	}
	return field, next
}

// readFields returns the first fields of a row, as many as most. The row ends with
// a line end.
func readFields(row []byte, separator byte, most int) [][]byte {
	return appendFields(nil, row, separator, most)
}

// appendFields does the same behind other fields.
func appendFields(fields [][]byte, row []byte, separator byte, most int) [][]byte {
	for i := 0; len(fields) < most; i++ {
		var field []byte
		field, i = readField(row, i, separator)
		fields = append(fields, field)
		if row[i] == '\n' {
			break
		}
	}
	return fields
}

// trimBlanks returns the field without blanks around it.
func trimBlanks(field []byte) []byte {
	if len(field) == 0 || field[0] > ' ' && field[0] < 0x80 && field[len(field)-1] > ' ' && field[len(field)-1] < 0x80 {
		return field
	}
	return bytes.TrimSpace(field)
}

// isComment reports whether a row is a comment: it begins with #, but not with the
// words for no value that spreadsheets begin so.
func isComment(row []byte) bool {
	if row[0] != '#' {
		return false
	}
	for _, word := range []string{"#N/A", "#DIV/0!", "#VALUE!", "#REF!", "#NUM!", "#NAME?", "#NULL!"} {
		if bytes.HasPrefix(row, []byte(word)) {
			return false
		}
	}
	return true
}
