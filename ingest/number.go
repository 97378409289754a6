package ingest

import (
	"math"
	"strconv"
)

// pow10 are the powers of ten that a float64 holds exactly.
var pow10 = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// readNumber reads the decimal number that starts at text[i] and returns the index
// behind it; it does not look at what follows. It reads what strconv reads, bit for
// bit, and no spelling beyond digits, sign, decimal mark and exponent. It reports
// false where there is no such number or where its digits do not fit the exact
// arithmetic used here: then slowNumber decides. The text ends with a byte that no
// number holds.
//
// A mantissa below 2^53 and a power of ten up to 10^22 are both exact, so their
// product or quotient is rounded once, as strconv does.
//
// Source: W. D. Clinger, How to read floating point numbers accurately, 1990,
// from memory.
func readNumber(text []byte, i int, mark byte) (v float64, next int, ok bool) {
	first := text[i]
	if isSign(first) {
		i++
	}
	if v, next, ok = readLong(text, i, mark); !ok {
		return 0, next, false
	}
	if first == '-' {
		v = -v
	}
	return v, next, true
}

// readLong reads a number of any length, without sign.
func readLong(text []byte, i int, mark byte) (v float64, next int, ok bool) {
	first := i
	var mantissa uint64
	for ; isDigit(text[i]); i++ {
		mantissa = mantissa*10 + uint64(text[i]-'0')
	}
	digits := i - first
	scale := 0
	if text[i] == mark {
		i++
		point := i
		for ; isDigit(text[i]); i++ {
			mantissa = mantissa*10 + uint64(text[i]-'0')
		}
		scale = i - point
		digits += scale
	}
	if digits == 0 || digits > 19 || mantissa >= 1<<53 {
		return 0, i, false
	}
	if text[i]|0x20 == 'e' {
		var exponent int
		if exponent, i, ok = readExponent(text, i); !ok {
			return 0, i, false
		}
		scale -= exponent
	}
	v = float64(mantissa)
	switch {
	case scale == 0:
	case scale > 0 && scale < len(pow10):
		v /= pow10[scale]
	case scale < 0 && -scale < len(pow10):
		v *= pow10[-scale]
	default:
		return 0, i, false
	}
	return v, i, true
}

// readExponent reads the exponent that starts with the letter at text[i], of up to
// four digits.
func readExponent(text []byte, i int) (exponent, next int, ok bool) {
	if text[i]|0x20 != 'e' {
		return 0, i, false
	}
	i++
	negative := text[i] == '-'
	if isSign(text[i]) {
		i++
	}
	first := i
	for ; isDigit(text[i]) && i-first < 4; i++ {
		exponent = exponent*10 + int(text[i]-'0')
	}
	if negative {
		exponent = -exponent
	}
	return exponent, i, i > first && !isDigit(text[i])
}

// slowNumber reads a whole field, blanks around it removed, that readNumber gave
// up on: numbers of many digits, grouped thousands where the column has them, and
// exponents as old Fortran programs write them (3.82D+01, 0.382+2). What is not a
// finite number is refused.
func slowNumber(field []byte, mark byte, grouped bool) (float64, bool) {
	const limit = 1000 // digits beyond these change nothing
	var room, roomGrouped [64]byte
	if len(field) > limit {
		return 0, false
	}
	if grouped {
		field = ungrouped(roomGrouped[:0], field, mark)
	}
	plain := room[:0]
	digits, point, exponent := 0, false, false
	for i, c := range field {
		switch {
		case isDigit(c):
			digits++
		case c == mark && !point && !exponent:
			point, c = true, '.'
		case isSign(c) && (i == 0 || isExponentLetter(field[i-1])):
		case isSign(c) && digits > 0 && point && !exponent:
			plain, exponent = append(plain, 'e'), true
		case isExponentLetter(c) && digits > 0 && !exponent:
			exponent, c = true, 'e'
		default:
			return 0, false
		}
		plain = append(plain, c)
	}
	v, err := strconv.ParseFloat(string(plain), 64)
	return v, err == nil && !math.IsInf(v, 0)
}

// ungrouped returns the field without the marks that group its thousands, or as
// it stands where they are not three digits apart.
func ungrouped(room, field []byte, mark byte) []byte {
	separator := byte(',')
	if mark == ',' {
		separator = '.'
	}
	group, groups := 0, 0
	for i, c := range field {
		switch {
		case isSign(c) && i == 0:
			room = append(room, c)
		case isDigit(c):
			group++
			room = append(room, c)
		case c == separator && group > 0 && (groups == 0 && group <= 3 || group == 3):
			groups, group = groups+1, 0
		case groups > 0 && group == 3:
			return append(room, field[i:]...)
		default:
			return field
		}
	}
	if groups > 0 && group != 3 {
		return field
	}
	return room
}

func isDigit(c byte) bool          { return c-'0' <= 9 }
func isSign(c byte) bool           { return c == '-' || c == '+' }
func isExponentLetter(c byte) bool { return c|0x20 == 'e' || c|0x20 == 'd' }
