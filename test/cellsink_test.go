package test

import (
	"math"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/series"
	"dawncrest/sampledata"
)

// cellSink takes a played night straight into cells, as the reader would from its
// CSV, so that thousands of nights can be judged.
type cellSink struct {
	night series.Night
	last  []float64 // of each channel, as read
	turns []float64 // whole turns added to an angle so far
	info  []rf.Info
}

func newCellSink(start time.Time, length time.Duration) *cellSink {
	return &cellSink{night: series.Night{Start: start, Width: time.Minute, Cells: int(length / time.Minute)}}
}

func (s *cellSink) Begin(channels []sampledata.Channel) error {
	for _, c := range channels {
		q := rf.Quantity(c.Quantity)
		info, _ := q.Info()
		s.info = append(s.info, info)
		s.night.Channels = append(s.night.Channels, series.Channel{
			Place: c.Place, Quantity: q, Cells: make([]series.Cell, s.night.Cells),
		})
	}
	s.last = make([]float64, len(channels))
	s.turns = make([]float64, len(channels))
	for i := range s.last {
		s.last[i] = math.NaN()
	}
	return nil
}

func (s *cellSink) Row(at time.Time, values []float64, words []string) error {
	cell := s.night.Index(at)
	if cell < 0 || cell >= s.night.Cells {
		return nil
	}
	for i, v := range values {
		ch := &s.night.Channels[i]
		if s.info[i].Form == rf.Text {
			continue
		}
		if math.IsNaN(v) {
			continue
		}
		was := s.last[i]
		s.last[i] = v
		switch s.info[i].Form {
		case rf.Counter:
			if v > was {
				s.event(at, series.Trip, ch.Place, int(v-was), reason(words, s.night.Channels, ch.Place))
			}
			continue
		case rf.State:
			if !math.IsNaN(was) && v != was {
				kind := series.RFOn
				if v < was {
					kind = series.RFOff
				}
				s.event(at, kind, ch.Place, 1, "")
			}
		case rf.Angle:
			if !math.IsNaN(was) {
				s.turns[i] -= 360 * math.Round((v-was)/360)
			}
			v += s.turns[i]
		}
		ch.Cells[cell].Add(v)
	}
	return nil
}

func reason(words []string, channels []series.Channel, place string) string {
	for i, w := range words {
		if channels[i].Place == place && w != "" {
			return w
		}
	}
	return ""
}

func (s *cellSink) event(at time.Time, kind series.EventKind, place string, count int, note string) {
	s.night.Events = append(s.night.Events, series.Event{At: at.UTC(), Kind: kind, Place: place, Count: count, Note: note})
}
