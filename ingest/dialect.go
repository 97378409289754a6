package ingest

import (
	"fmt"
	"slices"
	"sort"
	"strings"
	"time"
	"unicode/utf8"
)

// dialect is how one file is written: what was detected, or forced.
type dialect struct {
	table
	encoding  string
	decimal   byte   // of the file; columns may differ
	marks     []byte // decimal mark of each column
	grouped   []bool // columns that group thousands
	layout    string
	order     dateOrder
	ordered   bool // order is proven, forced or does not matter
	timeName  string
	epochUnit string // of the first rows
	hasZone   bool   // times state their offset
	step      time.Duration
	sparse    bool
	numeric   []bool // columns of numbers
	notices   []string
}

func (d *dialect) notice(format string, args ...any) {
	d.notices = append(d.notices, fmt.Sprintf(format, args...))
}

// readDialect finds out how a file is written from the start of its text.
func readDialect(text []byte, atEnd bool, f Force, columns int) dialect {
	d := dialect{table: findTable(text, atEnd, f, columns), encoding: UTF8}
	if f.TimeForm != "" {
		d.form = timeForm(f.TimeForm)
	}
	if !utf8.Valid(text[:wholeRunes(text)]) {
		d.encoding = Latin1
		d.notice("holds bytes that are not UTF-8: names are read as Latin-1")
	}
	d.findMarks(f)
	d.findLayout(f)
	d.findOrder(f)
	d.nameTime()
	return d
}

// wholeRunes returns the length of text without a rune cut off at its end.
func wholeRunes(text []byte) int {
	for n := len(text); n > len(text)-utf8.UTFMax && n > 0; n-- {
		if r, size := utf8.DecodeLastRune(text[:n]); r != utf8.RuneError || size > 1 {
			return n
		}
	}
	return len(text)
}

// findMarks decides the decimal mark of each column by all the cells seen, and of
// the file by all columns together for those that show none.
func (d *dialect) findMarks(f Force) {
	width := len(d.columns())
	for _, row := range d.sample {
		width = max(width, len(row))
	}
	points, commas := make([]int, width), make([]int, width)
	both := make([]bool, width)
	threes := make([]bool, width) // each comma has exactly three digits behind it
	totalPoints, totalCommas := 0, 0
	for _, row := range d.sample {
		for c, cell := range row {
			if d.isTime(c) {
				continue
			}
			mark, grouped, three := markOf(cell)
			switch mark {
			case '.':
				points[c]++
				totalPoints++
			case ',':
				threes[c] = three && (commas[c] == 0 || threes[c])
				commas[c]++
				totalCommas++
			}
			both[c] = both[c] || grouped
		}
	}
	d.decimal = '.'
	if totalCommas > totalPoints {
		d.decimal = ','
	}
	if f.Decimal != 0 {
		d.decimal = f.Decimal
	}
	d.marks, d.grouped = make([]byte, width), both
	for c := range d.marks {
		d.marks[c] = d.decimal
		switch {
		case f.Decimal != 0:
			d.grouped[c] = d.grouped[c] || f.Decimal == '.' && commas[c] > 0 && threes[c]
		case commas[c] > points[c]:
			d.marks[c] = ','
		case points[c] > commas[c]:
			d.marks[c] = '.'
		}
		if d.marks[c] == ',' && commas[c] > 0 && threes[c] && !both[c] && totalCommas == commas[c] {
			d.notice("%s: every comma has three digits behind it; taken as a decimal comma (1,230 is 1.23). If it groups thousands, force the decimal mark to a point", d.columnName(c))
		}
	}
}

// markFor returns the decimal mark of a column of some header, and whether it
// groups thousands: as the column of that name shows, wherever it stood.
func (d *dialect) markFor(header []string, c int) (mark byte, grouped bool) {
	if c < len(d.header) && header[c] == d.header[c] || d.header == nil && c < len(d.marks) {
		return d.marks[c], d.grouped[c]
	}
	if old := slices.Index(d.header, header[c]); old >= 0 {
		return d.marks[old], d.grouped[old]
	}
	return d.decimal, false
}

func (d *dialect) isTime(column int) bool {
	for _, c := range d.times {
		if c == column {
			return true
		}
	}
	return false
}

func (d *dialect) columnName(c int) string {
	if c < len(d.header) && d.header[c] != "" {
		return fmt.Sprintf("column %d %q", c+1, shownWord(d.header[c]))
	}
	return fmt.Sprintf("column %d", c+1)
}

