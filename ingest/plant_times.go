package ingest

import "time"

// localTimes are the ways to write a time without an offset.
var localTimes = []string{"2006-01-02 15:04:05", "2006-01-02 15:04", "2006-01-02T15:04:05", "2006-01-02T15:04"}

// instant returns the time an entry gives, in UTC: RFC 3339, or local time of the
// plant. It is zero where the entry gives none.
func (p *plantReader) instant(e entry) time.Time {
	text, ok := p.words(e)
	if !ok {
		return time.Time{}
	}
	if t, err := time.Parse(time.RFC3339, text); err == nil {
		return t.UTC()
	}
	for _, layout := range localTimes {
		wall, err := time.Parse(layout, text)
		if err != nil {
			continue
		}
		zone := localClock{zone: p.zone()}
		first, second, count := zone.instants(wall.Unix())
		switch count {
		case 0:
			p.fault(e, e.shown()+" does not exist: the clocks were put forward", "write a time that the clock showed")
			return time.Time{}
		case 2:
			p.fault(e, e.shown()+" came twice: the clocks were put back", "write "+p.local(first)+" or "+p.local(second))
			return time.Time{}
		}
		return time.Unix(first, int64(wall.Nanosecond())).UTC()
	}
	p.fault(e, e.shown()+" is not a time", "write "+e.spec.about)
	return time.Time{}
}

// day returns the start of the day an entry gives, in UTC, zero where it gives
// none.
func (p *plantReader) day(e entry) time.Time {
	text, ok := p.words(e)
	if !ok {
		return time.Time{}
	}
	if t, err := time.Parse(time.RFC3339, text); err == nil {
		return t.UTC()
	}
	t, err := time.ParseInLocation(time.DateOnly, text, p.zone())
	if err != nil {
		p.fault(e, e.shown()+" is not a date", "write "+e.spec.about)
		return time.Time{}
	}
	return t.UTC()
}

// zone returns the zone of local times. Where the plant's own has a fault, the
// form of a time can still be checked.
func (p *plantReader) zone() *time.Location {
	if p.plant.Zone == nil {
		return time.UTC
	}
	return p.plant.Zone
}

func (p *plantReader) local(unix int64) string {
	return time.Unix(unix, 0).In(p.zone()).Format(time.RFC3339)
}
