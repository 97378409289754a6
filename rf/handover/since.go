package handover

import (
	"slices"

	"dawncrest/rf/review"
)

// Since compares a report with the entries of earlier nights: what is new, what
// goes on and for how long, what is cleared. A nil book gives the zero History.
func (b *Book) Since(r *review.Report) History {
	if b == nil {
		return History{}
	}
	h := History{Book: true, Notices: b.Notices}
	nights := b.before(r)
	h.Told = make([]Told, len(r.Findings))
	for i := range r.Findings {
		h.Told[i] = toldBefore(nights, r, r.Findings[i])
	}
	if len(nights) == 0 {
		return h
	}
	last := nights[len(nights)-1]
	h.Previous = &last
	h.Cleared = clearedSince(nights, r)
	h.Trends = creeping(nights, r)
	return h
}

// before returns the entries of the report's plant whose log ended before the
// report's does, one for each night: the latest word on it.
func (b *Book) before(r *review.Report) []Entry {
	name := ""
	if r.Plant != nil {
		name = r.Plant.Name
	}
	var nights []Entry
	for _, e := range b.Entries {
		if e.Plant != name || !e.To.Before(r.To) {
			continue
		}
		if n := len(nights); n > 0 && nights[n-1].To.Equal(e.To) {
			nights[n-1] = e
			continue
		}
		nights = append(nights, e)
	}
	return nights
}

// asks reports whether a finding asks for anything: one that is in tolerance
// (a set point that somebody moved) is over once it is told.
func asks(v review.Verdict) bool { return v != review.InTolerance }

// same returns the finding of an entry that tells what f tells: the same key,
// else the same quantity at the same place under another cause, for a cause may
// become clear only after some nights.
func same(e Entry, f EntryFinding, r *review.Report) (EntryFinding, bool) {
	for _, old := range e.Findings {
		if old.Key == f.Key && asks(old.Verdict) {
			return old, true
		}
	}
	for _, old := range e.Findings {
		if f.Quantity != "" && old.Place == f.Place && old.Quantity == f.Quantity && asks(old.Verdict) && !tells(r, old.Key) {
			return old, true
		}
	}
	return EntryFinding{}, false
}

// tells reports whether the report itself has a finding of that key.
func tells(r *review.Report, key string) bool {
	return slices.ContainsFunc(r.Findings, func(f review.Finding) bool { return FindingKey(f) == key && asks(f.Verdict) })
}

func toldBefore(nights []Entry, r *review.Report, found review.Finding) Told {
	f := entryFinding(found)
	t := Told{Key: f.Key}
	if !asks(f.Verdict) {
		return t
	}
	i := len(nights) - 1
	for ; i >= 0; i-- {
		old, ok := same(nights[i], f, r)
		if !ok {
			break
		}
		if t.Age == 0 {
			t.Was = old.Cause
			t.Seen = marksOf(nights[i], old.Key, f.Key)
		}
		t.Age++
		t.First = nights[i].Name
	}
	if t.Age > 0 {
		return t
	}
	for ; i >= 0; i-- {
		if _, ok := same(nights[i], f, r); ok {
			t.Before = nights[i].Name
			break
		}
	}
	return t
}

// marksOf returns the seen-marks of an entry on one finding, under the key that
// the finding has now.
func marksOf(e Entry, key, now string) []Seen {
	var marks []Seen
	for _, s := range e.Seen {
		if s.Key == key {
			s.Key = now
			marks = append(marks, s)
		}
	}
	return marks
}

func clearedSince(nights []Entry, r *review.Report) []Cleared {
	last := nights[len(nights)-1]
	var gone []Cleared
	for _, old := range last.Findings {
		if !asks(old.Verdict) || goesOn(last, old, r) {
			continue
		}
		c := Cleared{Finding: old, NotKnown: notJudged(r, old)}
		for i := len(nights) - 1; i >= 0; i-- {
			if _, ok := same(nights[i], old, r); !ok {
				break
			}
			c.Age++
		}
		gone = append(gone, c)
	}
	return gone
}

// goesOn reports whether some finding of the report carries an old one on.
func goesOn(last Entry, old EntryFinding, r *review.Report) bool {
	for _, f := range r.Findings {
		if !asks(f.Verdict) {
			continue
		}
		if was, ok := same(last, entryFinding(f), r); ok && was.Key == old.Key {
			return true
		}
	}
	return false
}

// notJudged reports whether the place of an old finding could not be judged this
// night: silence is then no sign that it is cleared.
func notJudged(r *review.Report, old EntryFinding) bool {
	for _, n := range r.NotJudged {
		if (n.Place == old.Place || n.Place == old.Station) && (n.Quantity == "" || n.Quantity == old.Quantity) {
			return true
		}
	}
	for _, s := range r.Stations {
		if (s.Station == old.Place || s.Station == old.Station) && s.Verdict == review.NoData {
			return true
		}
	}
	for _, s := range r.Structures {
		if s.Structure == old.Place && s.Verdict == review.NoData {
			return true
		}
	}
	return false
}
