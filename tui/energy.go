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

// energy shows the budget along the linac and what a lost station would do.
type energy struct{ list list }

func (energy) question(data) string {
	return "Who makes the energy, and what if one is lost?"
}

func (energy) answer(d data) string {
	never, last := 0, len(d.report.Waypoints)-1
	var worst string
	least := math.Inf(1)
	for _, s := range d.report.Stations {
		open := false
		for _, w := range d.report.Waypoints {
			for _, without := range w.Without {
				if without.Station != s.Station {
					continue
				}
				open = open || !without.Closes && !mendable(w, without)
				if without.MarginPercent < least {
					least, worst = without.MarginPercent, s.Station+" costs most: "+signed(without.MarginPercent, 1)+" % at "+w.Waypoint
				}
			}
		}
		if open {
			never++
		}
	}
	switch {
	case last < 0:
		return "Not known: no waypoint has an energy to compare."
	case worst == "":
		return energyAnswer(d.report)
	case never == 0:
		return energyAnswer(d.report) + " Any one station can be made up for; " + worst + "."
	}
	return energyAnswer(d.report) + fmt.Sprintf(" %s could not be made up for; %s.", counted(never, "station"), worst)
}

// mendable reports whether the stations that could make up for a lost one cover
// what is missing.
func mendable(w review.WaypointResult, without review.WithoutStation) bool {
	missing := -without.MarginPercent / 100 * float64(w.Required)
	for _, m := range without.MadeUpBy {
		if rf.Known(m.Gain) {
			missing -= float64(m.Gain)
		}
	}
	return missing <= 0
}

func energyRows(d data) []review.StationResult {
	var rows []review.StationResult
	for _, s := range d.report.Stations {
		if d.keeps(s.Station, s.Verdict.Words(), takenWords(s)) {
			rows = append(rows, s)
		}
	}
	return rows
}

func (p energy) renewed(before, after data) page {
	p.list = p.list.kept(stationNames(energyRows(before)), stationNames(energyRows(after)))
	return p
}

func (p energy) update(msg tea.KeyMsg, d data) (page, tea.Msg) {
	var fact tea.Msg
	p.list, fact = p.list.pressedOn(msg, energyRows(d), func(s review.StationResult) int { return s.Verdict.Rank() })
	return p, fact
}

func (energy) keys() []key.Binding { return []key.Binding{keys.enter} }

func (p energy) view(d data, l look, width, height int) []string {
	rows := energyRows(d)
	p.list = p.list.within(len(rows))
	lines := spaced(waypointLines(d, l, width, max(height/4, 2)), height >= roomyHeight)
	var lost []string
	if len(rows) > 0 {
		lost = lostText(d, l, rows[p.list.cursor].Station, width)
	}
	panel := min(len(lost), max(height/3, 6))
	table := height - len(lines) - panel - 1
	lines = append(lines, l.styles.heading.Render(gainHeading(d, l, width)))
	from, to := p.list.shown(len(rows), table)
	along := alongLinac(d)
	for i := from; i < to; i++ {
		lines = append(lines, gainLine(d, l, rows[i], along[rows[i].Station], i == p.list.cursor, width))
	}
	lines = append(lines, lost[:min(len(lost), height-len(lines))]...)
	if t := beamTrace(d); t != nil && height-len(lines) >= leastDetail+2 {
		lines = append(append(lines, ""), tracePanel(d, l, t, width, min(height-len(lines)-1, 18))...)
	}
	return lines
}

// beamTrace returns the beam energy at the waypoint with the least margin.
func beamTrace(d data) *review.Trace {
	var least *review.Trace
	margin := math.Inf(1)
	for _, w := range d.report.Waypoints {
		if t := d.places.trace(w.Waypoint, rf.BeamEnergy); t != nil && w.MarginPercent < margin {
			least, margin = t, w.MarginPercent
		}
	}
	return least
}

