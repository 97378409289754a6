package handover

import (
	"math"
	"strconv"
	"strings"
)

const notKnown = "not known"

// Digits kept when a number is shown to a person.
const (
	coarse = 2 // changes, costs, margins
	fine   = 4 // levels
)

// number writes v to so many significant digits: 1e-8 stays "1.0e-08" and never
// becomes 0.0. A number that is not known says so.
func number(v float64, digits int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return notKnown
	}
	if v == 0 {
		return "0"
	}
	size := math.Abs(v)
	if size < 1e-3 || size >= 1e6 {
		return strconv.FormatFloat(v, 'e', digits-1, 64)
	}
	// Rounding first keeps 9.996 from being written with a digit too many.
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'e', digits-1, 64), 64)
	decimals := digits - 1 - int(math.Floor(math.Log10(math.Abs(rounded))))
	return strconv.FormatFloat(v, 'f', max(0, decimals), 64)
}

// signed writes v as number does, with its sign.
func signed(v float64, digits int) string {
	text := number(v, digits)
	if v > 0 && !math.IsInf(v, 0) {
		return "+" + text
	}
	return text
}

// trimmed takes the zeros off the end of a written number.
func trimmed(text string) string {
	if !strings.Contains(text, ".") || strings.Contains(text, "e") {
		return text
	}
	return strings.TrimRight(strings.TrimRight(text, "0"), ".")
}

// change writes by how much a reading changed. A temperature in degC changes by
// kelvin.
func change(v float64, digits int, unit string) string {
	if unit == "degC" {
		unit = "K"
	}
	return withUnit(trimmed(signed(v, digits)), unit)
}

// withUnit puts the unit behind a written number; a pure ratio has none.
func withUnit(text, unit string) string {
	if text == notKnown || unit == "" || unit == "1" {
		return text
	}
	return text + " " + unit
}

// interval writes a 95 % interval, "not known" where an end is.
func interval(low, high float64, digits int) string {
	if math.IsNaN(low) || math.IsNaN(high) {
		return notKnown
	}
	return signed(low, digits) + " to " + signed(high, digits)
}

// count writes n with its noun: "1 trip", "no trips", "3 trips".
func count(n int, noun string) string {
	switch n {
	case 0:
		return "no " + noun + "s"
	case 1:
		return "1 " + noun
	}
	return strconv.Itoa(n) + " " + noun + "s"
}

// listed joins names as people write them, the first few in full.
func listed(names []string, most int) string {
	if len(names) > most {
		return strings.Join(names[:most], ", ") + " and " + strconv.Itoa(len(names)-most) + " more"
	}
	return strings.Join(names, ", ")
}
