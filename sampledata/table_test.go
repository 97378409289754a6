package sampledata

import (
	"math"
	"testing"
	"time"
)

// rows is a Sink that keeps everything.
type rows struct {
	channels []Channel
	times    []time.Time
	values   [][]float64
	words    []string
}

func (r *rows) Begin(channels []Channel) error {
	r.channels = channels
	return nil
}

func (r *rows) Row(at time.Time, values []float64, words []string) error {
	r.times = append(r.times, at)
	r.values = append(r.values, append([]float64(nil), values...))
	for _, w := range words {
		if w != "" {
			r.words = append(r.words, w)
		}
	}
	return nil
}

func (r *rows) column(place, quantity string) []float64 {
	for i, c := range r.channels {
		if c.Place == place && c.Quantity == quantity {
			column := make([]float64, len(r.values))
			for k := range column {
				column[k] = r.values[k][i]
			}
			return column
		}
	}
	return nil
}

// level is the mean of a channel over the last quarter hour.
func (r *rows) level(t *testing.T, place, quantity string) float64 {
	t.Helper()
	column := r.column(place, quantity)
	if column == nil {
		t.Fatalf("no channel %s %s", place, quantity)
	}
	sum := 0.0
	for _, v := range column[len(column)-15:] {
		sum += v
	}
	return sum / 15
}

func play(t *testing.T, l *Linac, s Scenario) (*rows, Truth) {
	t.Helper()
	r := &rows{}
	truth, err := l.Play(s, r)
	if err != nil {
		t.Fatal(err)
	}
	return r, truth
}

// turn brings a difference of phases between -180 and 180.
func turn(deg float64) float64 { return deg - 360*math.Round(deg/360) }
