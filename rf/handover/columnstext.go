package handover

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"dawncrest/rf/series"
)

// ColumnsText writes what the reader made of the files for people. Files in a row
// with the same columns have one table of them.
func ColumnsText(w io.Writer, log series.Log) error {
	var b strings.Builder
	var together []series.Column
	files := 0
	for i, f := range log.Files {
		if i > 0 {
			b.WriteByte('\n')
		}
		columnsTextOf(&b, f)
		together = joined(together, f.Columns)
		files++
		if i+1 < len(log.Files) && sameColumns(f.Columns, log.Files[i+1].Columns) {
			continue
		}
		if files > 1 && len(together) > 0 {
			fmt.Fprintf(&b, "\nthe columns of these %d files together\n", files)
		}
		columnTables(&b, together)
		together, files = nil, 0
	}
	if len(log.Files) > 1 {
		fmt.Fprintf(&b, "\n%d files: %s kept, %s refused, %s merged\n", len(log.Files),
			count(log.Rows(), "row"), count(log.RowsRejected(), "row"), count(log.RowsMerged(), "row"))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func columnsTextOf(b *strings.Builder, f series.File) {
	b.WriteString(clean(f.Name) + "\n")
	if f.Err != nil {
		wrapped(b, "  error     ", whyUnread(f))
	}
	if f.Layout == "" {
		return
	}
	wrapped(b, "  written   ", fmt.Sprintf("%s, %s between columns, decimal %s, %s layout", f.Encoding, separatorWords[f.Separator], markWords[f.Decimal], f.Layout))
	if f.TimeForm != "" {
		wrapped(b, "  times     ", fmt.Sprintf("%s, zone %s", f.TimeForm, f.Zone))
	}
	if !f.First.IsZero() {
		wrapped(b, "  span      ", fmt.Sprintf("%s to %s%s", shownInstant(f.First), shownInstant(f.Last), rate(f.Step)))
	}
	rows := fmt.Sprintf("%d read = %d kept + %d refused + %d merged", f.RowsKept+f.RowsRejected+f.RowsMerged+f.RowsOutside, f.RowsKept, f.RowsRejected, f.RowsMerged)
	if f.RowsOutside > 0 {
		rows += fmt.Sprintf(" + %d outside the span asked for", f.RowsOutside)
	}
	if f.Outside && f.RowsOutside == 0 {
		rows = "none in the span asked for"
	}
	wrapped(b, "  rows      ", rows)
	gapsText(b, f)
	rejectsText(b, f)
	for _, notice := range f.Notices {
		wrapped(b, "  note      ", clean(notice))
	}
}

// sameColumns reports whether two files have the same columns, taken for the same.
func sameColumns(a, b []series.Column) bool {
	return slices.EqualFunc(a, b, func(a, b series.Column) bool { return *a.ColumnName == *b.ColumnName })
}

// joined returns the account of the same columns over more files.
func joined(a, b []series.Column) []series.Column {
	if a == nil {
		return b
	}
	all := slices.Clone(a)
	for i, c := range b {
		all[i] = all[i].With(c)
	}
	return all
}

var separatorWords = map[string]string{",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
var markWords = map[string]string{".": "point", ",": "comma"}

func shownInstant(t time.Time) string { return t.UTC().Format("2006-01-02 15:04:05 UTC") }

func rate(step time.Duration) string {
	if step <= 0 {
		return ""
	}
	return ", a row every " + series.ShortSpan(step)
}

func gapsText(b *strings.Builder, f series.File) {
	for i, g := range f.Gaps {
		lead := "            "
		if i == 0 {
			lead = "  gaps      "
		}
		b.WriteString(lead + fmt.Sprintf("%s to %s (%s)\n", shownInstant(g.From), shownInstant(g.To), g.To.Sub(g.From).Round(time.Second)))
	}
	if more := f.GapCount - len(f.Gaps); more > 0 && len(f.Gaps) > 0 {
		fmt.Fprintf(b, "            and %d more\n", more)
	}
}

// rejectsText lists the refused rows by reason, with the first lines of each.
func rejectsText(b *strings.Builder, f series.File) {
	for _, reason := range f.Reasons {
		var lines []string
		example := ""
		for _, r := range f.Rejects {
			if reasonOf(r) != reason.Reason {
				continue
			}
			lines = append(lines, strconv.Itoa(r.Line))
			if example == "" && r.Error() != reason.Reason {
				example = ": " + r.Error()
			}
		}
		where := "line " + lines[0]
		if reason.Rows > 1 {
			where = "lines " + listed(lines, len(lines))
		}
		if more := reason.Rows - len(lines); more > 0 {
			where += fmt.Sprintf(" and %d more", more)
		}
		wrapped(b, "  refused   ", clean(fmt.Sprintf("%s, %s (%s)%s", count(reason.Rows, "row"), reason.Reason, where, example)))
	}
}

// columnTables lists the columns that were understood, then those that were not.
func columnTables(b *strings.Builder, all []series.Column) {
	known := grid{columns: columns("column", "place", "quantity", "unit", "conversion", ">readings", ">missing", ">min", ">mean", ">max")}
	ignored := grid{columns: columns("column, ignored", ">readings", ">min", ">max", "what it might be")}
	for _, c := range all {
		header := cutTo(clean(c.Header), 48)
		if c.Quantity == "" {
			ignored.add(header, strconv.Itoa(c.Readings), level(c.Min), level(c.Max), clean(c.Guess))
			continue
		}
		missing := strconv.Itoa(c.Missing)
		if c.Impossible > 0 {
			missing += fmt.Sprintf("+%d impossible", c.Impossible)
		}
		known.add(header, clean(c.Place), cutTo(clean(string(c.Quantity)), 32), c.Unit, c.Scale, strconv.Itoa(c.Readings), missing, level(c.Min), level(c.Mean), level(c.Max))
	}
	for _, g := range []grid{known, ignored} {
		if len(g.rows) > 0 {
			b.WriteByte('\n')
			textGrid(b, &g)
		}
	}
}

// level writes a reading, a dash where there is none.
func level(v float64) string {
	if math.IsNaN(v) {
		return "-"
	}
	return number(v, fine+1)
}

// cutTo cuts a text to a number of letters, the end of it kept: that is where a
// heading has its unit.
func cutTo(text string, most int) string {
	letters := []rune(text)
	if len(letters) <= most {
		return text
	}
	head := most * 2 / 3
	return string(letters[:head]) + "…" + string(letters[len(letters)-(most-head-1):])
}
