package ingest

import (
	"bytes"
	"fmt"
	"math"
	"time"
)

// timeForm is how a file writes its times.
type timeForm string

// The forms of a time.
const (
	formCivil     timeForm = "date and time"
	formEpoch     timeForm = "epoch"
	formDayNumber timeForm = "spreadsheet day numbers"
	formTimeOfDay timeForm = "time of day"
)

// epochUnit is a unit in which seconds from 1970 are counted, told by the size of
// the number: each holds the years 1973 to 5138.
type epochUnit struct {
	name string
	low  float64
	unit int64 // nanoseconds
}

var epochUnits = []epochUnit{
	{"ns", 1e17, 1},
	{"us", 1e14, 1e3},
	{"ms", 1e11, 1e6},
	{"s", 1e8, 1e9},
}

// Spreadsheet day numbers count days from 1899-12-30; these bounds are the years
// 1954 and 2119.
const (
	dayNumberLow  = 20000
	dayNumberHigh = 80000
	dayNumberZero = -25569 // in days from 1970-01-01
)

// epochInstant reads a count from 1970 or a spreadsheet day number, by its size.
// A day number is taken to the second where it is written no finer.
func epochInstant(text []byte) (at int64, form timeForm, unitName string, ok bool) {
	whole, fraction, decimals, ok := splitNumber(text)
	if !ok {
		return 0, "", "", false
	}
	if whole >= dayNumberLow && whole < dayNumberHigh {
		const day = 86400e9
		at = (whole+dayNumberZero)*day + int64(math.Round(fraction*day))
		if decimals < 8 {
			at = (at + 5e8) / 1e9 * 1e9
		}
		return at, formDayNumber, "", true
	}
	for _, u := range epochUnits {
		if float64(whole) < u.low {
			continue
		}
		if whole > math.MaxInt64/u.unit {
			return 0, "", "", false
		}
		return whole*u.unit + int64(math.Round(fraction*float64(u.unit))), formEpoch, u.name, true
	}
	return 0, "", "", false
}

// splitNumber reads digits with or without a fraction.
func splitNumber(text []byte) (whole int64, fraction float64, decimals int, ok bool) {
	i := 0
	for ; i < len(text) && isDigit(text[i]); i++ {
		if whole > (math.MaxInt64-9)/10 {
			return 0, 0, 0, false
		}
		whole = whole*10 + int64(text[i]-'0')
	}
	if i == 0 || i == len(text) {
		return whole, 0, 0, i > 0
	}
	if text[i] != '.' && text[i] != ',' || i+1 == len(text) {
		return 0, 0, 0, false
	}
	weight := 0.1
	for i++; i < len(text); i++ {
		if !isDigit(text[i]) {
			return 0, 0, 0, false
		}
		fraction += weight * float64(text[i]-'0')
		weight /= 10
		decimals++
	}
	return whole, fraction, decimals, true
}

// timeReader turns the time column of one file into instants. It remembers the
// last text it read, as rows of one scan carry the same one.
type timeReader struct {
	form  timeForm
	order dateOrder
	local localClock

	lastText []byte
	last     reading
	lastBad  *rowError
}

// reading is one time of a log as an instant; two where a clock that was put back
// showed the same time twice.
type reading struct {
	at     int64 // nanoseconds from 1970 UTC
	second int64 // the later of two; 0: there is one
	tod    bool  // at is only the time of day
	unit   string
	zoned  bool
}

// read returns the instant that a text of the time column stands for.
func (r *timeReader) read(text []byte) (reading, *rowError) {
	if len(r.lastText) > 0 && bytes.Equal(text, r.lastText) {
		return r.last, r.lastBad
	}
	r.lastText = append(r.lastText[:0], text...)
	r.last, r.lastBad = r.parse(text)
	return r.last, r.lastBad
}

func (r *timeReader) parse(text []byte) (reading, *rowError) {
	if len(text) == 0 {
		return reading{}, &rowError{reason: "no time"}
	}
	if r.form == formEpoch || r.form == formDayNumber {
		at, form, unitName, ok := epochInstant(text)
		if !ok || form != r.form {
			return reading{}, badTime(text)
		}
		if form == formDayNumber {
			return r.place(written{wall: floorSeconds(at), nano: at - floorSeconds(at)*1e9, hasDate: true}, text)
		}
		return reading{at: at, unit: unitName, zoned: true}, nil
	}
	w, ok := readWritten(text, r.order)
	if !ok || w.hasDate != (r.form == formCivil) {
		return reading{}, badTime(text)
	}
	if !w.hasDate {
		return reading{at: w.wall*1e9 + w.nano, tod: true}, nil
	}
	return r.place(w, text)
}

// place brings a date and time to UTC.
func (r *timeReader) place(w written, text []byte) (reading, *rowError) {
	if w.hasOffset {
		return reading{at: (w.wall-w.offset)*1e9 + w.nano, zoned: true}, nil
	}
	first, second, count := r.local.instants(w.wall)
	switch count {
	case 0:
		return reading{}, &rowError{reason: "a time that the clock never showed",
			detail: fmt.Sprintf("%q falls into the hour when the clocks of %s were put forward", shownWord(string(text)), r.local.zone)}
	case 2:
		return reading{at: first*1e9 + w.nano, second: second*1e9 + w.nano}, nil
	}
	return reading{at: first*1e9 + w.nano}, nil
}

func badTime(text []byte) *rowError {
	return &rowError{reason: "not a time", detail: fmt.Sprintf("%q is not a time", shownWord(string(text)))}
}

func floorSeconds(at int64) int64 {
	s := at / 1e9
	if at%1e9 < 0 {
		s--
	}
	return s
}

// utc returns an instant as a time in UTC.
func utc(at int64) time.Time { return time.Unix(0, at).UTC() }
