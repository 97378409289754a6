package handover

import (
	"io"
	"strings"

	"dawncrest/rf/review"
)

// Headline writes in a few lines whether the linac makes its energy, who lost
// most, and how many stations and structures are flagged.
func Headline(w io.Writer, r *review.Report) error {
	_, err := io.WriteString(w, strings.Join(headline(r), "\n")+"\n")
	return err
}

// Lines writes what a short check needs: one line for each of the findings given
// (all of the report's, or only the new ones).
//
//	verdict  place  cause  number  since  energy cost  what to do
func Lines(w io.Writer, r *review.Report, findings []review.Finding) error {
	c := clockOf(r.Plant)
	var b strings.Builder
	rows := make([][]string, 0, len(findings))
	for _, f := range findings {
		rows = append(rows, []string{
			mark(f) + " " + f.Verdict.Words(),
			clean(f.Place),
			causeOf(f),
			change(f.Change, 3, f.Unit),
			"since " + c.At(f.Since),
			costOf(f),
			clean(f.Advice),
		})
	}
	if len(rows) > 0 {
		widths := widthsOf(rows)
		for _, row := range rows {
			var line strings.Builder
			for i, cell := range row {
				line.WriteString(padded(cell, widths[i], false) + "  ")
			}
			b.WriteString(strings.TrimRight(line.String(), " ") + "\n")
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}
