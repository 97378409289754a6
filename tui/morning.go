package tui

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

// morning is the first screen: the energy, what needs doing, every station.
type morning struct{ list list }

// morningRow is a row that the cursor can stand on: a finding or a station.
type morningRow struct {
	finding int // in the report's order; below 0: a station
	station int // in the order of places.rows
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
	case w.MarginPercent < 0 && short > 0:
		return fmt.Sprintf("No: %s is %s %% short.", w.Waypoint, number(-w.MarginPercent, 2))
	case short > 0:
		return fmt.Sprintf("No: out of tolerance, least margin %s.", margin)
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
		return counted(tasks, "finding") + " to look at."
	}
	return fmt.Sprintf("%s to look at, %s MeV lost.", counted(tasks, "finding"), number(cost, 1))
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
	for i, s := range d.places.rows {
		if d.keeps(s.Station, s.Verdict.Words()) {
			rows = append(rows, morningRow{finding: -1, station: i})
		}
	}
	return rows
}

func (p morning) update(msg tea.KeyMsg, d data) (page, tea.Msg) {
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
			return d.places.rows[rows[i].station].Verdict.Rank()
		})
	case key.Matches(msg, keys.enter):
		row := rows[p.list.cursor]
		if row.finding >= 0 {
			return p, findingPickedMsg{row.finding}
		}
		return p, stationPickedMsg{d.places.rows[row.station].Station}
	case key.Matches(msg, keys.seen):
		if f := rows[p.list.cursor].finding; f >= 0 {
			return p, markAskedMsg{f}
		}
	default:
		p.list = p.list.moved(msg, len(rows))
	}
	return p, nil
}

func (p morning) names(d data) []string {
	var names []string
	for _, row := range p.rows(d) {
		if row.finding >= 0 {
			names = append(names, "finding "+keyOf(d.report.Findings[row.finding]))
			continue
		}
		names = append(names, d.places.rows[row.station].Station)
	}
	return names
}

func (p morning) renewed(before, after data) page {
	p.list = p.list.kept(p.names(before), p.names(after))
	return p
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
	roomy := height >= roomyHeight
	lines := waypointLines(d, l, width, max(height/4, 2))
	lines = spaced(lines, roomy)
	lines = append(lines, l.styles.heading.Render(findingHeading(d, l, width)))
	lines = append(lines, p.findingRows(d, l, rows[:findings], width, max(height-len(lines)-3, 1))...)
	lines = spaced(lines, roomy)

	rest := height - len(lines) - 1
	stations := len(rows) - findings
	lines = append(lines, l.styles.heading.Render(stationHeading(d, l, width)))
	if stations > rest {
		lines = append(lines, l.left("   all "+strip(d, l), width))
		rest--
	}
	from, to := p.part(findings, len(rows)).shown(stations, rest)
	for i := findings + from; i < findings+to; i++ {
		lines = append(lines, stationLine(d, l, d.places.rows[rows[i].station], i == p.list.cursor, width))
	}
	if spare := height - len(lines); spare >= leastDetail && len(rows) > 0 {
		lines = append(append(lines, ""), p.detail(d, l, rows[p.list.cursor], width, spare-1)...)
	}
	return lines
}

// roomyHeight is the body from which blank lines part the tables, leastDetail
// the spare lines from which the row under the cursor is told in full.
const (
	roomyHeight = 26
	leastDetail = 8
)

func spaced(lines []string, roomy bool) []string {
	if roomy && len(lines) > 0 {
		return append(lines, "")
	}
	return lines
}

// findingRows draws the findings: all of them as long as the stations keep half
// of the room.
func (p morning) findingRows(d data, l look, rows []morningRow, width, room int) []string {
	if len(rows) == 0 {
		return []string{l.left("   nothing was found that needs doing", width)}
	}
	some := min(len(rows), max(room-len(d.report.Stations), (room+1)/2, 1))
	if some < len(rows) && some > 2 {
		some-- // for the line that says how many more there are
	}
	from, to := p.part(0, len(rows)).shown(len(rows), some)
	var lines []string
	for i := from; i < to; i++ {
		lines = append(lines, findingLine(d, l, rows[i].finding, i == p.list.cursor, width))
	}
	if hidden := len(rows) - (to - from); hidden > 0 && some > 2 {
		lines = append(lines, l.styles.faint.Render(l.left(fmt.Sprintf(" %s %d more above or below", l.marks.more, hidden), width)))
	}
	return lines
}

// part returns the cursor as seen from rows from..to, at its nearest end where
// it stands outside.
func (p morning) part(from, to int) list {
	return list{p.list.cursor - from}.within(to - from)
}

// detail tells the row under the cursor in full.
func (p morning) detail(d data, l look, row morningRow, width, height int) []string {
	if row.finding >= 0 {
		return findingText(d, l, d.report.Findings[row.finding], width, height)
	}
	name := d.places.rows[row.station].Station
	t := d.places.worst[name]
	if t == nil {
		return nil
	}
	return tracePanel(d, l, t, width, min(height, 16))
}
