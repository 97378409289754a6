package svg

import (
	"math"
	"strconv"
)

// tenth rounds a place in the drawing: finer steps cannot be seen.
func tenth(v float64) float64 { return math.Round(v*10) / 10 }

// short writes a place in the drawing.
func short(v float64) string { return strconv.FormatFloat(tenth(v), 'f', -1, 64) }

// lower returns the lower of two values, the known one where one is NaN.
func lower(a, b float64) float64 {
	if math.IsNaN(a) || b < a {
		return b
	}
	return a
}

// higher returns the higher of two values, the known one where one is NaN.
func higher(a, b float64) float64 {
	if math.IsNaN(a) || b > a {
		return b
	}
	return a
}

func at(values []float64, i int) float64 {
	if i >= len(values) {
		return math.NaN()
	}
	return values[i]
}

// mean adds values up to their mean.
type mean struct {
	sum float64
	n   int
}

func (m *mean) add(v float64) { m.sum += v; m.n++ }

// value returns the mean, NaN of nothing.
func (m *mean) value() float64 { return m.sum / float64(m.n) }