// markOf returns the decimal mark of a cell that is a number with one, whether it
// groups thousands too, and whether exactly three digits stand behind a comma.
func markOf(cell string) (mark byte, grouped, three bool) {
	point, comma := strings.LastIndexByte(cell, '.'), strings.LastIndexByte(cell, ',')
	if point < 0 && comma < 0 {
		return 0, false, false
	}
	mark, at := byte('.'), point
	if comma > point {
		mark, at = ',', comma
	}
	grouped = point >= 0 && comma >= 0
	if _, ok := slowNumber([]byte(cell), mark, grouped); !ok {
		return 0, false, false
	}
	whole := strings.TrimLeft(cell[:at], "+-")
	three = len(cell)-at-1 == 3 && len(whole) >= 1 && len(whole) <= 3 && whole[0] != '0'
	return mark, grouped, three
}

// partNames are headings, in lower case, of the columns that the tidy and long
// layouts have beside the time.
var partNames = map[string]string{
	"place": "place", "station": "place", "structure": "place", "location": "place", "device": "place",
	"quantity": "quantity", "parameter": "quantity", "measurand": "quantity",
	"unit": "unit", "units": "unit",
	"value": "value", "reading": "value",
	"column": "column", "channel": "column", "signal": "column", "tag": "column", "variable": "column",
}

// parts returns where the columns of the tidy and long layouts stand.
func (d *dialect) parts() map[string]int { return partsOf(d.header, d.times) }

// partsOf returns where the columns of the tidy and long layouts stand under a header.
func partsOf(header []string, times []int) map[string]int {
	at := map[string]int{}
	for c, name := range header {
		name, _ = splitUnit(name)
		if part, ok := partNames[strings.ToLower(name)]; ok && !slices.Contains(times, c) {
			if _, twice := at[part]; !twice {
				at[part] = c
			}
		}
	}
	return at
}

func (d *dialect) findLayout(f Force) {
	at := d.parts()
	has := func(names ...string) bool {
		for _, name := range names {
			if c, ok := at[name]; !ok || name != "value" && !d.wordy(c) {
				return false
			}
		}
		return true
	}
	switch {
	case f.Layout != "":
		d.layout = f.Layout
	case d.namesCells():
		d.layout = LayoutCells
	case has("place", "quantity", "value"), has("column", "value"):
		d.layout = LayoutLong
	case has("place"):
		d.layout = LayoutTidy
	default:
		d.layout = LayoutWide
	}
}

// wordy reports whether the cells of a column are words rather than numbers with a
// fraction; a place may be called "3".
func (d *dialect) wordy(c int) bool {
	for _, row := range d.sample {
		if c < len(row) && strings.ContainsAny(row[c], ".,") {
			if _, ok := slowNumber([]byte(row[c]), d.marks[c], false); ok {
				return false
			}
		}
	}
	return true
}

// findOrder decides whether day or month comes first, where the dates leave it
// open, by the rows seen so far.
func (d *dialect) findOrder(f Force) {
	if f.DateOrder != "" {
		d.order, d.ordered = monthFirst, true
		if f.DateOrder == DayFirst {
			d.order = dayFirst
		}
		return
	}
	var p orderProof
	for _, row := range d.sample {
		if text, ok := d.timeOf(row); ok {
			p.take([]byte(text))
		}
	}
	d.order, d.ordered = p.order()
}

// nameTime names the form of the times for people and finds the usual step.
func (d *dialect) nameTime() {
	if len(d.sample) == 0 || d.times == nil {
		return
	}
	text, _ := d.timeOf(d.sample[0])
	d.timeName = string(d.form)
	switch d.form {
	case formEpoch:
		_, _, d.epochUnit, _ = epochInstant([]byte(text))
		d.timeName, d.hasZone = "epoch "+d.epochUnit, true
	case formDayNumber:
		d.notice("times are plain numbers of five digits: read as spreadsheet day numbers, days from 1899-12-30")
	case formCivil:
		w, _ := readWritten([]byte(text), d.order)
		d.hasZone = w.hasOffset
		d.timeName = shapeNames[w.shape]
		if w.shape == shapeISO && w.hasOffset {
			d.timeName = "RFC 3339"
		}
		if w.shape == shapeDayOrMonth {
			d.timeName = "date with " + map[dateOrder]string{dayFirst: DayFirst, monthFirst: MonthFirst}[d.order]
		}
	}
}

var shapeNames = map[timeShape]string{
	shapeISO:    "ISO 8601 without zone",
	shapeDotted: "date with day first, written with points",
	shapeNamed:  "date with the month by name",
}

// usualStep returns the median of the steps between times that differ, 0 where
// there are fewer than two.
func usualStep(times []int64) time.Duration {
	var steps []int64
	for i := 1; i < len(times); i++ {
		if step := times[i] - times[i-1]; step > 0 {
			steps = append(steps, step)
		}
	}
	if steps == nil {
		return 0
	}
	sort.Slice(steps, func(i, j int) bool { return steps[i] < steps[j] })
	return time.Duration(steps[len(steps)/2])
}
