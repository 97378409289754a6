package series

import (
	"time"

	"dawncrest/rf"
)

// Night is the span of log under review, reduced to cells and events.
type Night struct {
	Start    time.Time     // of the first cell, UTC
	Width    time.Duration // of every cell
	Cells    int           // in each channel
	Channels []Channel
	Events   []Event // in order of time
	Log      Log     // how it was read
}

// Channel is one quantity at one place over the night. Angles are unwrapped:
// neighbouring cells differ by less than half a turn unless they really jumped.
type Channel struct {
	Place    string
	Quantity rf.Quantity
	Cells    []Cell // Night.Cells of them
	Held     bool   // logged on change: values hold until the next one
}

// EventKind names what happened.
type EventKind string

// The kinds of event.
const (
	Trip  EventKind = "trip"
	RFOff EventKind = "rf_off"
	RFOn  EventKind = "rf_on"
)

// Event is one thing that happened at an instant, kept to the second, or at some
// time within a span from there.
type Event struct {
	At     time.Time // UTC
	Kind   EventKind
	Place  string
	Count  int           // trips counted at once, else 1
	Note   string        // trip reason where logged
	Within time.Duration // the log tells no better when; 0: to the second
}

// End returns the end of the last cell.
func (n *Night) End() time.Time { return n.At(n.Cells) }

// At returns the start of cell i.
func (n *Night) At(i int) time.Time { return n.Start.Add(time.Duration(i) * n.Width) }

// Index returns the cell that holds t; it may lie outside 0..Cells-1.
func (n *Night) Index(t time.Time) int {
	d := t.Sub(n.Start)
	if d < 0 {
		return -1
	}
	return int(d / n.Width)
}

// Channel returns the channel of a quantity at a place, nil where it was not
// logged.
func (n *Night) Channel(place string, q rf.Quantity) *Channel {
	for i := range n.Channels {
		if n.Channels[i].Quantity == q && n.Channels[i].Place == place {
			return &n.Channels[i]
		}
	}
	return nil
}

// EventsAt returns the events of one kind at a place, in order of time.
func (n *Night) EventsAt(place string, kind EventKind) []Event {
	var at []Event
	for _, e := range n.Events {
		if e.Place == place && e.Kind == kind {
			at = append(at, e)
		}
	}
	return at
}
