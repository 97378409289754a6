package tui

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"dawncrest/rf/review"
	"dawncrest/rf/series"
)

// logbook shows the log itself: what was read, what is missing, what was refused.
type logbook struct{ list list }

func (logbook) question(data) string { return "Can this log be trusted?" }

func (logbook) answer(d data) string {
	log := d.report.Log
	lost, read := 0, 0
	for _, f := range log.Files {
		switch {
		case f.Err != nil:
			lost++
		case !f.Outside:
			read++
		}
	}
	words := fmt.Sprintf("%s %% of the readings are there; %s from %s.", number(d.report.Coverage, 1), counted(log.Rows(), "row"), counted(read, "file"))
	if lost > 0 {
		words += " " + counted(lost, "file") + " could not be read."
	}
	if n := log.RowsRejected(); n > 0 {
		words += " " + counted(n, "row") + " refused."
	}
	return words
}

// logRow is one line of the account, with the verdict that its look follows.
type logRow struct {
	text    string
	heading bool
	verdict review.Verdict
	place   string // whose coverage is drawn behind it
}

// complete is the coverage from which a place is not worth a row of its own.
const complete = 99.95

func logRows(d data, l look) []logRow {
	var rows []logRow
	section := func(title string, body []logRow) {
		kept := []logRow{{text: title, heading: true}}
		for _, row := range body {
			if d.keeps(row.text, row.place) {
				kept = append(kept, row)
			}
		}
		if len(kept) > 1 {
			rows = append(rows, kept...)
		}
	}
	section("How it was read", append(fileRows(d, l), noticeRows(d)...))
	section("What is missing, over the night", coverageRows(d))
	section("What could not be judged", doubtRows(d))
	section("Rows refused", rejectRows(d))
	section("Columns not understood", columnRows(d, l, false))
	section("Columns", columnRows(d, l, true))
	return rows
}

func fileRows(d data, l look) []logRow {
	var rows []logRow
	files := d.report.Log.Files
	for len(files) > 0 {
		if n := outside(files); n > 0 {
			rows = append(rows, logRow{text: counted(n, "file") + " outside the span asked for"})
			files = files[n:]
			continue
		}
		f, n := files[0], alike(files)
		for _, more := range files[1:n] {
			f.Last = later(f.Last, more.Last)
			f.RowsKept += more.RowsKept
			f.RowsMerged += more.RowsMerged
			f.Missing += more.Missing
		}
		files = files[n:]
		words := fmt.Sprintf("%s to %s, %s", d.moment(f.First), d.moment(f.Last), counted(f.RowsKept, "row"))
		if n > 1 {
			words = fmt.Sprintf("%s written alike, %s, from %s on", counted(n, "file"), words, f.Name)
		} else {
			words = f.Name + ": " + words
		}
		if f.Err != nil {
			rows = append(rows, logRow{text: "not read: " + f.Err.Error(), verdict: review.OutOfTolerance})
			continue
		}
		rows = append(rows,
			logRow{text: words},
			logRow{text: fmt.Sprintf("   %s, %s, columns parted by %s, decimal %s, times %s, zone %s", f.Encoding, f.Layout, separatorWords(f.Separator), f.Decimal, f.TimeForm, f.Zone)},
			logRow{text: fmt.Sprintf("   %d refused, %d merged into equal ones, %d values missing, %s", f.RowsRejected, f.RowsMerged, f.Missing, counted(len(f.Columns), "column"))})
		for _, n := range f.Notices {
			rows = append(rows, logRow{text: "   " + n, verdict: review.Drifting})
		}
	}
	return rows
}

// fewFiles are told one by one, however much alike they are.
const fewFiles = 4

// alike returns how many files from the first one on can be told as one: those that
// are written alike and of which there is nothing to say; else 1.
func alike(files []series.File) int {
	type form struct {
		encoding, layout, separator, decimal, times, zone string
		columns                                           int
	}
	formOf := func(f series.File) form {
		return form{f.Encoding, f.Layout, f.Separator, f.Decimal, f.TimeForm, f.Zone, len(f.Columns)}
	}
	n := 0
	for n < len(files) && files[n].Err == nil && files[n].RowsRejected == 0 && len(files[n].Notices) == 0 && formOf(files[n]) == formOf(files[0]) {
		n++
	}
	if n <= fewFiles {
		return 1
	}
	return n
}

// outside returns how many files from the first one on lie outside the span asked
// for.
func outside(files []series.File) int {
	n := 0
	for n < len(files) && files[n].Outside && files[n].Err == nil {
		n++
	}
	return n
}

func separatorWords(separator string) string {
	if separator == "\t" {
		return "tab"
	}
	return "\"" + separator + "\""
}

func noticeRows(d data) []logRow {
	var rows []logRow
	for _, n := range d.report.Notices {
		rows = append(rows, logRow{text: n, verdict: review.Drifting})
	}
	ref := d.report.Reference
	if ref.Kind != "" {
		words := "drift is measured from: " + ref.Kind
		if !ref.From.IsZero() {
			words += ", " + d.moment(ref.From) + " to " + d.moment(ref.To)
		}
		if ref.Note != "" {
			words += "; " + ref.Note
		}
		rows = append(rows, logRow{text: words})
	}
	return rows
}

