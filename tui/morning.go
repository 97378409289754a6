package tui

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"dawncrest/rf"
	"dawncrest/rf/review"
	"dawncrest/tui/chart"
)

// morning is the first screen: the energy, what needs doing, every station.
type morning struct{ list list }

// morningRow is a row that the cursor can stand on: a finding or a station.
type morningRow struct {
	finding int // in the report's order; below 0: a station
	station int
}

func (morning) question(data) string { return "Does the linac make its energy, and what needs doing?" }

func (morning) answer(d data) string { return energyAnswer(d.report) + " " + tasksAnswer(d) }

// energyAnswer says in words whether the energy closes and with what margin.
func energyAnswer(r *review.Report) string {
	least, short, unknown := -1, 0, 0
	for i, w := range r.Waypoints {
		switch {
		case math.IsNaN(w.MarginPercent):
			unknown++
			continue
		case w.Verdict == review.OutOfTolerance:
			short++
		}
		if least < 0 || w.MarginPercent < r.Waypoints[least].MarginPercent {
			least = i
		}
	}
	if least < 0 {
		return "Not known: no waypoint has an energy to compare."
	}
	w := r.Waypoints[least]
	margin := signed(w.MarginPercent, 2) + " % at " + w.Waypoint
	switch {
	case short > 0:
		return fmt.Sprintf("No: %s.", margin)
	case unknown > 0:
		return fmt.Sprintf("Yes where known, least margin %s.", margin)
	}
	return fmt.Sprintf("Yes, least margin %s.", margin)
}

// tasksAnswer says how much there is to do and what it costs now.
func tasksAnswer(d data) string {
	tasks, cost := 0, 0.0
	for _, f := range d.report.Findings {
		if !f.Verdict.Flagged() {
			continue
		}
		tasks++
		if f.EnergyCost > 0 {
			cost += rf.In(f.EnergyCost, rf.Megaelectronvolt)
		}
	}
	switch {
	case tasks == 0:
		return "Nothing needs doing."
	case cost == 0:
		return counted(tasks, "finding") + "."
	}
	return fmt.Sprintf("%s, %s MeV lost.", counted(tasks, "finding"), number(cost, 1))
}

func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// ranked returns the findings that pass the filter: what asks for attention
// first, by energy.
func ranked(d data) []int {
	var order []int
	for i, f := range d.report.Findings {
		if d.keeps(f.Place, f.Station, f.Cause.Words(), f.Message) {
			order = append(order, i)
		}
	}
	cost := func(f review.Finding) float64 {
		if math.IsNaN(float64(f.EnergyCost)) {
			return 0
		}
		return float64(f.EnergyCost)
	}
	calm := func(f review.Finding) int {
		if f.Verdict.Flagged() {
			return 0
		}
		return 1
	}
	slices.SortStableFunc(order, func(a, b int) int {
		x, y := d.report.Findings[a], d.report.Findings[b]
		return cmp.Or(cmp.Compare(calm(x), calm(y)), cmp.Compare(cost(y), cost(x)), cmp.Compare(x.Verdict.Rank(), y.Verdict.Rank()))
	})
	return order
}

func (morning) rows(d data) []morningRow {
	var rows []morningRow
	for _, i := range ranked(d) {
		rows = append(rows, morningRow{finding: i})
	}
	for i, s := range d.report.Stations {
		if d.keeps(s.Station, s.Verdict.Words()) {
			rows = append(rows, morningRow{finding: -1, station: i})
		}
	}
	return rows
}

func (p morning) update(msg tea.KeyMsg, d data) (page, tea.Cmd) {
	rows := p.rows(d)
	p.list = p.list.within(len(rows))
	switch {
	case len(rows) == 0:
		return p, nil
	case key.Matches(msg, keys.worst):
		p.list = p.list.worst(len(rows), func(i int) int {
			if f := rows[i].finding; f >= 0 {
				return d.report.Findings[f].Verdict.Rank()
			}
			return d.report.Stations[rows[i].station].Verdict.Rank()
		})
	case key.Matches(msg, keys.enter):
		row := rows[p.list.cursor]
		if row.finding >= 0 {
			return p, tell(findingPickedMsg{row.finding})
		}
		return p, tell(stationPickedMsg{d.report.Stations[row.station].Station})
	case key.Matches(msg, keys.seen):
		if f := rows[p.list.cursor].finding; f >= 0 {
			return p, tell(markAskedMsg{f})
		}
	default:
		p.list = p.list.moved(msg, len(rows))
	}
	return p, nil
}

