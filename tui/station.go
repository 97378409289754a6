package tui

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

// station shows one station from its modulator to the beam.
type station struct{ list list }

func (station) question(d data) string {
	if stationResult(d) == nil {
		return "What was read at " + d.station + "?"
	}
	return "What does station " + d.station + " do, from modulator to beam?"
}

func (station) answer(d data) string {
	s := stationResult(d)
	if s == nil {
		if worst := d.places.worst[d.station]; worst != nil {
			return worst.Verdict.Words() + ", " + counted(len(d.places.traces[d.station]), "reading") + "."
		}
		return "Nothing that could be judged."
	}
	words := s.Verdict.Words()
	if found := d.places.findings[s.Station]; len(found) > 0 {
		words += ": " + d.report.Findings[found[0]].Message
		if len(found) > 1 {
			words += fmt.Sprintf(" (and %d more)", len(found)-1)
		}
		return words
	}
	return words + ": nothing found."
}

func stationResult(d data) *review.StationResult {
	for i := range d.report.Stations {
		if d.report.Stations[i].Station == d.station {
			return &d.report.Stations[i]
		}
	}
	return nil
}

// readings returns the traces that make rows: set values are drawn with what
// they set.
func readings(d data, traces []*review.Trace) []*review.Trace {
	var rows []*review.Trace
	for _, t := range traces {
		if t.Quantity.IsSet() && d.places.trace(t.Place, t.Quantity.Base()) != nil {
			continue
		}
		if d.keeps(t.Place, title(t.Quantity), t.Verdict.Words()) {
			rows = append(rows, t)
		}
	}
	return rows
}

func (p station) update(msg tea.KeyMsg, d data) (page, tea.Msg) {
	rows := readings(d, d.places.chain(d.station))
	p.list = p.list.within(len(rows))
	switch {
	case key.Matches(msg, keys.worst):
		p.list = p.list.worst(len(rows), func(i int) int { return rows[i].Verdict.Rank() })
	case key.Matches(msg, keys.nextPlace):
		return p, stationPickedMsg{stationBeside(d, 1)}
	case key.Matches(msg, keys.previousPlace):
		return p, stationPickedMsg{stationBeside(d, -1)}
	case key.Matches(msg, keys.enter):
		if i, ok := findingOf(d, rows, p.list.cursor); ok {
			return p, findingPickedMsg{i}
		}
	default:
		p.list = p.list.moved(msg, len(rows))
	}
	return p, nil
}

func (p station) renewed(before, after data) page {
	names := func(d data) []string {
		var names []string
		for _, t := range readings(d, d.places.chain(d.station)) {
			names = append(names, t.Place+" "+string(t.Quantity))
		}
		return names
	}
	p.list = p.list.kept(names(before), names(after))
	return p
}

// findingOf returns the finding that goes with a row: one of the same place, else
// the station's first.
func findingOf(d data, rows []*review.Trace, row int) (int, bool) {
	found := d.places.findings[d.station]
	if len(found) == 0 {
		return 0, false
	}
	for _, i := range found {
		if row < len(rows) && d.report.Findings[i].Place == rows[row].Place {
			return i, true
		}
	}
	return found[0], true
}

// stationBeside returns the place so many rows along the list.
func stationBeside(d data, by int) string {
	n := len(d.places.rows)
	for i, s := range d.places.rows {
		if s.Station == d.station {
			return d.places.rows[(i+by+n)%n].Station
		}
	}
	return d.station
}

func (station) keys() []key.Binding {
	return []key.Binding{keys.nextPlace, keys.previousPlace, keys.enter}
}

func (p station) view(d data, l look, width, height int) []string {
	rows := readings(d, d.places.chain(d.station))
	p.list = p.list.within(len(rows))
	lines := chainLines(d, l, width)
	graph := max((height-len(lines)-1)*6/11, 6)
	table := height - len(lines) - 1 - graph
	lines = append(lines, l.styles.heading.Render(readingHeading(l, width)))
	from, to := p.list.shown(len(rows), table)
	for i := from; i < to; i++ {
		lines = append(lines, readingLine(d, l, rows[i], i == p.list.cursor, width))
	}
	for range table - (to - from) {
		lines = append(lines, "")
	}
	if len(rows) == 0 {
		return append(lines, l.left("   no readings of this station pass", width))
	}
	return append(lines, tracePanel(d, l, rows[p.list.cursor], width, graph)...)
}

// chainLines draws the station's parts with their marks, in the order in which
// the power passes them, and what does not fit a table.
func chainLines(d data, l look, width int) []string {
	s := stationResult(d)
	if s == nil {
		return nil
	}
	line := ""
	for _, detail := range []chainDetail{withFigures, withNames, withCounts} {
		if line = chainLine(d, l, s, detail); lipgloss.Width(line) <= width {
			break
		}
	}
	line = ansi.Truncate(line, width, l.marks.ellipsis)
	words := []string{
		fmt.Sprintf("%s, %s a day", counted(s.Trips, "trip"), number(s.TripsPerDay[0], 1)),
		"RF on " + withUnit(number(s.OnPercent, 1), "%"),
	}
	if rf.Known(s.CompressorDetuning) {
		words = append(words, "compressor "+withUnit(signed(rf.In(s.CompressorDetuning, rf.Kilohertz), 1), "kHz")+" off tune")
	}
	if s.Chain != "" {
		words = append(words, "gain from "+title(rf.Quantity(s.Chain)))
	}
	lines := []string{line, l.styles.faint.Render(l.left(strings.Join(words, "   "), width))}
	for _, t := range d.history.Trends {
		if (t.Place == s.Station || slices.Contains(d.places.structures[s.Station], t.Place)) && len(lines) < mostChainLines {
			lines = append(lines, l.left("creeps: "+t.Words(), width))
		}
	}
	return lines
}

