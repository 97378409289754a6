package handover

import (
	"fmt"
	"time"

	"dawncrest/rf"
)

// clock writes times in the zone of the plant. Every time that a person reads
// in a handover comes from it.
type clock struct{ zone *time.Location }

func clockOf(p *rf.Plant) clock {
	if p == nil || p.Zone == nil {
		return clock{time.UTC}
	}
	return clock{p.Zone}
}

// At writes an instant in plant time with its offset.
func (c clock) At(t time.Time) string {
	if t.IsZero() {
		return notKnown
	}
	return t.In(c.zone).Format("2006-01-02 15:04 -07:00")
}

// UTC writes an instant in universal time.
func (c clock) UTC(t time.Time) string {
	if t.IsZero() {
		return notKnown
	}
	return t.UTC().Format("2006-01-02 15:04Z")
}

// Both writes an instant in plant time and in universal time.
func (c clock) Both(t time.Time) string {
	if t.IsZero() {
		return notKnown
	}
	return c.At(t) + " (" + c.UTC(t) + ")"
}

// Span writes two instants in plant time.
func (c clock) Span(from, to time.Time) string { return c.At(from) + " to " + c.At(to) }

// Name returns the zone as people name it.
func (c clock) Name() string { return c.zone.String() }

// duration writes a length of time in hours and minutes.
func duration(d time.Duration) string {
	d = d.Round(time.Minute)
	h, m := int(d/time.Hour), int(d%time.Hour/time.Minute)
	switch {
	case h == 0:
		return fmt.Sprintf("%d min", m)
	case m == 0:
		return fmt.Sprintf("%d h", h)
	}
	return fmt.Sprintf("%d h %d min", h, m)
}
