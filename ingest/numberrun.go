package ingest

import (
	"encoding/binary"
	"math"
	"math/bits"
)

// readRun reads cells, one after the other, as long as they are plain numbers of
// at most eight characters behind an optional minus, and maybe an exponent of two
// digits, and end with the separator: nearly all cells of a log are. It returns how
// many it read, each into its column at the given row, and the index of the cell
// after them. marks holds the decimal mark of each column, 0 where a column is not
// to be read as numbers.
//
// widths holds the width that the cell of each column had last. Most cells are as
// wide as the one above them, so a processor that guesses so can begin with the
// next cell before it has found the end of this one; that halves the time.
//
// Each byte of a word holds one character of the cell, so that all its digits are
// found, brought together and turned into a number at once. The values are those of
// readNumber, bit for bit.
//
// Source: the eight digits at a time are D. Lemire's, Number parsing at a gigabyte
// per second, Software: Practice and Experience 51 (2021), from memory.
func readRun(text []byte, i int, separator byte, marks, widths []byte, numbers []column, row int) (n, next int) {
	const (
		zeros = 0x3030303030303030
		highs = 0x8080808080808080
		over9 = 0x7676767676767676 // brings the high bit into every byte above 9
		pairs = 0x000000ff000000ff
	)
	numbers, widths = numbers[:len(marks)], widths[:len(marks)]
	for n < len(marks) && len(text)-i >= longestCell {
		cell := (*[longestCell]byte)(text[i:])
		mark, minus := marks[n], uint(0)
		word := binary.LittleEndian.Uint64(cell[:])
		if cell[0] == '-' {
			minus = 1
			word = binary.LittleEndian.Uint64(cell[1:])
		}
		word ^= zeros
		other := (word + over9 | word) & highs          // marks what is no digit
		point := uint(bits.TrailingZeros64(other)) &^ 7 // bits before the first such
		width, decimals, end := point, uint(0), point>>3+minus
		if byte(word>>(point&63)) == mark^'0' {
			width = uint(bits.TrailingZeros64(other&(other-1)))&^7 - 8
			decimals, end = (width-point)>>3, width>>3+1+minus
			before := uint64(1)<<(point&63) - 1
			word = word&before | word>>8&^before // closes the gap of the mark
		}
		if width == 0 || mark == 0 {
			break
		}
		word <<= (64 - width) & 63 // leading zeros for what is not there
		word = word*10 + word>>8
		word = (word&pairs*(100+1000000<<32) + word>>16&pairs*(1+10000<<32)) >> 32
		v := float64(uint32(word))
		if cell[end&15] == separator {
			v /= pow10[decimals&15]
		} else {
			exponent, ok := shortExponent(cell, end, separator)
			scale := int(decimals) - exponent
			if !ok || scale >= len(pow10) {
				break
			}
			if end += 4; scale >= 0 {
				v /= pow10[scale]
			} else {
				v *= pow10[-scale]
			}
		}
		numbers[n][row] = math.Float64frombits(math.Float64bits(v) | uint64(minus)<<63)
		if widths[n] != byte(end) {
			widths[n] = byte(end)
		}
		i += int(widths[n]) + 1
		n++
	}
	return n, i
}

// longestCell holds a minus, eight characters, an exponent and what ends the cell.
const longestCell = 16

// shortExponent returns the exponent of e-08 or e+01 that ends the cell; it
// reports false where there is none of this form, or one of 20 and more.
func shortExponent(cell *[longestCell]byte, at uint, separator byte) (exponent int, ok bool) {
	if at > longestCell-5 {
		return 0, false
	}
	tail := cell[at : at+5]
	tens, ones := int(tail[2]-'0'), int(tail[3]-'0')
	if tail[0]|0x20 != 'e' || !isSign(tail[1]) || tens > 1 || ones > 9 || tail[4] != separator {
		return 0, false
	}
	exponent = tens*10 + ones
	if tail[1] == '-' {
		exponent = -exponent
	}
	return exponent, true
}
