package ingest

import (
	"bytes"
	"slices"
	"strings"
)

// table is what the start of a file shows of its rows and columns.
type table struct {
	separator  byte
	header     []string // cleaned; nil: no header line
	headerLine int      // 0: no header line
	units      []string // of a units row under the header
	times      []int    // time column, or a date and a time-of-day column
	form       timeForm
	sample     [][]string   // fields of the first data rows, cleaned of blanks
	firstLine  int          // of the data
	skip       map[int]bool // lines under the header that only describe it
	fitting    int          // data rows with as many cells as the header
}

// skipTo returns the last line that stands before all rows.
func (t table) skipTo() int {
	if t.header == nil {
		return t.firstLine - 1
	}
	return t.headerLine
}

// headRow is one row of the start of a file, cut by some separator.
type headRow struct {
	line    int
	fields  []string
	comment bool // began with #, which is left out
}

const (
	separators   = ",;\t|"
	sampleRows   = 300
	sampleCells  = 8_000 // rows of many cells show enough sooner
	preambleRows = 200
)

// findTable finds the separator, the header and the time column that make most
// sense of the start of a file. The separator and the header line are taken as
// given where the force says so.
func findTable(text []byte, atEnd bool, f Force, columns int) table {
	hint := separatorHint(text)
	var best table
	for _, separator := range []byte(separators) {
		switch {
		case f.Separator != 0 && separator != f.Separator:
			continue
		case f.Separator == 0 && hint != 0 && separator != hint:
			continue
		case bytes.IndexByte(text, separator) < 0 && separator != separators[0]:
			continue
		}
		t := cutTable(headRows(text, separator, atEnd, columns), separator, f)
		if best.separator == 0 || t.better(best) {
			best = t
		}
	}
	if best.separator == 0 && f.Separator != 0 {
		best = cutTable(headRows(text, f.Separator, atEnd, columns), f.Separator, f)
	}
	return best
}

// better reports whether t makes more sense than o: rows that fit the header, in
// more than one column.
func (t table) better(o table) bool {
	if wide, other := len(t.columns()) > 1, len(o.columns()) > 1; wide != other {
		return wide && t.fitting >= o.fitting/2
	}
	if (t.times == nil) != (o.times == nil) {
		return t.times != nil
	}
	if t.fitting != o.fitting {
		return t.fitting > o.fitting
	}
	return len(t.columns()) > len(o.columns())
}

// columns returns the header, or the cells of the first row where there is none.
func (t table) columns() []string {
	if t.header != nil || len(t.sample) == 0 {
		return t.header
	}
	return t.sample[0]
}

// separatorHint reads the first line "sep=;" that spreadsheets write.
func separatorHint(text []byte) byte {
	line, _, _ := bytes.Cut(text, []byte("\n"))
	line = bytes.Trim(line, "\r\" ")
	if len(line) == 5 && strings.EqualFold(string(line[:4]), "sep=") {
		return line[4]
	}
	return 0
}

// headRows cuts the start of a text into rows, of which it reads one cell more than
// the columns allowed. A last line without end is left out unless it is all there
// is.
func headRows(text []byte, separator byte, atEnd bool, columns int) []headRow {
	var rows []headRow
	line, cells := 1, 0
	var fields [][]byte
	for len(text) > 0 && len(rows) < sampleRows+preambleRows && (cells < sampleCells || len(rows) < 12) {
		end, state := rowEnd(text, separator, true)
		if text[end-1] != '\n' {
			if !atEnd && len(rows) > 0 {
				break
			}
			text = append(text[:len(text):len(text)], '\n')
			end++
		}
		if state == rowWhole && !blankRow(text[:end], separator) {
			row := headRow{line: line, comment: isComment(text[:end])}
			fields = appendFields(fields[:0], bytes.TrimLeft(text[:end], "#"), separator, columns+1)
			row.fields = make([]string, 0, len(fields))
			for _, field := range fields {
				row.fields = append(row.fields, cleanText(string(field)))
			}
			rows = append(rows, row)
			cells += len(row.fields)
		}
		line += bytes.Count(text[:end], []byte("\n"))
		text = text[end:]
	}
	return rows
}

// blankRow reports whether a row holds nothing but separators and blanks.
func blankRow(row []byte, separator byte) bool {
	for _, c := range row {
		if c != separator && c != ' ' && c != '\t' && c != '\r' && c != '\n' {
			return false
		}
	}
	return true
}

// cutTable tries every row as the header and keeps the one that most rows below
// fit; without a header that names a time, it looks for a column of times.
func cutTable(rows []headRow, separator byte, f Force) table {
	if t := cutTableUnder(rows, separator, f, false); t.headerLine > 0 && t.times != nil {
		return t
	}
	if t := cutTableUnder(rows, separator, f, true); t.headerLine > 0 && t.times != nil && t.fitting > 0 {
		return t
	}
	rows = slices.DeleteFunc(slices.Clone(rows), func(row headRow) bool { return row.comment })
	return tableByContent(rows, separator, f)
}

// cutTableUnder looks for a header that names a time, as a row or as a comment.
func cutTableUnder(rows []headRow, separator byte, f Force, comment bool) table {
	best := table{separator: separator}
	for i, row := range rows {
		if i >= preambleRows {
			break
		}
		if f.HeaderLine > 0 && row.line != f.HeaderLine || row.comment != comment {
			continue
		}
		for _, times := range timeColumns(row.fields) {
			t := table{separator: separator, header: row.fields, headerLine: row.line, times: times}
			t.takeRows(rows[i+1:])
			if best.header == nil || t.fitting > best.fitting {
				best = t
			}
		}
	}
	return best
}

