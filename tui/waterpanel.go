package tui

import (
	"fmt"
	"math"
	"strings"

	"dawncrest/rf"
	"dawncrest/rf/review"
	"dawncrest/tui/chart"
)

// fitPanel draws phase advance against the water after the lag, with the fitted
// slope against the one that physics gives, and what follows from it.
func fitPanel(d data, l look, s review.StructureResult, width, height int) []string {
	graph := min(width*11/20, 90)
	advance := d.places.trace(s.Structure, rf.PhaseAdvance)
	rows := height - 1
	if s.Advice == review.Retune {
		rows-- // for the caution
	}
	plot := chart.Scatter{
		Width: graph, Height: rows, ASCII: l.ascii, Styles: l.styles.chart,
		XUnit: "degC after lag", YUnit: "deg",
	}
	if advance != nil {
		plot.X, plot.Y = inWindow(d.coarse(), s.Fit.LaggedDegC), settled(inWindow(d.coarse(), advance.Mean), inWindow(d.coarse(), advance.Settled))
		middle := meanOf(plot.X, plot.Y)
		level := s.Fit.InterceptDeg + s.Fit.SlopeDegPerK*middle
		plot.Fit = chart.Line{At: middle, Intercept: level, Slope: s.Fit.SlopeDegPerK}
		plot.Expected = chart.Line{At: middle, Intercept: level, Slope: s.Fit.PhysicsDegPerK}
	}
	text := adviceText(l, s, width-graph-2, rows)
	lines := []string{l.styles.heading.Render(l.left(s.Structure+": phase advance against its water", width))}
	for i, line := range plot.Lines() {
		beside := ""
		if i < len(text) {
			beside = text[i]
		}
		lines = append(lines, line+"  "+beside)
	}
	if s.Advice == review.Retune {
		lines = append(lines, l.left(waterCaution, width))
	}
	return lines
}

// waterCaution stands beside every advice to change the water.
const waterCaution = "Caution: water hot and under pressure; authorised people, one loop at a time."

// adviceText writes the advice on a structure and what it rests on.
func adviceText(l look, s review.StructureResult, width, height int) []string {
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
	plot.Second = d.inCells(explained)
	mark := "∘"
	if l.ascii {
		mark = "o"
	}
	head := readOut(d, advance, s.Structure+" phase advance, "+mark+" what the water explains", width)
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
