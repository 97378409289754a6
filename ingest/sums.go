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
