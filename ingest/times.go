package ingest

import (
	"bytes"
	"strings"
)

// dateOrder tells which of the first two numbers of a date such as 05/06/2026 is
// the day.
type dateOrder uint8

const (
	monthFirst dateOrder = iota
	dayFirst
)

// written is a date and time as it stands in a log, before its zone is known.
type written struct {
	wall      int64 // seconds from 1970-01-01 00:00:00 on the clock that wrote it
	nano      int64
	offset    int64 // seconds east of UTC
	hasOffset bool
	hasDate   bool
	shape     timeShape
}

// timeShape is how a time was written, for people.
type timeShape uint8

const (
	shapeISO        timeShape = iota
	shapeDayOrMonth           // 05/06/2026
	shapeDotted               // 23.11.2026
	shapeNamed                // 23-Nov-2026
	shapeTimeOfDay
)

// monthNames are the first three letters of the months in English.
var monthNames = []string{"jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"}

// cursor reads a time from left to right; a reading step that does not fit leaves
// bad set.
type cursor struct {
	text []byte
	at   int
	bad  bool
}

func (c *cursor) peek() byte {
	if c.at < len(c.text) {
		return c.text[c.at]
	}
	return 0
}

// take steps over one byte that is among those given.
func (c *cursor) take(among string) bool {
	if c.at < len(c.text) && strings.IndexByte(among, c.text[c.at]) >= 0 {
		c.at++
		return true
	}
	return false
}

// separator steps over one byte that must be the one given.
func (c *cursor) separator(b byte) {
	if c.peek() != b {
		c.bad = true
		return
	}
	c.at++
}

// number reads between least and most digits.
func (c *cursor) number(least, most int) (value int64, digits int) {
	for c.at < len(c.text) && isDigit(c.text[c.at]) && digits < most {
		value = value*10 + int64(c.text[c.at]-'0')
		c.at++
		digits++
	}
	if digits < least {
		c.bad = true
	}
	return value, digits
}

// readWritten reads a date with a time, or a time of day alone: ISO 8601 and RFC
// 3339 with "T" or a blank, with or without seconds, fraction after a point, a
// comma or a colon; day and month in either order; AM and PM. It refuses what no
// clock shows, except 24:00:00 and the leap second 23:59:60, which is taken as the
// last instant of its minute so that it falls between its neighbours.
func readWritten(text []byte, order dateOrder) (w written, ok bool) {
	c := cursor{text: text}
	if len(text) > 64 {
		return w, false
	}
	w.shape = shapeTimeOfDay
	if opensWithDate(text) {
		w.hasDate = true
		w.readDate(&c, order)
		if c.bad {
			return w, false
		}
		if c.at == len(text) {
			return w, true
		}
		if !c.take("Tt_ ,") {
			return w, false
		}
		for c.take(" ") {
		}
	}
	w.readClock(&c)
	w.readOffset(&c)
	return w, !c.bad && c.at == len(text)
}

// opensWithDate reports whether a text opens with a date, not a time of day.
func opensWithDate(text []byte) bool {
	c := cursor{text: text}
	_, digits := c.number(1, 9)
	switch c.peek() {
	case '-', '/', '.':
		return true
	case 'T':
		return digits == 8
	case ' ':
		return digits == 8 || c.at+1 < len(text) && text[c.at+1] > '9'
	}
	return false
}

func (w *written) readDate(c *cursor, order dateOrder) {
	first, digits := c.number(1, 8)
	if digits == 8 {
		w.shape = shapeISO
		w.setDate(c, first/10000, first/100%100, first%100)
		return
	}
	separator := c.peek()
	if !c.take("-/. ") {
		c.bad = true
		return
	}
	if month := c.monthName(); month > 0 {
		w.shape = shapeNamed
		c.separator(separator)
		w.setDate(c, c.year(), month, first)
		return
	}
	second, _ := c.number(1, 2)
	if c.separator(separator); c.bad {
		return
	}
	if digits == 4 {
		third, _ := c.number(1, 2)
		w.shape = shapeISO
		w.setDate(c, first, second, third)
		return
	}
	year := c.year()
	w.shape = shapeDayOrMonth
	if separator == '.' {
		w.shape, order = shapeDotted, dayFirst // dates with points are written day first
	}
	if order == dayFirst {
		first, second = second, first
	}
	w.setDate(c, year, first, second)
}