// coverageRows names the places with readings missing, the worst first.
func coverageRows(d data) []logRow {
	var rows []logRow
	whole := 0
	for place, percent := range d.places.coverage {
		switch {
		case percent >= complete:
			whole++
		case !math.IsNaN(percent):
			rows = append(rows, logRow{text: fmt.Sprintf("%6s %%", number(percent, 1)), place: place, verdict: review.NoData})
		}
	}
	sort.Slice(rows, func(i, j int) bool {
		a, b := d.places.coverage[rows[i].place], d.places.coverage[rows[j].place]
		if a != b {
			return a < b
		}
		return rows[i].place < rows[j].place
	})
	return append(rows, logRow{text: counted(whole, "place") + " without a gap"})
}

func doubtRows(d data) []logRow {
	var rows []logRow
	for _, n := range d.report.NotJudged {
		words := n.Place
		if n.Quantity != "" {
			words += " " + title(n.Quantity)
		}
		words += ": " + n.Why
		if !n.Until.IsZero() {
			words += ", until " + d.clock(n.Until)
		}
		rows = append(rows, logRow{text: words, verdict: review.NoData})
	}
	return rows
}

func rejectRows(d data) []logRow {
	var rows []logRow
	for _, f := range d.report.Log.Files {
		for _, r := range f.Rejects {
			words := fmt.Sprintf("%s line %d", f.Name, r.Line)
			if r.Column != "" {
				words += " column " + r.Column
			}
			rows = append(rows, logRow{text: words + ": " + r.Error()})
		}
		if more := f.RowsRejected - len(f.Rejects); more > 0 && len(f.Rejects) > 0 {
			rows = append(rows, logRow{text: fmt.Sprintf("   and %d more for these reasons", more)})
		}
	}
	return rows
}

func columnRows(d data, l look, understood bool) []logRow {
	var rows []logRow
	for _, c := range d.places.columns {
		if (c.Quantity != "") == understood {
			rows = append(rows, logRow{text: columnWords(l, c)})
		}
	}
	return rows
}

func columnWords(l look, c series.Column) string {
	words := l.left(c.Header, 34) + " "
	if c.Quantity != "" {
		words += l.left(c.Place+" "+title(c.Quantity), 28) + " "
	} else if c.Guess != "" {
		words += l.left("perhaps "+c.Guess, 28) + " "
	}
	info, _ := c.Quantity.Info()
	words += fmt.Sprintf("%d readings, %s to %s", c.Readings, reading(c.Min, info.Unit), reading(c.Max, info.Unit))
	if c.Scale != "" {
		words += ", " + c.Scale
	}
	if c.Missing > 0 {
		words += fmt.Sprintf(", %d missing", c.Missing)
	}
	return words
}

func (p logbook) renewed(before, after data) page {
	names := func(d data) []string {
		var names []string
		for _, row := range logRows(d, look{marks: asciiMarks}) {
			names = append(names, row.place+row.text)
		}
		return names
	}
	p.list = p.list.kept(names(before), names(after))
	return p
}

func (p logbook) update(msg tea.KeyMsg, d data) (page, tea.Msg) {
	rows := logRows(d, look{marks: asciiMarks})
	if key.Matches(msg, keys.worst) {
		p.list = p.list.worst(len(rows), func(i int) int { return rows[i].verdict.Rank() })
		return p, nil
	}
	p.list = p.list.moved(msg, len(rows))
	return p, nil
}

func (logbook) keys() []key.Binding { return []key.Binding{keys.down, keys.up} }

func (p logbook) view(d data, l look, width, height int) []string {
	rows := logRows(d, l)
	p.list = p.list.within(len(rows))
	if len(rows) == 0 {
		return []string{l.left("   no line passes the filter", width)}
	}
	from, to := p.list.shown(len(rows), height)
	var lines []string
	for i := from; i < to; i++ {
		row := rows[i]
		pointer := l.pointer(i == p.list.cursor)
		switch {
		case row.heading:
			lines = append(lines, l.styles.heading.Render(l.left(pointer+row.text, width)))
		case row.place != "":
			head := pointer + "  " + l.left(row.place, 14) + row.text + " "
			lines = append(lines, l.left(head, 28)+coverageStrip(d, l, row.place, width-28))
		default:
			lines = append(lines, l.styles.verdict(row.verdict).Render(l.left(pointer+"  "+row.text, width)))
		}
	}
	return lines
}

// coverageStrip draws where a place has readings: a line where all are there, a
// broken one where some are, nothing where none are.
func coverageStrip(d data, l look, place string, width int) string {
	if width <= 0 {
		return ""
	}
	whole, some := "─", "╌"
	if l.ascii {
		whole, some = "-", "."
	}
	present, all := make([]int, width), make([]int, width)
	for _, t := range d.places.traces[place] {
		if t.Derived || t.Quantity.IsSet() {
			continue
		}
		values := inWindow(d.coarse(), t.Mean)
		for i, v := range values {
			column := i * width / len(values)
			all[column]++
			if !math.IsNaN(v) {
				present[column]++
			}
		}
	}
	var b strings.Builder
	for i := range width {
		switch {
		case all[i] == 0 && i > 0:
			// Columns narrower than a cell go on as the one before.
			all[i], present[i] = all[i-1], present[i-1]
		}
		switch {
		case present[i] == 0:
			b.WriteString(" ")
		case present[i] == all[i]:
			b.WriteString(whole)
		default:
			b.WriteString(some)
		}
	}
	return b.String()
}
