package tui

import (
	"dawncrest/rf"
)

// errorMeV writes an uncertainty with a digit more where one would show nothing.
func errorMeV(e rf.Energy) string {
	if e < 0.1*rf.Megaelectronvolt {
		return number(rf.In(e, rf.Megaelectronvolt), 2)
	}
	return megaelectronvolts(e)
}

// waypointLines draws the energy at each waypoint: at most so many, and a line
// that says how many more there are.
func waypointLines(d data, l look, width, most int) []string {
	if len(d.report.Waypoints) == 0 {
		return nil
	}
	line := func(mark, name, after, needs, budget, measured, margin, closure string) string {
		s := l.left(mark, 3) + l.left(name, 18) + l.right(needs, 11) + l.right(budget, 16) + l.right(measured, 14) + l.right(margin, 10)
		if width >= wide {
			s += l.right(closure, 18) + l.right(after, 16)
		}
		return l.left(s, width)
	}
	lines := []string{l.styles.heading.Render(line("", "waypoint", "after station", "needs MeV", "budget MeV", "measured MeV", "margin", "measured/budget"))}
	for i, w := range d.report.Waypoints {
		if i == most && len(d.report.Waypoints) > most+1 {
			lines = append(lines, l.styles.faint.Render(l.left("   "+counted(len(d.report.Waypoints)-i, "more waypoint")+" on the energy screen", width)))
			break
		}
		budget := megaelectronvolts(w.Budget)
		if rf.Known(w.BudgetError) && budget != notKnown {
			budget += " " + l.marks.plusMinus + errorMeV(w.BudgetError)
		}
		text := line(" "+l.marks.verdict(w.Verdict, w.MarginPercent), w.Waypoint, w.AfterStation, megaelectronvolts(w.Required), budget,
			megaelectronvolts(w.Measured), withUnit(signed(w.MarginPercent, 2), "%"), withUnit(number(w.ClosurePercent, 2), "%"))
		lines = append(lines, l.styles.verdict(w.Verdict).Render(text))
	}
	return lines
}
