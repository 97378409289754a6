package tui

import (
	"fmt"
	"math"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"dawncrest/rf"
	"dawncrest/rf/review"
	"dawncrest/tui/chart"
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

// fitPanel draws phase advance against the water after the lag, with the fitted
// slope against the one that physics gives, and what follows from it.
func fitPanel(d data, l look, s review.StructureResult, width, height int) []string {
	graph := min(width*11/20, 90)
	advance := d.places.trace(s.Structure, rf.PhaseAdvance)
	plot := chart.Scatter{
		Width: graph, Height: height - 1, ASCII: l.ascii, Styles: l.styles.chart,
		XUnit: "degC after lag", YUnit: "deg",
	}
	if advance != nil {
		plot.X, plot.Y = inWindow(d.window, s.Fit.LaggedDegC), settled(inWindow(d.window, advance.Mean), inWindow(d.window, advance.Settled))
		middle := meanOf(plot.X, plot.Y)
		level := s.Fit.InterceptDeg + s.Fit.SlopeDegPerK*middle
		plot.Fit = chart.Line{At: middle, Intercept: level, Slope: s.Fit.SlopeDegPerK}
		plot.Expected = chart.Line{At: middle, Intercept: level, Slope: s.Fit.PhysicsDegPerK}
	}
	text := adviceText(d, l, s, width-graph-2, height-1)
	lines := []string{l.styles.heading.Render(l.left(s.Structure+": phase advance against its water", width))}
	for i, line := range plot.Lines() {
		beside := ""
		if i < len(text) {
			beside = text[i]
		}
		lines = append(lines, line+"  "+beside)
	}
	return lines
}

// adviceText writes the advice on a structure and what it rests on.
func adviceText(d data, l look, s review.StructureResult, width, height int) []string {
	fit := s.Fit
	lag := "lag not known"
	if rf.Known(fit.ThermalTime) {
		lag = "lag " + number(rf.In(fit.ThermalTime, rf.Minute), 1) + " min, as the plant folder says"
		if fit.ThermalTimeFit {
			lag = "lag " + number(rf.In(fit.ThermalTime, rf.Minute), 1) + " min, fitted"
		}
	}
	fitMark, physicsMark := "•", "∘"
	if l.ascii {
		fitMark, physicsMark = "*", "o"
	}
	head := string(s.Advice)
	if s.Advice == review.Retune {
		head += " by " + plusMinus(l, s.WaterChangeK, s.WaterChangeLow, s.WaterChangeUp, 2) + " K"
	}
	lines := []string{l.styles.verdict(s.Verdict).Render(l.left(head, width))}
	add := func(words string, most int) { lines = append(lines, l.wrap(words, width, most)...) }
	add(s.Reason, 3)
	add(fitMark+" fit     "+plusMinus(l, fit.SlopeDegPerK, fit.SlopeLow, fit.SlopeHigh, 1)+" deg/K", 1)
	add(physicsMark+" physics "+signed(fit.PhysicsDegPerK, 1)+" deg/K", 1)
	add(lag, 1)
	add(fmt.Sprintf("correlation %s over %s", number(fit.CorrelationAbs, 2), counted(fit.Cells, "cell")), 1)
	add("to win by water alone "+megaelectronvolts(s.WonByWater)+" MeV, by re-phasing alone "+megaelectronvolts(s.WonByPhase), 2)
	if s.Relative {
		add("measured from the reference: its tuned phase is not given", 2)
	}
	if s.Advice == review.Retune {
		add("At most 0.3 K a step; wait for lag and settling; measure again; never two loops at once. Hot pressurised water: authorised people, local rules.", 5)
	}
	return lines[:min(len(lines), max(height, 0))]
}

// advancePanel draws the phase advance over the night beside what the water alone
// would have made of it.
func advancePanel(d data, l look, s review.StructureResult, width, height int) []string {
	advance := d.places.trace(s.Structure, rf.PhaseAdvance)
	if advance == nil {
		return []string{l.left(s.Structure+": no phase advance in this log", width)}
	}
	plot := tracePlot(d, l, advance, width, height-1)
	explained := make([]float64, len(s.Fit.LaggedDegC))
	for i, degC := range s.Fit.LaggedDegC {
		explained[i] = s.Fit.InterceptDeg + s.Fit.SlopeDegPerK*degC
	}
	plot.Second = inWindow(d.window, explained)
	mark := "∘"
	if l.ascii {
		mark = "o"
	}
	head := s.Structure + " phase advance, " + mark + " what the water explains  " + readOut(d, l, advance)
	return append([]string{l.styles.heading.Render(l.left(head, width))}, plot.Lines()...)
}

// loopText writes the one advice for structures that share their water.
func loopText(d data, l look, loop review.LoopResult, width, height int) []string {
	lines := []string{"", l.styles.heading.Render(l.left("Loop "+loop.Loop+" feeds "+strings.Join(loop.Structures, ", "), width))}
	lines = append(lines, l.wrap(string(loop.Advice)+": "+loop.Reason, width, 4)...)
	for i, remaining := range loop.Remaining {
		if i < len(loop.Structures) {
			lines = append(lines, l.left("   "+loop.Structures[i]+" stays off tune by "+withUnit(signed(rf.In(remaining, rf.Kilohertz), 1), "kHz")+" after the step", width))
		}
	}
	return lines[:min(len(lines), max(height, 0))]
}

// settled returns the values that count for drift, NaN for the others.
func settled(values []float64, counts []bool) []float64 {
	kept := make([]float64, len(values))
	for i, v := range values {
		kept[i] = v
		if i < len(counts) && !counts[i] {
			kept[i] = math.NaN()
		}
	}
	return kept
}

// meanOf returns the mean of x where y is known too.
func meanOf(x, y []float64) float64 {
	sum, n := 0.0, 0
	for i := range min(len(x), len(y)) {
		if !math.IsNaN(x[i]) && !math.IsNaN(y[i]) {
			sum += x[i]
			n++
		}
	}
	return sum / float64(n)
}