func (morning) keys() []key.Binding { return []key.Binding{keys.enter, keys.seen} }

func (p morning) view(d data, l look, width, height int) []string {
	rows := p.rows(d)
	p.list = p.list.within(len(rows))
	findings := 0
	for _, row := range rows {
		if row.finding >= 0 {
			findings++
		}
	}
	lines := waypointLines(d, l, width, max(height/4, 2))
	if height > leastHeight+4 {
		lines = append(lines, "")
	}
	// Findings get what they need up to a half of the rest, stations the others.
	rest := height - len(lines) - 2
	some := min(findings, max(rest-len(rows)+findings, rest/2, 1))
	lines = append(lines, l.styles.heading.Render(findingHeading(l, width)))
	if findings == 0 {
		lines = append(lines, l.left("   nothing was found that needs doing", width))
		some = 1
	}
	from, to := p.part(0, findings).shown(findings, some)
	for i := from; i < to; i++ {
		lines = append(lines, findingLine(d, l, d.report.Findings[rows[i].finding], i == p.list.cursor, width))
	}
	if height > leastHeight+4 {
		lines = append(lines, "")
	}
	lines = append(lines, l.styles.heading.Render(p.stationHeading(d, l, width)))
	from, to = p.part(findings, len(rows)).shown(len(rows)-findings, height-len(lines))
	for i := findings + from; i < findings+to; i++ {
		lines = append(lines, stationLine(d, l, d.report.Stations[rows[i].station], i == p.list.cursor, width))
	}
	return lines
}

// part returns the cursor as seen from rows from..to, at its nearest end where
// it stands outside.
func (p morning) part(from, to int) list {
	return list{p.list.cursor - from}.within(to - from)
}

func waypointLines(d data, l look, width, most int) []string {
	if len(d.report.Waypoints) == 0 {
		return nil
	}
	const form = "%s %s %s %s %s %s %s"
	columns := func(mark, name, needs, budget, measured, margin, closure string) string {
		return fmt.Sprintf(form, l.left(mark, 3), l.left(name, width-77), l.right(needs, 12), l.right(budget, 16),
			l.right(measured, 14), l.right(margin, 10), l.right(closure, 12))
	}
	lines := []string{l.styles.heading.Render(columns("", "waypoint", "needs MeV", "budget MeV", "measured MeV", "margin", "closure"))}
	for i, w := range d.report.Waypoints {
		if i == most && len(d.report.Waypoints) > most+1 {
			lines = append(lines, l.styles.faint.Render(l.left("   "+counted(len(d.report.Waypoints)-i, "more waypoint")+" on the energy screen", width)))
			break
		}
		budget := megaelectronvolts(w.Budget)
		if rf.Known(w.BudgetError) && budget != notKnown {
			budget += " " + l.marks.plusMinus + megaelectronvolts(w.BudgetError)
		}
		line := columns(" "+l.marks.verdict(w.Verdict, w.MarginPercent), w.Waypoint, megaelectronvolts(w.Required), budget,
			megaelectronvolts(w.Measured), withUnit(signed(w.MarginPercent, 2), "%"), withUnit(number(w.ClosurePercent, 1), "%"))
		lines = append(lines, l.styles.verdict(w.Verdict).Render(line))
	}
	return lines
}

// wide is the width from which rows tell more.
const wide = 110

func findingHeading(l look, width int) string {
	line := "   " + l.left("place", 9) + l.left("what needs doing", 30) + l.right("energy MeV", 10) + l.right("how much", 15) + "  " + l.left("since", 6)
	if width >= wide {
		line += "  what to do"
	}
	return l.left(line, width)
}

