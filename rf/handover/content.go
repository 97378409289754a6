package handover

import (
	"strings"

	"dawncrest/rf/review"
)

// content is a handover before it has a form: every form renders this and
// nothing else, so that the forms cannot disagree.
type content struct {
	title    string
	subtitle []string // which night, in which zone
	headline []string // what a reader in a hurry needs
	sections []section
}

// section is one topic. Its parts come in the order of the fields; a section
// that holds only lead stands in one or two lines.
type section struct {
	key     string
	title   string
	lead    []string
	tasks   []task
	bullets []string
	grid    *grid
	after   []string
}

// task is one finding as a numbered thing to do.
type task struct {
	finding review.Finding
	head    string
	parts   []part
}

// part is one labelled line of a task.
type part struct{ label, text string }

// grid is a table: the cells are written out already.
type grid struct {
	columns []column
	rows    [][]string
}

type column struct {
	head    string
	numeric bool // set to the right
}

// columns reads heads; one that starts with ">" stands over numbers.
func columns(heads ...string) []column {
	out := make([]column, len(heads))
	for i, h := range heads {
		out[i] = column{strings.TrimPrefix(h, ">"), strings.HasPrefix(h, ">")}
	}
	return out
}

func (g *grid) add(cells ...string) { g.rows = append(g.rows, cells) }

// contentOf puts a handover together in the order in which it is read.
func contentOf(r *review.Report, m Meta, h History) content {
	c := clockOf(r.Plant)
	made := content{
		title:    title(r, m),
		subtitle: subtitle(r, m, c),
		headline: headline(r),
		sections: []section{
			energySection(r),
			taskSection(r, m, h, c),
			continuitySection(r, m, h, c),
			retuneSection(r),
			stationSection(r),
			lostSection(r),
			tripSection(r),
			trendSection(h),
			doubtSection(r, c),
			logSection(r, c),
			notesSection(m, h),
			cautionSection(r),
			originSection(r, m, c),
		},
	}
	kept := made.sections[:0]
	for _, s := range made.sections {
		if s.key != "" {
			kept = append(kept, s)
		}
	}
	made.sections = kept
	return made
}

func title(r *review.Report, m Meta) string {
	name := "unnamed linac"
	if r.Plant != nil && clean(r.Plant.Name) != "" {
		name = clean(r.Plant.Name)
	}
	date, shift := shiftOf(r, m)
	return "Handover of " + name + ", " + date + " " + shift
}

func subtitle(r *review.Report, m Meta, c clock) []string {
	lines := []string{
		"Log from " + c.Span(r.From, r.To) + ", " + duration(r.To.Sub(r.From)) + ". Times are those of " + c.Name() + " with their offset; Z marks UTC.",
	}
	if m.Demo {
		lines = append(lines, "Demo data: an invented linac and an invented night. Nothing here was measured.")
	}
	return lines
}