// takeRows takes units from under the header and the data rows behind them.
func (t *table) takeRows(rows []headRow) {
	for i, row := range rows {
		if row.comment {
			continue
		}
		form := t.formOf(row.fields)
		if form == "" {
			if t.firstLine == 0 && i < 3 && (allWords(row.fields) || unitsRow(row.fields) != nil) {
				t.describes(row)
			}
			continue
		}
		if t.firstLine == 0 {
			t.firstLine = row.line
			t.form = form
		}
		if len(t.sample) < sampleRows {
			t.sample = append(t.sample, row.fields)
		}
		if form == t.form && (t.header == nil || fitsHeader(row.fields, t.header)) {
			t.fitting++
		}
	}
}

// describes takes a row of words under the header, units where it holds some.
func (t *table) describes(row headRow) {
	if t.skip == nil {
		t.skip = map[int]bool{}
	}
	t.skip[row.line] = true
	if t.units == nil {
		t.units = unitsRow(row.fields)
	}
}

// fitsHeader reports whether a row has the cells of the header, give or take empty
// ones at the end.
func fitsHeader(fields, header []string) bool {
	return filled(fields) <= len(header) && len(fields) >= filled(header)
}

// filled returns the number of cells without the empty ones at the end.
func filled(fields []string) int {
	n := len(fields)
	for n > 0 && fields[n-1] == "" {
		n--
	}
	return n
}

// formOf returns the form of the time in a row, empty where there is none.
func (t *table) formOf(fields []string) timeForm {
	text, ok := t.timeOf(fields)
	if !ok || text == "" {
		return ""
	}
	if w, ok := readWritten([]byte(text), dayFirst); ok {
		if !w.hasDate {
			return formTimeOfDay
		}
		return formCivil
	}
	if w, ok := readWritten([]byte(text), monthFirst); ok && w.hasDate {
		return formCivil
	}
	if _, form, _, ok := epochInstant([]byte(text)); ok {
		return form
	}
	return ""
}

// timeOf returns the text of the time columns of a row.
func (t *table) timeOf(fields []string) (string, bool) {
	var parts []string
	for _, c := range t.times {
		if c >= len(fields) {
			return "", false
		}
		parts = append(parts, fields[c])
	}
	return strings.Join(parts, " "), true
}

// unitsRow returns a row as units where it holds at least one unit and no number.
func unitsRow(fields []string) []string {
	known := 0
	for _, field := range fields {
		field = strings.Trim(field, "[]()")
		if _, ok := slowNumber([]byte(field), '.', false); ok && field != "1" {
			return nil
		}
		if _, ok := unitNamed(field); ok {
			known++
		}
	}
	if known == 0 {
		return nil
	}
	return fields
}

// tableByContent finds the column that holds times in most rows.
func tableByContent(rows []headRow, separator byte, f Force) table {
	best := table{separator: separator}
	if len(rows) == 0 {
		return best
	}
	widest := 0
	for _, row := range rows {
		widest = max(widest, len(row.fields))
	}
	for c := 0; c < min(widest, 8); c++ {
		t := table{separator: separator, times: []int{c}}
		t.takeRows(rows)
		if t.form == formTimeOfDay && c > 0 && t.fitting > 0 {
			both := table{separator: separator, times: []int{c - 1, c}}
			if both.takeRows(rows); both.form == formCivil {
				t = both
			}
		}
		if t.fitting > best.fitting && t.fitting*2 > len(rows)-20 && t.trustworthy() {
			best = t
		}
	}
	if best.fitting == 0 {
		best.headerless(rows, f)
		return best
	}
	for _, row := range rows {
		if row.line < best.firstLine && (f.HeaderLine == 0 || row.line == f.HeaderLine) && len(row.fields) == len(best.sample[0]) && allWords(row.fields) {
			best.header, best.headerLine = row.fields, row.line
		}
	}
	return best
}

// trustworthy reports whether a column that no header calls a time may be taken
// for one by its content: dates may, plain numbers only as counts from 1970.
func (t table) trustworthy() bool { return t.form == formCivil || t.form == formEpoch }

// headerless takes the first row for a header of columns without a time.
func (t *table) headerless(rows []headRow, f Force) {
	t.times = nil
	t.header, t.headerLine = rows[0].fields, rows[0].line
	if len(rows) > 1 {
		t.firstLine = rows[1].line
	}
	for _, row := range rows[1:] {
		t.sample = append(t.sample, row.fields)
	}
}

func allWords(fields []string) bool {
	for _, field := range fields {
		if _, ok := slowNumber([]byte(field), '.', false); ok {
			return false
		}
	}
	return true
}

// timeNames are headings of a time column, in lower case without unit.
var timeNames = map[string]bool{
	"time": true, "timestamp": true, "time stamp": true, "time_stamp": true, "datetime": true, "date_time": true, "date time": true,
	"date/time": true, "date & time": true, "utc": true, "utc time": true, "time_utc": true, "utc_time": true, "local time": true, "local_time": true,
	"ts": true, "epoch": true, "unix": true, "unix time": true, "unix_time": true, "unixtime": true,
}

// timeColumns returns the columns that a header may name as the time, best first:
// a date with a time of day, or one of them alone.
func timeColumns(header []string) [][]int {
	date, clock := -1, -1
	for i, name := range header {
		name, _ = splitUnit(name)
		name = strings.ToLower(strings.TrimSpace(name))
		switch {
		case name == "date" && date < 0:
			date = i
		case timeNames[name] && clock < 0:
			clock = i
		}
	}
	switch {
	case date >= 0 && clock >= 0:
		return [][]int{{date, clock}, {clock}, {date}}
	case clock >= 0:
		return [][]int{{clock}}
	case date >= 0:
		return [][]int{{date}}
	}
	return nil
}