func findingLine(d data, l look, f review.Finding, here bool, width int) string {
	cause := f.Cause.Words()
	if f.Likely {
		cause = "likely " + cause
	}
	cost := notKnown
	if rf.Known(f.EnergyCost) {
		cost = signedMeV(-f.EnergyCost)
	}
	line := l.pointer(here) + l.marks.verdict(f.Verdict, towardOf(f.Verdict, f.Change, f.SlopePerH)) + " " +
		l.left(f.Place, 8) + " " + l.left(cause, 30) + l.right(cost, 10) + l.right(howMuch(d, f), 15) + "  " + l.left(d.clock(f.Since), 6)
	told := ""
	if mark, ok := d.seenOf(f); ok {
		told = "seen " + mark.Initials
	}
	if width >= wide {
		advice := width - 77 - 12
		line += "  " + l.left(f.Advice, advice) + " " + l.left(told, 10)
	} else {
		line += l.left(told, width-75)
	}
	return l.styles.verdict(f.Verdict).Render(l.left(line, width))
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
	return signedIn(f.Change, f.Unit)
}

// stationHeading names the columns and shows all stations as a row of marks, so
// that no list is too long to be taken in at a glance.
func (morning) stationHeading(d data, l look, width int) string {
	var strip strings.Builder
	for _, s := range d.report.Stations {
		strip.WriteString(l.marks.verdict(s.Verdict, stationToward(d, s)))
	}
	trace := traceWidth(width)
	line := "   " + l.left("station", 9) + l.left("verdict", 17) + l.right("gain MeV", 9) + l.right("change", 8) + "  " +
		l.left("worst drift", width-trace-50) + " " + l.left("the night", trace)
	if room := width - trace - 50 - 12 - 2; len(d.report.Stations) <= room {
		line = "   " + l.left("station", 9) + l.left("verdict", 17) + l.right("gain MeV", 9) + l.right("change", 8) + "  " +
			l.left("worst drift  "+strip.String(), width-trace-50) + " " + l.left("the night", trace)
	}
	return l.left(line, width)
}

// traceWidth is the room that the small traces get.
func traceWidth(width int) int { return max(width/6, 10) }

func stationToward(d data, s review.StationResult) float64 {
	if t := d.places.worst[s.Station]; t != nil {
		return towardOf(s.Verdict, t.Change, t.SlopePerH)
	}
	return math.NaN()
}

func stationLine(d data, l look, s review.StationResult, here bool, width int) string {
	trace := traceWidth(width)
	change := notKnown
	if rf.Known(s.Gain) && rf.Known(s.GainReference) {
		change = signedMeV(s.Gain - s.GainReference)
	}
	gain := megaelectronvolts(s.Gain)
	if s.GainHeld {
		gain = "(" + gain + ")"
	}
	line := l.pointer(here) + l.marks.verdict(s.Verdict, stationToward(d, s)) + " " + l.left(s.Station, 8) + " " +
		l.left(s.Verdict.Words(), 17) + l.right(gain, 9) + l.right(change, 8) + "  " +
		l.left(worstDrift(d, s.Station), width-trace-50) + " "
	return l.styles.verdict(s.Verdict).Render(line) + nightSpark(d, l, s.Station, trace)
}

// worstDrift names the trace of a station that moved most, as seen by its limits.
func worstDrift(d data, station string) string {
	t := d.places.worst[station]
	if t == nil {
		return notKnown
	}
	place := ""
	if t.Place != station {
		place = t.Place + " "
	}
	return place + title(t.Quantity) + " " + signedIn(t.Judged, t.LimitUnit)
}

// nightSpark is a station's energy gain over the window, else its power, within
// the limits of that.
func nightSpark(d data, l look, station string, width int) string {
	for _, q := range []rf.Quantity{rf.EnergyGain, rf.CompressedPower, rf.ForwardPower, rf.BeamVoltage} {
		t := d.places.trace(station, q)
		if t == nil {
			continue
		}
		series := chart.Series{Mean: d.window.of(t.Mean), Min: d.window.of(t.Min), Max: d.window.of(t.Max)}
		low, high := t.ActBand()
		scale := chart.Scale{Low: low, High: high}
		if !scale.Known() {
			scale = chart.CalmScale(series.Mean)
		}
		return chart.Spark(series, scale, width, l.ascii)
	}
	return strings.Repeat(" ", width)
}

// title returns a quantity in words.
func title(q rf.Quantity) string {
	if info, ok := q.Info(); ok {
		return info.Title
	}
	return string(q)
}
