package tui

import (
	"fmt"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

// compressors shows the pulse compressors against their design.
type compressors struct {
	list  list
	other int // which of its traces is drawn
}

func (compressors) question(data) string {
	return "Are the compressors on tune and as designed?"
}

func (compressors) answer(d data) string {
	rows := compressorRows(d)
	if len(rows) == 0 {
		return "No station of this review has a compressor."
	}
	off, lowest := "", 1.0
	var short string
	for _, s := range rows {
		if compressorVerdict(d, s.Station).Flagged() {
			if off != "" {
				off += ", "
			}
			off += s.Station + " " + withUnit(signed(rf.In(s.CompressorDetuning, rf.Kilohertz), 1), "kHz")
		}
		if share := s.PeakPowerGain / s.PeakPowerGainDesign; share < lowest {
			lowest, short = share, s.Station
		}
	}
	words := "All on tune."
	if off != "" {
		words = "Off tune: " + off + "."
	}
	if short != "" {
		words += fmt.Sprintf(" Furthest below design: %s with %s %% of its peak power gain.", short, number(100*lowest, 1))
	}
	return words
}

// compressorQuantities are those that judge a compressor.
var compressorQuantities = []rf.Quantity{rf.CompressorDetuning, rf.CompressorPhase, rf.PeakPowerGain, rf.CompressorTemperature, rf.EnergyMultiplication}

func compressorTraces(d data, station string) []*review.Trace {
	var traces []*review.Trace
	for _, q := range compressorQuantities {
		traces = append(traces, d.places.trace(station, q))
	}
	return present(traces)
}

func compressorVerdict(d data, station string) review.Verdict {
	if t := worstOf(compressorTraces(d, station)); t != nil {
		return t.Verdict
	}
	return review.NoData
}

func compressorRows(d data) []review.StationResult {
	var rows []review.StationResult
	for _, s := range d.report.Stations {
		has := rf.Known(s.PeakPowerGainDesign) || rf.Known(s.PeakPowerGain)
		if has && d.keeps(s.Station, compressorVerdict(d, s.Station).Words()) {
			rows = append(rows, s)
		}
	}
	return rows
}

func (p compressors) renewed(before, after data) page {
	p.list = p.list.kept(stationNames(compressorRows(before)), stationNames(compressorRows(after)))
	return p
}

func (p compressors) update(msg tea.KeyMsg, d data) (page, tea.Msg) {
	if key.Matches(msg, keys.other) {
		p.other++
		return p, nil
	}
	var fact tea.Msg
	p.list, fact = p.list.pressedOn(msg, compressorRows(d), func(s review.StationResult) int { return compressorVerdict(d, s.Station).Rank() })
	return p, fact
}

func (compressors) keys() []key.Binding { return []key.Binding{keys.other, keys.enter} }

func (p compressors) view(d data, l look, width, height int) []string {
	rows := compressorRows(d)
	p.list = p.list.within(len(rows))
	heading := l.left("   "+l.left("station", placeWidth(d)+1)+l.left("verdict", 17)+l.right("off tune kHz", 13)+l.right("peak gain", 10)+
		l.right("design", 8)+l.right("of it", 8)+l.right("energy mult", 12), width)
	if width >= wide {
		heading = l.left("   "+l.left("station", placeWidth(d)+1)+l.left("verdict", 17)+l.right("off tune kHz", 13)+l.right("peak gain", 10)+
			l.right("design", 8)+l.right("of it", 8)+l.right("energy mult", 12)+l.right("water degC", 12)+l.right("phase deg", 11)+l.right("tuned degC", 12), width)
	}
	lines := []string{l.styles.heading.Render(heading)}
	if len(rows) == 0 {
		return append(lines, l.left("   none", width))
	}
	panel := max(height/2, 8)
	table := height - panel - 1
	from, to := p.list.shown(len(rows), table)
	for i := from; i < to; i++ {
		lines = append(lines, compressorLine(d, l, rows[i], i == p.list.cursor, width))
	}
	s := rows[p.list.cursor]
	traces := compressorTraces(d, s.Station)
	if len(traces) == 0 {
		return append(lines, "", l.left("   no readings of this compressor", width))
	}
	panel = height - len(lines)
	first := traces[p.other%len(traces)]
	if len(traces) > 1 && panel >= 22 {
		lines = append(lines, tracePanel(d, l, first, width, panel/2)...)
		return append(lines, tracePanel(d, l, traces[(p.other+1)%len(traces)], width, panel-panel/2)...)
	}
	return append(lines, tracePanel(d, l, first, width, panel)...)
}

func compressorLine(d data, l look, s review.StationResult, here bool, width int) string {
	verdict := compressorVerdict(d, s.Station)
	line := l.pointer(here) + l.marks.verdict(verdict, float64(s.CompressorDetuning)) + " " + l.left(s.Station, placeWidth(d)) + " " + l.left(verdict.Words(), 17) +
		l.right(signed(rf.In(s.CompressorDetuning, rf.Kilohertz), 1), 13) + l.right(number(s.PeakPowerGain, 2), 10) + l.right(number(s.PeakPowerGainDesign, 2), 8) +
		l.right(withUnit(number(100*s.PeakPowerGain/s.PeakPowerGainDesign, 1), "%"), 8) + l.right(number(s.EnergyMultiplication, 2), 12)
	if width >= wide {
		now := func(q rf.Quantity) string {
			if t := d.places.trace(s.Station, q); t != nil {
				return reading(t.Now, t.Unit)
			}
			return notKnown
		}
		tuned := notKnown
		if d.report.Plant != nil {
			if station, ok := d.report.Plant.Station(s.Station); ok && rf.Known(station.CompressorTuned) && station.CompressorTuned > 0 {
				tuned = number(station.CompressorTuned.Celsius(), 2)
			}
		}
		line += l.right(now(rf.CompressorTemperature), 12) + l.right(now(rf.CompressorPhase), 11) + l.right(tuned, 12)
	}
	return l.styles.verdict(verdict).Render(l.left(line, width))
}
