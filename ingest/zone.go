package ingest

import "time"

// zoneSlack is longer than any offset from UTC, so that what lies further from a
// change of the clocks is not touched by it.
const zoneSlack = 26 * 3600

// localClock turns what a clock in a zone showed into instants.
type localClock struct {
	zone *time.Location

	// the span of shown times, far from any change of the clocks, for which one
	// offset is known to hold
	from, to, offset int64
}

// instants returns the moments, in seconds from 1970 UTC, at which the clock
// showed wall: one, or two where the clocks were put back, or none where they were
// put forward.
func (l *localClock) instants(wall int64) (first, second int64, count int) {
	if wall >= l.from && wall < l.to {
		return wall - l.offset, 0, 1
	}
	for at := wall - zoneSlack; ; {
		period := time.Unix(at, 0).In(l.zone)
		_, seconds := period.Zone()
		offset := int64(seconds)
		start, end := zoneBounds(period)
		moment := wall - offset
		if moment >= start && moment < end && (count == 0 || moment != first) {
			if count == 0 {
				first = moment
			} else {
				second = moment
			}
			count++
			if moment-start > 2*zoneSlack && end-moment > 2*zoneSlack {
				l.from, l.to, l.offset = start+offset+2*zoneSlack, end+offset-2*zoneSlack, offset
			}
		}
		if end > wall+zoneSlack || count == 2 {
			return first, second, count
		}
		at = end
	}
}

// zoneBounds returns the span in which the offset at t holds. On the last day of a
// leap year beyond its table of changes the standard library gives an end that has
// passed: the end is then that of the days behind it.
func zoneBounds(t time.Time) (start, end int64) {
	const ever = 1 << 60
	start, end = -ever, ever
	from, to := t.ZoneBounds()
	if !to.IsZero() && !to.After(t) {
		_, to = t.Add(48 * time.Hour).ZoneBounds()
	}
	if !from.IsZero() {
		start = from.Unix()
	}
	if !to.IsZero() {
		end = to.Unix()
	}
	return start, end
}
