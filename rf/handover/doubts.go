package handover

import (
	"fmt"
	"strings"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/review"
	"dawncrest/rf/series"
)

// doubtSection tells what could not be judged, why, and when it will be. Places
// with the same reason stand together.
func doubtSection(r *review.Report, c clock) section {
	type reason struct {
		quantity rf.Quantity
		why      string
		until    time.Time
	}
	var order []reason
	places := make(map[reason][]string)
	for _, n := range r.NotJudged {
		key := reason{n.Quantity, clean(n.Why), n.Until}
		if places[key] == nil {
			order = append(order, key)
		}
		places[key] = append(places[key], clean(n.Place))
	}
	s := section{key: "doubts", title: "What could not be judged"}
	for _, key := range order {
		line := listed(places[key], 10)
		if key.quantity != "" {
			line += ", " + quantityWords(key.quantity)
		}
		line += ": " + key.why
		if !key.until.IsZero() {
			line += "; settled from " + c.At(key.until)
		}
		s.bullets = append(s.bullets, line)
	}
	switch {
	case s.bullets != nil:
	case len(r.Traces) == 0:
		s.lead = []string{"There was no reading to judge."}
	default:
		s.lead = []string{"Everything that was logged could be judged."}
	}
	return s
}

// How much of a bad log is shown in a handover; the rest is counted.
const (
	shownRejects = 12
	shownFiles   = 12
	shownNotices = 12
)

// logSection tells how well the log was read: nothing is lost in silence.
func logSection(r *review.Report, c clock) section {
	s := section{key: "log", title: "The log"}
	l := r.Log
	line := fmt.Sprintf("%s, %s kept, %d values", count(len(l.Files), "file"), count(l.Rows(), "row"), l.Values())
	if rf.Known(r.Coverage) {
		line += ", coverage " + number(r.Coverage, fine) + " %"
	}
	line += fmt.Sprintf("; %s refused, %d folded into equal ones, %s missing.", count(l.RowsRejected(), "row"), l.RowsMerged(), count(l.Missing(), "value"))
	s.lead = []string{line}
	notices := cleanAll(r.Notices)
	var unread, rejects []string
	for _, f := range l.Files {
		if f.Err != nil {
			unread = append(unread, "Could not be read: "+clean(f.Name)+": "+whyUnread(f))
		}
		for _, n := range cleanAll(f.Notices) {
			notices = append(notices, clean(f.Name)+": "+n)
		}
		for _, rej := range f.Rejects {
			rejects = append(rejects, rejectLine(f.Name, rej))
		}
	}
	s.bullets = append(s.bullets, capped(unread, shownRejects, "log that could not be read")...)
	s.bullets = append(s.bullets, capped(rejects, shownRejects, "refused row")...)
	s.bullets = append(s.bullets, capped(notices, shownNotices, "notice")...)
	return s
}

// whyUnread says why a file could not be read, without its name.
func whyUnread(f series.File) string {
	return clean(strings.TrimPrefix(f.Err.Error(), f.Name+": "))
}

func rejectLine(file string, r series.Reject) string {
	line := fmt.Sprintf("Refused: %s line %d", clean(file), r.Line)
	if column := clean(r.Column); column != "" {
		line += ", column " + column
	}
	if r.Err != nil {
		line += ": " + clean(r.Err.Error())
	}
	return line
}

// capped keeps the first lines and counts the others.
func capped(lines []string, most int, noun string) []string {
	if len(lines) <= most {
		return lines
	}
	return append(lines[:most:most], "and "+count(len(lines)-most, noun)+" more")
}

// originSection tells who wrote this, when, from what and against what.
func originSection(r *review.Report, m Meta, c clock) section {
	s := section{key: "origin", title: "Where this comes from"}
	author := clean(m.Author)
	if author == "" {
		author = "nobody named"
	}
	s.bullets = append(s.bullets,
		"Written "+c.Both(m.Written)+" by "+author+", dawncrest "+clean(m.Version)+".",
		"Log "+c.Span(r.From, r.To)+" ("+c.UTC(r.From)+" to "+c.UTC(r.To)+").",
		"Files: "+fileNames(r.Log)+".",
		"Reference: "+referenceWords(r, c)+".")
	s.after = []string{"dawncrest reads logs and controls nothing."}
	return s
}

func fileNames(l series.Log) string {
	names := make([]string, 0, len(l.Files))
	for _, f := range l.Files {
		names = append(names, clean(f.Name))
	}
	if len(names) == 0 {
		return "none"
	}
	return listed(names, shownFiles)
}

func referenceWords(r *review.Report, c clock) string {
	ref := r.Reference
	if ref.From.IsZero() && ref.Kind == "" {
		return notKnown
	}
	text := clean(ref.Kind) + ", " + c.Span(ref.From, ref.To)
	if ref.Settled > 0 {
		text += ", " + duration(ref.Settled) + " settled"
	}
	if age := r.To.Sub(ref.To); age > 0 {
		text += ", " + duration(age) + " before the log's end"
	}
	if note := clean(ref.Note); note != "" {
		text += "; " + note
	}
	return text
}
