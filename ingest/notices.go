package ingest

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"sort"
	"strings"
	"time"

	"dawncrest/rf/series"
)

// counted returns a number of things in words: "1 gap", "3 gaps".
func counted(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

const shownTime = "2006-01-02 15:04:05 UTC"

func (s *stream) notice(format string, args ...any) {
	s.file.Notices = append(s.file.Notices, fmt.Sprintf(format, args...))
}

// finish completes the account of the file: what a person should know before
// trusting it.
func (s *stream) finish() {
	if s.nuls > 0 {
		s.notice("%d NUL bytes between the lines left out, as a disk block that was never written leaves them", s.nuls)
	}
	s.file.Step = s.source.dialect.step
	s.file.RowsMerged += s.judge.merged
	s.file.RowsKept += s.judge.repeated.count
	s.file.Columns = s.columns()
	for _, c := range s.file.Columns {
		s.file.Missing += c.Missing
	}
	s.tellTimes()
	s.tellValues()
	s.tellColumns()
	if err := s.rejects.flush(); err != nil {
		s.notice("the refused rows could not be written: %v", err)
	}
}

// fewRows is below what any judgement on a drift needs.
const fewRows = 8

func (s *stream) tellTimes() {
	j := s.judge
	if n := s.file.RowsKept; n > 0 && n < fewRows {
		s.notice("only %s: too few to tell a drift", counted(n, "row"))
	}
	if j.resolved.count > 0 {
		s.notice("in the hour that runs twice when the clocks are put back, and taken as its second pass by their order: %s", j.resolved)
	}
	for i, jump := range j.jumps {
		if i == 0 {
			s.notice("clock or order: times step back %s", counted(j.jumpCount, "time"))
		}
		s.notice("line %d: from %s back to %s", jump.line, utc(jump.from).Format(shownTime), utc(jump.to).Format(shownTime))
	}
	if j.late.count > 0 {
		s.notice("out of order, and put where their time belongs: %s; counters and states in them make no events", j.late)
	}
	if j.repeated.count > 0 {
		s.notice("a time that was read before, with other values: %s; the first reading of each time is used, not these", j.repeated)
	}
	if j.merged > 0 {
		s.notice("%s merged: the same time and values were read before", counted(j.merged, "row"))
	}
	if j.unitChanges.count > 0 {
		s.notice("the unit of epoch times changes at line %d", j.unitChanges.first)
	}
	if s.headers > 0 {
		s.notice("the header stands again between the rows, %s", counted(s.headers, "time"))
	}
	if s.reorder.count > 0 {
		s.notice("another header at line %d: the rows behind it follow it", s.reorder.first)
	}
	if s.file.GapCount > 0 {
		longest := s.file.Gaps[0]
		for _, g := range s.file.Gaps {
			if g.To.Sub(g.From) > longest.To.Sub(longest.From) {
				longest = g
			}
		}
		s.notice("%s in the rows, the longest from %s to %s", counted(s.file.GapCount, "gap"), longest.From.Format(shownTime), longest.To.Format(shownTime))
	}
	if s.file.RowsOutside > 0 {
		s.notice("outside the span asked for: %s", counted(s.file.RowsOutside, "row"))
	}
}

// tellValues tells which values were not taken as they stand.
func (s *stream) tellValues() {
	nothing, strange := map[string]oddCount{}, map[string]oddCount{}
	for word, c := range s.odd {
		sig := s.book.list[word.signal]
		if sig.quantity == "" && s.totals[word.signal].readings == 0 {
			continue // a column of words
		}
		to := strange
		if s.night.words[strings.ToLower(word.word)] {
			to = nothing
		}
		seen, known := to[word.word]
		if !known || c.line < seen.line {
			seen.line = c.line
		}
		seen.count += c.count
		to[word.word] = seen
	}
	if len(nothing) > 0 {
		s.notice("words for no value: %s", listWords(nothing, false))
	}
	if len(strange) > 0 {
		s.notice("not numbers, counted as missing: %s", listWords(strange, true))
	}
	for i := range s.totals {
		sig, c := s.book.list[i], s.totals[i].counts
		if sig.quantity == "" && s.totals[i].readings == 0 {
			continue
		}
		if c.impossible > 0 {
			r := sig.bounds()
			s.notice("%s: %s outside %s to %s %s, physically impossible and not used: the first is %s at line %d, %s",
				shownWord(sig.text), counted(int(c.impossible), "value"), significant(r.low), significant(r.high), sig.info.Unit, significant(c.oddValue), c.oddLine, utc(c.oddAt).Format(shownTime))
		}
		if c.codes > 0 {
			s.notice("%s: not used: %s that stand for no value, such as -9999", shownWord(sig.text), counted(int(c.codes), "number"))
		}
		if c.negative > 0 {
			s.notice("%s: logged negative and taken by magnitude", shownWord(sig.text))
		}
	}
}

// listWords lists words with their counts, the most frequent first.
func listWords(words map[string]oddCount, withLine bool) string {
	names := make([]string, 0, len(words))
	for name := range words {
		names = append(names, name)
	}
	sort.Slice(names, func(i, j int) bool {
		a, b := words[names[i]], words[names[j]]
		if a.count != b.count {
			return a.count > b.count
		}
		return names[i] < names[j]
	})
	const most = 24
	var parts []string
	for i, name := range names {
		if i == most {
			parts = append(parts, fmt.Sprintf("and %d more", len(names)-most))
			break
		}
		part := fmt.Sprintf("%q %d", name, words[name].count)
		if withLine {
			part += fmt.Sprintf(" (line %d)", words[name].line)
		}
		parts = append(parts, part)
	}
	return strings.Join(parts, ", ")
}

// tellColumns tells which columns were not understood, in one line.
func (s *stream) tellColumns() {
	ignored := 0
	for _, c := range s.file.Columns {
		if c.Quantity == "" {
			ignored++
		}
	}
	if ignored > 0 {
		s.notice("not understood and ignored: %d of %s", ignored, counted(len(s.file.Columns), "column"))
	}
	if s.schema.sparse {
		s.notice("values are written only when they change: each is held until the next one, for up to %s, and means are weighted by time", series.ShortSpan(time.Duration(s.night.holder.age)))
	}
}

// tellAll adds what concerns all files to the account of the first one.
func (b *builder) tellAll() {
	b.tellTwice()
	for i := range b.log.Files {
		f := &b.log.Files[i]
		if f.Err != nil || f.Outside {
			continue
		}
		if h := b.holder; h.longest > int64(time.Hour) {
			c := b.grid.channels[h.silent]
			f.Notices = append(f.Notices, fmt.Sprintf("the longest silence of a value written on change is %s, %s %s from %s",
				series.ShortSpan(time.Duration(h.longest)), c.place, c.quantity, utc(h.from).Format(shownTime)))
		}
		switch width := series.ShortSpan(time.Duration(b.grid.width)); {
		case b.grid.width != b.asked:
			f.Notices = append(f.Notices, fmt.Sprintf("the log is long: kept in cells of %s, so that it fits in memory", width))
		case b.options.CellWidth == time.Duration(b.asked):
			f.Notices = append(f.Notices, fmt.Sprintf("kept in cells of %s, as asked for", width))
		}
		for _, place := range slices.Sorted(maps.Keys(b.events.falls)) {
			f.Notices = append(f.Notices, fmt.Sprintf("the trip counter of %s fell %s: taken as started again", place, counted(b.events.falls[place], "time")))
		}
		return
	}
}

// What a log may be before its first row is written.
var (
	errEmpty = errors.New("the file is empty: no header and no row")
	errNoRow = errors.New("a header and no row")
)

// nothingKept says why a file has no rows.
func (s *stream) nothingKept() error {
	line := max(1, s.source.dialect.headerLine)
	switch {
	case s.file.RowsRejected > 0:
		first := s.file.Rejects[0]
		return fmt.Errorf("none of %d rows could be read; line %d: %v", s.file.RowsRejected, first.Line, first.Err)
	case s.file.RowsMerged > 0:
		return nil // all of it was read from another file
	case s.file.RowsOutside > 0:
		s.file.Outside = true
		return fmt.Errorf("none of %d rows lies in the span asked for", s.file.RowsOutside)
	}
	return fmt.Errorf("line %d: %w", line, errNoRow)
}

// nothingKnown says which columns stand in a file of which none is understood.
func (s *stream) nothingKnown() error {
	var names []string
	for _, sig := range s.book.list {
		if sig.quantity != "" {
			return nil
		}
		name := fmt.Sprintf("%q", shownWord(sig.text))
		if sig.guess != "" && len(names) < 3 {
			name += " (" + sig.guess + ")"
		}
		names = append(names, name)
	}
	if len(names) > 6 {
		names = append(names[:6], fmt.Sprintf("and %d more", len(names)-6))
	}
	return fmt.Errorf("line %d: no known column among %s: name them as in %q, or say in columns.csv of the plant folder what they are",
		max(1, s.source.dialect.headerLine), strings.Join(names, ", "), "S03 forward_power [MW]")
}
