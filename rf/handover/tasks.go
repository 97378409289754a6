package handover

import (
	"sort"
	"strings"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

// taskSection lists what needs doing, the dearest in energy first. What needs
// nothing done (a set point that somebody moved) is told after it.
func taskSection(r *review.Report, m Meta, h History, c clock) section {
	s := section{key: "tasks", title: "What needs doing, by energy"}
	for _, f := range byEnergy(r.Findings) {
		if f.Verdict == review.InTolerance {
			s.bullets = append(s.bullets, told(f))
			continue
		}
		s.tasks = append(s.tasks, taskOf(f, m, h, c))
	}
	if s.tasks == nil {
		s.lead = []string{"Nothing: no finding asks for a hand."}
	}
	return s
}

// byEnergy orders findings by what they cost, unknown costs last; equal ones
// keep the order of the report, worst verdict first.
func byEnergy(findings []review.Finding) []review.Finding {
	ranked := append([]review.Finding(nil), findings...)
	sort.SliceStable(ranked, func(i, j int) bool {
		a, b := ranked[i].EnergyCost, ranked[j].EnergyCost
		return rf.Known(a) && (!rf.Known(b) || a > b)
	})
	return ranked
}

// mark returns the sign that stands before a finding: its shape tells the
// verdict and which way the value went.
func mark(f review.Finding) string {
	switch {
	case f.Verdict == review.OutOfTolerance && f.Change < 0:
		return "▼"
	case f.Verdict == review.OutOfTolerance:
		return "▲"
	case f.Verdict == review.Drifting && f.Change < 0:
		return "↘"
	case f.Verdict == review.Drifting:
		return "↗"
	case f.Verdict == review.NoData:
		return "○"
	}
	return "·"
}

// causeOf names the cause, and says where it is only likely.
func causeOf(f review.Finding) string {
	if f.Likely {
		return "likely " + f.Cause.Words()
	}
	return f.Cause.Words()
}

// told is a finding in one line.
func told(f review.Finding) string {
	line := clean(f.Place) + ": " + causeOf(f)
	if text := clean(f.Message); text != "" {
		line += ". " + text
	}
	return line
}

func taskOf(f review.Finding, m Meta, h History, c clock) task {
	t := task{
		finding: f,
		head:    mark(f) + " " + clean(f.Place) + ": " + causeOf(f) + ", " + f.Verdict.Words() + ", " + costOf(f),
	}
	say := func(label, text string) {
		if text = clean(text); text != "" {
			t.parts = append(t.parts, part{label, text})
		}
	}
	say("", f.Message)
	say("Measured", measured(f, c))
	say("Do", f.Advice)
	say("Caution", f.Caution)
	say("Evidence", strings.Join(cleanAll(f.Evidence), "; "))
	say("Not logged, would have settled it", strings.Join(cleanAll(f.NotLogged), ", "))
	say("Seen", seenWords(h.SeenBy(FindingKey(f), m), c))
	return t
}

// costOf says what a finding costs in energy and whether the beam noticed.
func costOf(f review.Finding) string {
	cost := "energy cost not known"
	if rf.Known(f.EnergyCost) {
		cost = "costs " + number(mev(f.EnergyCost), coarse) + " MeV"
		if f.EnergyCost <= 0 {
			cost = "costs no energy"
		}
	}
	switch f.Beam {
	case review.BeamMoved:
		return cost + ", the beam noticed"
	case review.BeamUnmoved:
		return cost + ", the beam did not notice"
	}
	return cost
}

// measured gives the finding's main number: change, since when, how fast, and
// when it meets its limit.
func measured(f review.Finding, c clock) string {
	var said []string
	if rf.Known(f.Change) && f.Quantity != "" {
		said = append(said, quantityWords(f.Quantity)+" "+change(f.Change, 3, f.Unit))
	}
	if !f.Since.IsZero() {
		how := "since "
		if f.Step {
			how = "in one step at "
		}
		said = append(said, how+c.At(f.Since))
	}
	if !f.Until.IsZero() {
		said = append(said, "until "+c.At(f.Until))
	}
	if rf.Known(f.SlopePerH) && f.SlopePerH != 0 {
		said = append(said, "now "+change(f.SlopePerH, coarse, f.Unit)+" per hour")
	}
	if !f.ReachesAct.IsZero() {
		said = append(said, "reaches its limit at "+c.At(f.ReachesAct))
	}
	return strings.Join(said, ", ")
}

func quantityWords(q rf.Quantity) string {
	info, ok := q.Info()
	if !ok {
		return clean(string(q))
	}
	if q.IsSet() {
		return info.Title + " set value"
	}
	return info.Title
}

func seenWords(marks []Seen, c clock) string {
	var said []string
	for _, s := range marks {
		text := clean(s.Initials) + ", " + c.At(s.At)
		if note := clean(s.Note); note != "" {
			text += ": " + note
		}
		said = append(said, text)
	}
	return strings.Join(said, "; ")
}