// mostChainLines bounds what stands above the readings of a station.
const mostChainLines = 5

// chainDetail is how much the line of a station's parts tells.
type chainDetail uint8

const (
	withFigures chainDetail = iota // each part with what it puts out
	withNames
	withCounts // the structures as one
)

// chainLine joins the parts.
func chainLine(d data, l look, s *review.StationResult, detail chainDetail) string {
	at := func(q rf.Quantity) *review.Trace { return d.places.trace(s.Station, q) }
	stage := func(name string, output *review.Trace, of ...*review.Trace) string {
		if detail == withFigures && output != nil {
			name += " " + inUnit(output.Now, output.Unit)
		}
		worst := worstOf(present(append(of, output)))
		if worst == nil {
			return l.styles.noData.Render(l.marks.verdict(review.NoData, 0) + " " + name)
		}
		mark := l.marks.verdict(worst.Verdict, towardOf(worst.Verdict, worst.Change, worst.SlopePerH))
		return l.styles.verdict(worst.Verdict).Render(mark + " " + name)
	}
	parts := []string{
		stage("modulator", at(rf.BeamVoltage), at(rf.BeamCurrent), at(rf.HeaterCurrent)),
		stage("klystron", at(rf.ForwardPower), at(rf.ForwardPhase), at(rf.DrivePower), at(rf.Microperveance), at(rf.Efficiency)),
	}
	if at(rf.CompressedPower) != nil {
		parts = append(parts, stage("compressor", at(rf.CompressedPower), at(rf.PeakPowerGain), at(rf.CompressorDetuning), at(rf.CompressorTemperature)))
	}
	var fed []string
	var all []*review.Trace
	for _, structure := range d.places.structures[s.Station] {
		fed = append(fed, stage(clean(structure), nil, d.places.traces[structure]...))
		all = append(all, d.places.traces[structure]...)
	}
	switch {
	case len(fed) > 0 && detail == withCounts:
		parts = append(parts, stage(counted(len(fed), "structure"), nil, all...))
	case len(fed) > 0:
		parts = append(parts, strings.Join(fed, " "))
	}
	beam := "beam " + withUnit(megaelectronvolts(s.Gain), "MeV")
	if rf.Known(s.Gain) && rf.Known(s.GainReference) {
		beam += ", " + signedMeV(s.Gain-s.GainReference)
	}
	if s.GainHeld {
		beam = "beam " + withUnit(megaelectronvolts(s.GainCounted()), "MeV") + ", held"
	}
	return strings.Join(append(parts, beam), " "+l.styles.faint.Render(l.marks.arrow)+" ")
}

func present(traces []*review.Trace) []*review.Trace {
	var there []*review.Trace
	for _, t := range traces {
		if t != nil {
			there = append(there, t)
		}
	}
	return there
}

func readingHeading(l look, width int) string {
	line := "   " + l.left("reading", readingNameWidth(width)) + l.right("now", 13) + l.right("reference", 12) + l.right("change", 12) + l.right("since", 7)
	if width >= wide {
		line += l.right("drift beyond", 14) + l.right("out beyond", 14) + l.right("per hour", 14) + l.right("out at", 8)
	}
	return l.left(line, width)
}

func readingNameWidth(width int) int {
	if width >= wide {
		return width - 3 - 44 - 50
	}
	return width - 3 - 44 - 1
}

func readingLine(d data, l look, t *review.Trace, here bool, width int) string {
	since := ""
	if t.Verdict.Flagged() {
		since = d.clock(t.Since)
	}
	mark := l.marks.verdict(t.Verdict, towardOf(t.Verdict, t.Change, t.SlopePerH))
	if t.Basis == "" && t.Verdict == review.NoData {
		mark = " " // no limit holds for it: nothing to judge
	}
	line := l.pointer(here) + mark + " " +
		l.left(t.Place+" "+title(t.Quantity), readingNameWidth(width)) + l.right(inUnit(t.Now, t.Unit), 13) +
		l.right(reading(t.Reference, t.Unit), 12) + l.right(judgedWords(t), 12) + l.right(since, 7)
	if width >= wide {
		line += l.right(limitWords(l, t, t.DriftLimit), 14) + l.right(limitWords(l, t, t.ActLimit), 14) +
			l.right(signedIn(t.SlopePerH, t.Unit), 14) + l.right(d.clock(t.ReachesAct), 8)
	}
	return l.styles.verdict(t.Verdict).Render(l.left(line, width))
}

// judgedWords writes what a trace is judged by: its change as its limits count
// it, or as it is where no limit holds.
func judgedWords(t *review.Trace) string {
	switch {
	case math.IsNaN(t.Judged):
		return signedIn(t.Change, t.Unit)
	case t.Basis == rf.Ratio:
		return number(t.Judged, 2) + " times"
	case t.Basis == rf.Absolute:
		return signedIn(t.Change, t.Unit)
	}
	return signedIn(t.Judged, t.LimitUnit)
}

// limitWords writes a limit as its basis reads: a span about the reference, a
// value, a multiple.
func limitWords(l look, t *review.Trace, limit float64) string {
	switch {
	case math.IsNaN(limit) || t.Basis == "":
		return notKnown
	case t.Basis == rf.Ratio:
		return number(limit, 1) + " times"
	case t.Basis == rf.Absolute:
		return inUnit(limit, t.LimitUnit)
	}
	return l.marks.plusMinus + inUnit(limit, t.LimitUnit)
}
