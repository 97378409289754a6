package chart

import "time"

// tick is one labelled instant of the time axis.
type tick struct {
	column int
	label  string
}

// steps are the distances between labels that people read easily.
var steps = []time.Duration{
	time.Second, 2 * time.Second, 5 * time.Second, 10 * time.Second, 15 * time.Second, 30 * time.Second,
	time.Minute, 2 * time.Minute, 5 * time.Minute, 10 * time.Minute, 15 * time.Minute, 30 * time.Minute,
	time.Hour, 2 * time.Hour, 3 * time.Hour, 6 * time.Hour, 12 * time.Hour,
	24 * time.Hour, 48 * time.Hour, 7 * 24 * time.Hour, 28 * 24 * time.Hour,
}

// ticks returns the labels of an axis of the given width, at round local times.
// A span of more than a day has dates instead of hours where a day begins.
func ticks(from, to time.Time, zone *time.Location, width int) []tick {
	span := to.Sub(from)
	if span <= 0 || width < 8 {
		return nil
	}
	const room = 9 // columns for the longest label and the space after it
	step := steps[len(steps)-1]
	for _, s := range steps {
		if int64(span)*room <= int64(s)*int64(width) {
			step = s
			break
		}
	}
	var found []tick
	for at := roundUp(from, step, zone); at.Before(to); {
		column := int(float64(at.Sub(from)) / float64(span) * float64(width))
		found = append(found, tick{column, label(at.In(zone), step)})
		next := roundUp(at.Add(time.Nanosecond), step, zone)
		if !next.After(at) || len(found) > width {
			break
		}
		at = next
	}
	return found
}

// roundUp returns the first instant not before t that is a whole number of
// steps on the clock of the zone.
func roundUp(t time.Time, step time.Duration, zone *time.Location) time.Time {
	_, offset := t.In(zone).Zone()
	shift := time.Duration(offset) * time.Second
	local := t.UTC().Add(shift)
	rounded := local.Truncate(step)
	if rounded.Before(local) {
		rounded = rounded.Add(step)
	}
	return rounded.Add(-shift)
}

func label(at time.Time, step time.Duration) string {
	if step >= 24*time.Hour || (at.Hour() == 0 && at.Minute() == 0 && at.Second() == 0) {
		return at.Format("2 Jan")
	}
	if step < time.Minute {
		return at.Format("15:04:05")
	}
	return at.Format("15:04")
}
