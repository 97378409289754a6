package handover

import (
	"time"

	"dawncrest/rf"
)

// Trend is one level at one place over the last entries of the book.
type Trend struct {
	Place    string
	Quantity rf.Quantity
	Unit     string
	At       []time.Time // ends of the nights
	Level    []float64   // NaN: not known that night

	SlopePerDay float64 // robust
	SlopeLow    float64 // 95 % interval
	SlopeHigh   float64
}

// words says how the level creeps.
func (t Trend) words() string {
	return clean(t.Place) + ": " + quantityWords(t.Quantity) + " " + withUnit(signed(t.SlopePerDay, coarse), t.Unit) +
		" per day (95 %: " + interval(t.SlopeLow, t.SlopeHigh, coarse) + ") over " + count(len(t.At), "night")
}
