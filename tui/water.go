package tui

import (
	"fmt"
	"math"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

// water shows the structures against their cooling water.
type water struct {
	list   list
	traces bool // the night instead of the fit
}

func (water) question(data) string {
	return "Which structure needs other water, by how much?"
}

func (water) answer(d data) string {
	var change []string
	withheld := 0
	won := 0.0
	shared := map[string]bool{}
	for _, loop := range d.report.Loops {
		if len(loop.Structures) < 2 {
			continue
		}
		shared[loop.Loop] = true
		if loop.Advice == review.Retune {
			change = append(change, loop.Loop+" "+signed(loop.WaterChangeK, 2)+" K")
		}
	}
	for _, s := range d.report.Structures {
		switch s.Advice {
		case review.Retune:
			if !shared[s.Loop] {
				change = append(change, s.Structure+" "+signed(s.WaterChangeK, 2)+" K")
			}
			if rf.Known(s.WonByWater) {
				won += rf.In(s.WonByWater, rf.Megaelectronvolt)
			}
		case review.Withheld:
			withheld++
		}
	}
	words := "None."
	if n := len(change); n > 0 {
		words = strings.Join(change[:min(n, 3)], ", ")
		if n > 3 {
			words += fmt.Sprintf(" and %d more", n-3)
		}
		words += fmt.Sprintf(": %s MeV to win.", number(won, 1))
	}
	if withheld > 0 {
		words += fmt.Sprintf(" Advice withheld for %d.", withheld)
	}
	return words
}

// waterRow is a structure, or a loop that several structures share.
type waterRow struct{ structure, loop int }

func waterRows(d data) []waterRow {
	var rows []waterRow
	for i, s := range d.report.Structures {
		if d.keeps(s.Structure, s.Station, s.Loop, string(s.Advice), s.Reason, s.Verdict.Words()) {
			rows = append(rows, waterRow{i, -1})
		}
	}
	for i, loop := range d.report.Loops {
		if len(loop.Structures) > 1 && d.keeps(loop.Loop, "loop", string(loop.Advice), loop.Reason) {
			rows = append(rows, waterRow{-1, i})
		}
	}
	return rows
}

func (p water) renewed(before, after data) page {
	names := func(d data) []string {
		var names []string
		for _, row := range waterRows(d) {
			if row.structure >= 0 {
				names = append(names, d.report.Structures[row.structure].Structure)
				continue
			}
			names = append(names, "loop "+d.report.Loops[row.loop].Loop)
		}
		return names
	}
	p.list = p.list.kept(names(before), names(after))
	return p
}

func (p water) update(msg tea.KeyMsg, d data) (page, tea.Msg) {
	rows := waterRows(d)
	p.list = p.list.within(len(rows))
	switch {
	case key.Matches(msg, keys.worst):
		p.list = p.list.worst(len(rows), func(i int) int { return adviceRank(d, rows[i]) })
	case key.Matches(msg, keys.other):
		p.traces = !p.traces
	case key.Matches(msg, keys.enter):
		if len(rows) > 0 && rows[p.list.cursor].structure >= 0 {
			return p, stationPickedMsg{d.report.Structures[rows[p.list.cursor].structure].Station}
		}
	default:
		p.list = p.list.moved(msg, len(rows))
	}
	return p, nil
}

// adviceRank puts the structures to retune first, then those that nothing can be
// said of.
func adviceRank(d data, row waterRow) int {
	advice := review.Leave
	if row.structure >= 0 {
		advice = d.report.Structures[row.structure].Advice
	} else {
		advice = d.report.Loops[row.loop].Advice
	}
	switch advice {
	case review.Retune:
		return 0
	case review.Withheld:
		return 1
	}
	return flaggedRanks
}

func (water) keys() []key.Binding { return []key.Binding{keys.other, keys.enter} }

func (p water) view(d data, l look, width, height int) []string {
	rows := waterRows(d)
	p.list = p.list.within(len(rows))
	if len(d.report.Structures) == 0 {
		return []string{l.left("No structures: a plant folder names them.", width)}
	}
	panel := max(height*11/20, 9)
	table := height - panel - 1
	lines := []string{l.styles.heading.Render(waterHeading(d, l, width))}
	from, to := p.list.shown(len(rows), table)
	for i := from; i < to; i++ {
		lines = append(lines, waterLine(d, l, rows[i], i == p.list.cursor, width))
	}
	if spare := table - len(rows); spare > 0 {
		panel += spare
	}
	if len(rows) == 0 {
		return append(lines, l.left("   no structure passes the filter", width))
	}
	row := rows[p.list.cursor]
	if row.structure < 0 {
		return append(lines, loopText(d, l, d.report.Loops[row.loop], width, panel)...)
	}
	s := d.report.Structures[row.structure]
	switch {
	case panel >= 22:
		fit := panel / 2
		lines = append(lines, fitPanel(d, l, s, width, fit)...)
		return append(lines, advancePanel(d, l, s, width, panel-fit)...)
	case p.traces:
		return append(lines, advancePanel(d, l, s, width, panel)...)
	}
	return append(lines, fitPanel(d, l, s, width, panel)...)
}

func waterHeading(d data, l look, width int) string {
	line := "   " + l.left("structure", structureWidth(d)+1) + l.right("off tune kHz", 14) + l.right("slip deg", 9) + l.right("MeV", 6) + l.right("water K", 13) + "  " + l.left("advice", 9)
	if width >= wide {
		line += " " + l.left("station", 8) + l.left("loop", 8)
	}
	return l.left(line+" why", width)
}

func structureWidth(d data) int { return max(placeWidth(d), 9) }

func waterLine(d data, l look, row waterRow, here bool, width int) string {
	if row.structure < 0 {
		loop := d.report.Loops[row.loop]
		line := l.pointer(here) + "  " + l.left("loop "+loop.Loop, structureWidth(d)+1) +
			l.left("  of "+strings.Join(loop.Structures, " "), 29) + l.right(signed(loop.WaterChangeK, 2), 13) + "  " + l.left(string(loop.Advice), 9) + " "
		return l.left(line+clean(loop.Reason), width)
	}
	s := d.report.Structures[row.structure]
	detuning := plusMinus(l, rf.In(s.Detuning, rf.Kilohertz), rf.In(s.DetuningLow, rf.Kilohertz), rf.In(s.DetuningHigh, rf.Kilohertz), 1)
	if s.Relative && detuning != notKnown {
		detuning = "(" + detuning + ")"
	}
	toward := float64(s.Detuning)
	if t := worstOf(d.places.traces[s.Structure]); t != nil && s.Advice != review.Retune {
		toward = towardOf(t.Verdict, t.Change, t.SlopePerH)
	}
	line := l.pointer(here) + l.marks.verdict(s.Verdict, toward) + " " + l.left(s.Structure, structureWidth(d)) + " " +
		l.right(detuning, 14) + l.right(signed(rf.In(s.PhaseSlip, rf.Degree), 1), 9) + l.right(megaelectronvolts(s.EnergyLoss), 6) +
		l.right(plusMinus(l, s.WaterChangeK, s.WaterChangeLow, s.WaterChangeUp, 2), 13) + "  " + l.left(string(s.Advice), 9)
	if width >= wide {
		line += " " + l.left(s.Station, 8) + l.left(s.Loop, 8)
	}
	return l.styles.verdict(s.Verdict).Render(l.left(line+" "+clean(s.Reason), width))
}

// plusMinus writes a value with half its 95 % interval.
func plusMinus(l look, v, low, high float64, digits int) string {
	if math.IsNaN(v) {
		return notKnown
	}
	if half := (high - low) / 2; !math.IsNaN(half) {
		return signed(v, digits) + " " + l.marks.plusMinus + number(half, digits)
	}
	return signed(v, digits)
}
