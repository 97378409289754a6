package handover

import (
	"time"

	"dawncrest/rf/review"
)

// shiftOf returns the date and the shift that a report belongs to, in plant
// time: "2026-11-24" and "night".
//
// It is the shift at the log's end, for that is the one which hands over: the
// instant asked for lies half the log, at most 4 h, before its end. A night
// belongs to the day on which it began.
func shiftOf(r *review.Report, m Meta) (date, shift string) {
	back := min(r.To.Sub(r.From)/2, 4*time.Hour)
	at := r.To.Add(-back).In(clockOf(r.Plant).zone)
	shift = clean(m.Shift)
	if shift == "" {
		shift = shiftAt(at)
	}
	return at.Add(-6 * time.Hour).Format("2006-01-02"), shift
}

// shiftAt names the shift of an hour where nobody named it: the three shifts
// that change at 6, 14 and 22 are common practice.
func shiftAt(t time.Time) string {
	switch h := t.Hour(); {
	case h >= 6 && h < 14:
		return "morning"
	case h >= 14 && h < 22:
		return "evening"
	}
	return "night"
}
