package ingest

import (
	"math"

	"dawncrest/rf/series"
)

// sums gather the readings of one signal inside one cell. Deviations are taken
// from the first reading, so that no digits are lost on a large value that hardly
// moves, and no division is needed for each reading. Batches add to them.
type sums struct {
	count       uint32
	first       float64
	sum, square float64 // of the deviations from first
	low, high   float64
	last        float64
}

// add takes one reading.
func (s *sums) add(v float64) {
	d := v - s.first
	s.count++
	s.sum += d
	s.square += d * d
	if v < s.low {
		s.low = v
	}
	if v > s.high {
		s.high = v
	}
	s.last = v
}

// addPlain takes readings as they are written, if all of them are there, lie in the
// range that needs no second look, and none is to be turned.
func (s *sums) addPlain(t *treatment, readings []float64) bool {
	scale, offset, first := t.scale, t.offset, s.first
	if s.count == 0 {
		first = readings[0]*scale + offset
	}
	var sum, square float64
	low, high := ordered(readings[0]), ordered(readings[0])
	for _, v := range readings {
		d := v*scale + offset - first
		sum += d
		square += d * d
		low = min(low, ordered(v))
		high = max(high, ordered(v))
	}
	least, most := unordered(low), unordered(high)
	if !(least >= t.low && most <= t.high) || sum != sum {
		return false
	}
	least, most = least*scale+offset, most*scale+offset
	if least > most {
		least, most = most, least
	}
	if least-first < -t.bend || most-first > t.bend {
		return false
	}
	if s.count == 0 {
		*s = sums{first: first, low: least, high: most}
	}
	s.count += uint32(len(readings))
	s.sum += sum
	s.square += square
	s.low, s.high = min(s.low, least), max(s.high, most)
	s.last = readings[len(readings)-1]*scale + offset
	return true
}

// ordered returns a whole number for a number; they stand in the same order.
// A processor finds the least of whole numbers without guessing.
func ordered(v float64) int64 {
	bits := int64(math.Float64bits(v))
	return bits ^ int64(uint64(bits>>63)>>1)
}

// unordered returns the number that a whole number stands for.
func unordered(n int64) float64 {
	return math.Float64frombits(uint64(n ^ int64(uint64(n>>63)>>1)))
}

// cell returns what is kept of the readings.
func (s *sums) cell() series.Cell {
	n := float64(s.count)
	return series.Cell{
		Count: s.count,
		Mean:  s.first + s.sum/n,
		M2:    max(0, s.square-s.sum*s.sum/n),
		Min:   s.low,
		Max:   s.high,
		Last:  s.last,
	}
}

// onto returns an angle plus the whole turns that bring it within half a turn of
// another.
func onto(angle, near float64) float64 {
	if d := angle - near; d > halfTurn || d < -halfTurn {
		return angle - 2*halfTurn*math.Round(d/(2*halfTurn))
	}
	return angle
}
