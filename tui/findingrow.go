package tui

import (
	"github.com/charmbracelet/lipgloss"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

// wide is the width from which rows tell more.
const wide = 110

// placeWidth is the room for names of places: as much as the longest needs,
// within reason.
func placeWidth(d data) int {
	width := 7
	for _, f := range d.report.Findings {
		width = max(width, lipgloss.Width(clean(f.Place)))
	}
	named := d.report.Stations
	if len(named) == 0 {
		named = d.places.rows
	}
	for _, s := range named {
		width = max(width, lipgloss.Width(clean(s.Station)))
	}
	return min(width, 12)
}

func findingHeading(d data, l look, width int) string {
	line := "   " + l.left("place", placeWidth(d)+1) + l.left("what needs doing", 29) + l.right("MeV", 7) + l.right("how much", 15) + "  " + l.left("since", 6)
	if width >= wide {
		line += "  what to do"
	}
	return l.left(line, width)
}

// findingLine draws a finding as one row.
func findingLine(d data, l look, i int, here bool, width int) string {
	f := d.report.Findings[i]
	cause := f.Cause.Words()
	if f.Likely {
		cause = "likely " + cause
	}
	cost := notKnown
	if rf.Known(f.EnergyCost) {
		cost = signedMeV(-f.EnergyCost)
	}
	line := l.pointer(here) + l.marks.verdict(f.Verdict, towardOf(f.Verdict, f.Change, f.SlopePerH)) + " " +
		l.left(f.Place, placeWidth(d)) + " " + l.left(cause, 29) + l.right(cost, 7) + l.right(howMuch(d, f), 15) + "  " + l.left(d.clock(f.Since), 6)
	told := d.toldOf(i)
	if mark, ok := d.seenOf(f); ok {
		told = "seen " + mark.Initials
	}
	rest := width - lipgloss.Width(line)
	if width >= wide {
		line += "  " + l.left(f.Advice, rest-13) + " "
		rest = 10
	}
	return l.styles.verdict(f.Verdict).Render(line + l.left(told, rest))
}

// howMuch returns the number that goes with a finding: the water change where
// one is advised, else the change of its main witness.
func howMuch(d data, f review.Finding) string {
	if f.Cause == review.WaterDetuning {
		for _, s := range d.report.Structures {
			if s.Structure == f.Place && s.Advice == review.Retune {
				return signed(s.WaterChangeK, 2) + " K water"
			}
		}
	}
	for _, loop := range d.report.Loops {
		if f.Cause == review.WaterDetuning && loop.Loop == f.Place && loop.Advice == review.Retune {
			return signed(loop.WaterChangeK, 2) + " K water"
		}
	}
	return signedIn(f.Change, f.Unit)
}