// year reads a year of four digits, or of two: 70 to 99 lie in the last century.
func (c *cursor) year() int64 {
	year, digits := c.number(2, 4)
	switch {
	case digits == 3:
		c.bad = true
	case digits == 2 && year >= 70:
		year += 1900
	case digits == 2:
		year += 2000
	}
	return year
}

func (c *cursor) monthName() int64 {
	if c.at+3 > len(c.text) || isDigit(c.text[c.at]) {
		return 0
	}
	name := string(bytes.ToLower(c.text[c.at : c.at+3]))
	for i, month := range monthNames {
		if name == month {
			c.at += 3
			return int64(i + 1)
		}
	}
	return 0
}

func (w *written) setDate(c *cursor, year, month, day int64) {
	if month < 1 || month > 12 || day < 1 || year < 1 || day > daysIn(year, month) {
		c.bad = true
		return
	}
	w.wall = daysFromCivil(year, month, day) * 86400
}

func (w *written) readClock(c *cursor) {
	hour, digits := c.number(1, 6)
	var minute, second int64
	switch {
	case digits == 6 && w.hasDate:
		hour, minute, second = hour/10000, hour/100%100, hour%100
	case digits == 4 && w.hasDate:
		hour, minute = hour/100, hour%100
	case digits > 2 || !c.take(":"):
		c.bad = true
		return
	default:
		minute, _ = c.number(2, 2)
		if c.take(":") {
			second, _ = c.number(2, 2)
		}
	}
	if c.take(".,:") {
		w.readFraction(c)
	}
	hour = c.halfDay(hour)
	leap := second == 60 && minute == 59
	switch {
	case minute > 59 || second > 59 && !leap || hour > 24:
		c.bad = true
	case hour == 24 && (minute != 0 || second != 0 || w.nano != 0):
		c.bad = true
	case leap:
		second, w.nano = 59, 999_999_999
	}
	w.wall += hour*3600 + minute*60 + second
}

func (w *written) readFraction(c *cursor) {
	fraction, digits := c.number(1, 9)
	for ; digits < 9; digits++ {
		fraction *= 10
	}
	for isDigit(c.peek()) { // finer than a nanosecond
		c.at++
	}
	w.nano = fraction
}

// halfDay reads AM or PM, where given, and returns the hour of the day.
func (c *cursor) halfDay(hour int64) int64 {
	rest := bytes.TrimLeft(c.text[c.at:], " ")
	if len(rest) < 2 || rest[1]|0x20 != 'm' || rest[0]|0x20 != 'a' && rest[0]|0x20 != 'p' {
		return hour
	}
	c.at = len(c.text) - len(rest) + 2
	if hour < 1 || hour > 12 {
		c.bad = true
	}
	hour %= 12
	if rest[0]|0x20 == 'p' {
		hour += 12
	}
	return hour
}

// readOffset reads what states the zone: Z, UTC, GMT, +01:00, +0100, +01.
func (w *written) readOffset(c *cursor) {
	for c.take(" ") {
	}
	rest := c.text[c.at:]
	if len(rest) == 0 {
		return
	}
	switch name := string(bytes.ToUpper(rest)); name {
	case "Z", "UTC", "GMT":
		c.at, w.hasOffset = len(c.text), true
		return
	}
	negative := rest[0] == '-'
	if !c.take("+-") {
		c.bad = true
		return
	}
	hours, _ := c.number(2, 2)
	c.take(":")
	var minutes int64
	if c.at < len(c.text) {
		minutes, _ = c.number(2, 2)
	}
	if hours > 23 || minutes > 59 {
		c.bad = true
	}
	w.offset, w.hasOffset = hours*3600+minutes*60, true
	if negative {
		w.offset = -w.offset
	}
}

// daysFromCivil returns the days from 1970-01-01 to a date of the Gregorian
// calendar.
//
// Source: H. Hinnant, chrono-compatible low-level date algorithms, from memory;
// checked against the standard library day by day.
func daysFromCivil(year, month, day int64) int64 {
	if month <= 2 {
		year--
		month += 12
	}
	era := year / 400
	yearOfEra := year - era*400
	dayOfYear := (153*(month-3)+2)/5 + day - 1
	return era*146097 + yearOfEra*365 + yearOfEra/4 - yearOfEra/100 + dayOfYear - 719468
}

func daysIn(year, month int64) int64 {
	switch month {
	case 4, 6, 9, 11:
		return 30
	case 2:
		if year%4 == 0 && (year%100 != 0 || year%400 == 0) {
			return 29
		}
		return 28
	}
	return 31
}
