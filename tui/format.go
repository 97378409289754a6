package tui

import (
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

	"dawncrest/rf"
)

// notKnown stands where a number is not known.
const notKnown = "-"

// decimals are the digits after the point that a reading in a unit deserves.
var decimals = map[string]int{
	"MeV": 1, "MW": 2, "kV": 1, "A": 1, "W": 0, "deg": 1, "degC": 2, "K": 2,
	"min": 0, "kHz": 1, "%": 1, "L/min": 1, "1": 3, "kW": 2, "nC": 3, "mA": 1, "MV": 2, "Hz": 1,
}

// anyDecimals are the digits of a quantity whose unit has none of its own: a
// pressure, a ratio. Where they would not show it, an exponent does.
const anyDecimals = 4

// number writes v with so many digits after the point.
func number(v float64, digits int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return notKnown
	}
	if size := math.Abs(v); size >= 1e6 || (digits >= anyDecimals && size != 0 && size < 1e-4) {
		return shortExponent(strconv.FormatFloat(v, 'e', 1, 64))
	}
	s := strconv.FormatFloat(v, 'f', digits, 64)
	if strings.Trim(s, "-0.") == "" {
		return strings.TrimPrefix(s, "-")
	}
	return s
}

// shortExponent writes 1.0e-08 as 1.0e-8.
func shortExponent(s string) string {
	s = strings.Replace(s, "e-0", "e-", 1)
	return strings.Replace(s, "e+0", "e+", 1)
}

// signed writes v as number does, with its sign.
func signed(v float64, digits int) string {
	s := number(v, digits)
	if v > 0 && strings.Trim(s, "0.") != "" && s != notKnown {
		return "+" + s
	}
	return s
}

// reading writes v with the digits that a reading in its unit deserves: a
// decimal less for each digit beyond two before the point, but never the last.
func reading(v float64, unit string) string {
	if unit == "1" && v == math.Trunc(v) && math.Abs(v) >= 10 {
		return number(v, 0) // a count
	}
	digits := decimalsOf(unit)
	for size := math.Abs(v); size >= 100 && digits > 1; size /= 10 {
		digits--
	}
	return number(v, digits)
}

// inUnit writes a reading in its unit.
func inUnit(v float64, unit string) string { return withUnit(reading(v, unit), unit) }

// signedIn writes a change in its unit.
func signedIn(v float64, unit string) string {
	if unit == "1" && v == math.Trunc(v) && math.Abs(v) >= 1 {
		return signed(v, 0)
	}
	if unit == "degC" {
		unit = "K" // a change of temperature
	}
	return withUnit(signed(v, decimalsOf(unit)), unit)
}

func withUnit(s, unit string) string {
	if s == notKnown || unit == "" || unit == "1" {
		return s
	}
	return s + " " + unit
}

func decimalsOf(unit string) int {
	if d, ok := decimals[unit]; ok {
		return d
	}
	return anyDecimals
}

// megaelectronvolts writes an energy, signedMeV a change of energy.
func megaelectronvolts(e rf.Energy) string { return number(rf.In(e, rf.Megaelectronvolt), 1) }
func signedMeV(e rf.Energy) string         { return signed(rf.In(e, rf.Megaelectronvolt), 1) }

// clock writes an instant as the hour of the day in the plant's zone.
func clock(t time.Time, zone *time.Location) string {
	if t.IsZero() {
		return notKnown
	}
	return t.In(zone).Format("15:04")
}

// clean makes text that came from outside safe to show: no control letter, no
// escape sequence and no mark that turns the direction of writing gets through.
func clean(s string) string {
	for _, r := range s {
		if r < ' ' || r > '~' {
			return cleaned(s)
		}
	}
	return s
}

func cleaned(s string) string {
	s = ansi.Strip(s)
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n', r == '\t', r == '\r', r == '\u2028', r == '\u2029':
			return ' '
		case r == unicode.ReplacementChar, unicode.IsControl(r), unicode.Is(unicode.Bidi_Control, r), unicode.Is(unicode.Cf, r):
			return -1
		}
		return r
	}, s)
}

// left fits text into a column, cut with an ellipsis or filled with blanks.
func (l look) left(s string, width int) string { return l.fitted(s, width, false) }

// right is left with the blanks in front.
func (l look) right(s string, width int) string { return l.fitted(s, width, true) }

func (l look) fitted(s string, width int, right bool) string {
	if width <= 0 {
		return ""
	}
	s = clean(s)
	w := lipgloss.Width(s)
	if w > width {
		s = ansi.Truncate(s, width, l.marks.ellipsis)
		w = lipgloss.Width(s)
	}
	fill := strings.Repeat(" ", max(width-w, 0))
	if right {
		return fill + s
	}
	return s + fill
}

// wrap breaks text into lines of a width, at most so many; the last one ends in
// an ellipsis where more would follow.
func (l look) wrap(s string, width, most int) []string {
	if width <= 0 || most <= 0 {
		return nil
	}
	lines := strings.Split(ansi.Wrap(clean(s), width, ""), "\n")
	if len(lines) > most {
		lines = lines[:most]
		lines[most-1] = ansi.Truncate(lines[most-1], width-lipgloss.Width(l.marks.ellipsis), "") + l.marks.ellipsis
	}
	return lines
}