// alongLinac returns the energy behind each station, the last known gain carried
// where none is known now.
func alongLinac(d data) map[string]rf.Energy {
	along := map[string]rf.Energy{}
	sum := rf.Energy(0)
	if d.report.Plant != nil && rf.Known(d.report.Plant.InjectionEnergy) {
		sum = d.report.Plant.InjectionEnergy
	}
	for _, s := range d.report.Stations {
		if gain := s.GainCounted(); rf.Known(gain) {
			sum += gain
		}
		along[s.Station] = sum
	}
	return along
}

func gainHeading(d data, l look, width int) string {
	return l.left("   "+l.left("station", placeWidth(d)+1)+l.right("gain MeV", 9)+l.right("reference", 11)+l.right("change", 8)+
		l.right("unexplained", 12)+l.right("behind it", 11)+"  "+"what took it", width)
}

func gainLine(d data, l look, s review.StationResult, behind rf.Energy, here bool, width int) string {
	change, gain := notKnown, megaelectronvolts(s.Gain)
	if rf.Known(s.Gain) && rf.Known(s.GainReference) {
		change = signedMeV(s.Gain - s.GainReference)
	}
	if s.GainHeld {
		gain = "(" + megaelectronvolts(s.GainCounted()) + ")"
	}
	line := l.pointer(here) + l.marks.verdict(s.Verdict, stationToward(d, s)) + " " + l.left(s.Station, placeWidth(d)) + " " +
		l.right(gain, 9) + l.right(megaelectronvolts(s.GainReference), 11) + l.right(change, 8) +
		l.right(signedMeV(s.Remainder), 12) + l.right(megaelectronvolts(behind), 11) + "  " + takenWords(s)
	return l.styles.verdict(s.Verdict).Render(l.left(line, width))
}

// takenWords writes what each cause took from a station's gain.
func takenWords(s review.StationResult) string {
	var words []string
	for _, t := range s.Taken {
		word := signedMeV(t.Taken) + " " + t.Cause.Words()
		if t.Place != s.Station && t.Place != "" {
			word += " " + t.Place
		}
		words = append(words, word)
	}
	return strings.Join(words, ", ")
}

// lostText tells each waypoint without a station, and who could make up for it.
func lostText(d data, l look, station string, width int) []string {
	lines := []string{l.styles.heading.Render(l.left("If "+station+" is lost (arithmetic, for the authorised operator to judge)", width))}
	for _, w := range d.report.Waypoints {
		for _, without := range w.Without {
			if without.Station != station {
				continue
			}
			words := w.Waypoint + " " + withUnit(signed(without.MarginPercent, 1), "%")
			verdict := review.InTolerance
			switch {
			case without.Closes:
				words += ", still closes"
			case len(without.MadeUpBy) == 0:
				words, verdict = words+", does not close and nobody could make up for it", review.OutOfTolerance
			case mendable(w, without):
				words, verdict = words+", closes with:", review.Drifting
			default:
				words, verdict = words+", does not close even with:", review.OutOfTolerance
			}
			lines = append(lines, l.styles.verdict(verdict).Render(l.left(" "+l.marks.verdict(verdict, without.MarginPercent)+" "+words, width)))
			if !without.Closes {
				lines = append(lines, makeUpLines(l, without.MadeUpBy, width)...)
			}
		}
	}
	if len(lines) == 1 {
		return []string{l.styles.faint.Render(l.left(station+" lies behind every waypoint", width))}
	}
	return lines
}

func makeUpLines(l look, by []review.MakeUp, width int) []string {
	var lines []string
	for _, m := range by {
		words := "     " + m.Station
		if m.Spare {
			words += " (hot spare)"
		}
		words += " +" + withUnit(megaelectronvolts(m.Gain), "MeV")
		if rf.Known(m.Power) {
			words += " at " + withUnit(number(rf.In(m.Power, rf.Megawatt), 1), "MW")
		}
		if rf.Known(m.Phase) {
			words += ", re-phase by " + withUnit(signed(rf.In(m.Phase, rf.Degree), 1), "deg")
		}
		if m.Note != "" {
			words += "; " + m.Note
		}
		lines = append(lines, l.left(words, width))
	}
	return lines
}
