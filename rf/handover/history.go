package handover

import (
	"slices"

	"dawncrest/rf/review"
)

// History is what the shift book adds to a report. The zero History stands for
// no book.
type History struct {
	Book     bool   // there is a book
	Previous *Entry // the entry before this night; nil: none
	Told     []Told // one for each finding of the report, in its order
	Cleared  []Cleared
	Trends   []Trend  // those that say something
	Notices  []string // entries that could not be read
}

// Told says how long one finding of the report has been told.
type Told struct {
	Key    string
	Age    int    // entries before this one that told it without a break; 0: new
	First  string // entry that told it first, empty where new
	Before string // where new: the last entry that told it before it was cleared
	Was    review.Cause
	Seen   []Seen // marks handed on by the entry before
}

// Cleared is a finding of the entry before that this night does not have.
type Cleared struct {
	Finding  EntryFinding
	Age      int  // entries that told it
	NotKnown bool // its place could not be judged this night: not cleared, not known
}

// Seen returns the marks that the entry before handed on.
func (h History) Seen() []Seen {
	var marks []Seen
	for _, t := range h.Told {
		marks = append(marks, t.Seen...)
	}
	return marks
}

// toldOf returns what is known of a finding by its key.
func (h History) toldOf(key string) Told {
	for _, t := range h.Told {
		if t.Key == key {
			return t
		}
	}
	return Told{Key: key}
}

// SeenBy returns who has looked at a finding: marks handed on, then the marks
// of this shift.
func (h History) SeenBy(key string, m Meta) []Seen {
	marks := append([]Seen(nil), h.toldOf(key).Seen...)
	for _, s := range m.Seen {
		known := slices.ContainsFunc(marks, func(k Seen) bool { return k.Initials == s.Initials && k.At.Equal(s.At) })
		if s.Key == key && !known {
			marks = append(marks, s)
		}
	}
	return marks
}
