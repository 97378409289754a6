package handover

import (
	"strconv"

	"dawncrest/rf/review"
)

// continuitySection tells what is new, what goes on and what is cleared since
// the last entry of the shift book.
func continuitySection(r *review.Report, m Meta, h History, c clock) section {
	s := section{key: "continuity", title: "New, going on, cleared"}
	switch {
	case !h.Book:
		s.lead = []string{"No shift book was given: what is new cannot be told from what goes on."}
		return s
	case h.Previous == nil:
		s.lead = append([]string{"The shift book holds no earlier night of this linac: everything found counts as new."}, cleanAll(h.Notices)...)
		return s
	}
	s.lead = []string{"Against " + h.Previous.Name + by(h.Previous.Author) + ", log until " + c.At(h.Previous.To) + "."}
	var fresh, going []string
	for _, f := range r.Findings {
		key := FindingKey(f)
		told := h.toldOf(key)
		line := mark(f) + " " + clean(f.Place) + ": " + causeOf(f) + ageWords(told, f.Cause)
		if seen := seenWords(h.SeenBy(key, m), c); seen != "" {
			line += "; seen by " + seen
		}
		if told.Age == 0 {
			fresh = append(fresh, "New: "+line)
		} else {
			going = append(going, "Going on: "+line)
		}
	}
	s.bullets = append(fresh, going...)
	for _, gone := range h.Cleared {
		s.bullets = append(s.bullets, clearedLine(gone))
	}
	if s.bullets == nil {
		s.lead[0] += " Nothing new, nothing going on, nothing cleared."
	}
	s.after = capped(cleanAll(h.Notices), shownNotices, "notice")
	return s
}

// ageWords says for how many shifts a finding has been told.
func ageWords(told Told, now review.Cause) string {
	if told.Age == 0 {
		if told.Before != "" {
			return ", once cleared, last told in " + clean(told.Before)
		}
		return ""
	}
	words := ", " + ordinal(told.Age+1) + " shift (first in " + clean(told.First) + ")"
	if told.Was != "" && told.Was != now {
		words += ", until now called " + told.Was.Words()
	}
	return words
}

func clearedLine(gone Cleared) string {
	line := clean(gone.Finding.Place) + ": " + gone.Finding.Cause.Words() + ", after " + count(gone.Age, "shift")
	if gone.NotKnown {
		return "Not known: " + line + "; it could not be judged this night"
	}
	return "Cleared: " + line
}

func by(author string) string {
	if author = clean(author); author != "" {
		return " by " + author
	}
	return ""
}

// ordinal writes 1st, 2nd, 3rd, 4th, 11th, 21st.
func ordinal(n int) string {
	suffix := "th"
	if n%100 < 11 || n%100 > 13 {
		switch n % 10 {
		case 1:
			suffix = "st"
		case 2:
			suffix = "nd"
		case 3:
			suffix = "rd"
		}
	}
	return strconv.Itoa(n) + suffix
}

func notesSection(m Meta, h History) section {
	s := section{key: "notes", title: "Notes of the shift", bullets: cleanAll(m.Notes)}
	if h.Previous != nil {
		for _, n := range cleanAll(h.Previous.Notes) {
			s.bullets = append(s.bullets, "From "+h.Previous.Name+by(h.Previous.Author)+": "+n)
		}
	}
	if len(s.bullets) == 0 {
		s.lead = []string{"None."}
	}
	return s
}

func trendSection(h History) section {
	if len(h.Trends) == 0 {
		return section{}
	}
	s := section{key: "trends", title: "Creeping from night to night"}
	for _, t := range h.Trends {
		s.bullets = append(s.bullets, t.Words())
	}
	return s
}
