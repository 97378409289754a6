package tui

import (
	"fmt"
	"math"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"dawncrest/rf/review"
	"dawncrest/rf/series"
)

// trips shows when which station tripped.
type trips struct{ list list }

func (trips) question(data) string {
	return "What tripped, how often, and does it cluster?"
}

func (trips) answer(d data) string {
	total, stations := 0, 0
	most := review.StationResult{}
	for _, s := range d.report.Stations {
		total += s.Trips
		if s.Trips > 0 {
			stations++
		}
		if s.Trips > most.Trips {
			most = s
		}
	}
	if total == 0 {
		return "No station tripped."
	}
	words := fmt.Sprintf("%s at %s, most at %s: %d.", counted(total, "trip"), counted(stations, "station"), most.Station, most.Trips)
	for _, f := range d.report.Findings {
		if f.Cause == review.TooManyTrips || f.Cause == review.CommonTrip {
			return words + " " + f.Place + ": " + f.Message
		}
	}
	return words + " None more often than its limit."
}

func tripRows(d data) []review.StationResult {
	var rows []review.StationResult
	for _, s := range d.report.Stations {
		if d.keeps(s.Station, tripVerdict(d, s.Station).Words()) {
			rows = append(rows, s)
		}
	}
	return rows
}

// tripVerdict is the verdict of the station's own finding on trips.
func tripVerdict(d data, station string) review.Verdict {
	for _, i := range d.places.findings[station] {
		if f := d.report.Findings[i]; f.Cause == review.TooManyTrips {
			return f.Verdict
		}
	}
	return review.InTolerance
}

// tripsAt returns a station's trips, or all where none is named.
func tripsAt(d data, station string) []series.Event {
	var at []series.Event
	for _, e := range d.report.Events {
		if e.Kind == series.Trip && (station == "" || e.Place == station) {
			at = append(at, e)
		}
	}
	return at
}

func (p trips) renewed(before, after data) page {
	p.list = p.list.kept(stationNames(tripRows(before)), stationNames(tripRows(after)))
	return p
}

func (p trips) update(msg tea.KeyMsg, d data) (page, tea.Msg) {
	rows := tripRows(d)
	most := 0
	for _, s := range rows {
		most = max(most, s.Trips)
	}
	var fact tea.Msg
	p.list, fact = p.list.pressedOn(msg, rows, func(s review.StationResult) int {
		switch s.Trips {
		case 0:
			return flaggedRanks
		case most:
			return 0
		}
		return 1
	})
	return p, fact
}

func (trips) keys() []key.Binding { return []key.Binding{keys.enter} }

func (p trips) view(d data, l look, width, height int) []string {
	rows := tripRows(d)
	p.list = p.list.within(len(rows))
	strip := width - 3 - placeWidth(d) - 1 - 6 - rateWidth - 8 - 8 - 2
	heading := "   " + l.left("station", placeWidth(d)+1) + l.right("trips", 6) + l.right("a day (95 %)", rateWidth) + l.right("usual", 8) + l.right("RF on", 8) + "  " + tripAxis(d, l, strip)
	lines := []string{l.styles.heading.Render(l.left(heading, width))}
	if len(rows) == 0 {
		return append(lines, l.left("   no station passes the filter", width))
	}
	panel := max(height/4, 5)
	from, to := p.list.shown(len(rows), height-panel-2)
	for i := from; i < to; i++ {
		lines = append(lines, tripLine(d, l, rows[i], i == p.list.cursor, strip, width))
	}
	all := "   " + l.left("all", placeWidth(d)+1) + l.right(fmt.Sprint(len(tripsAt(d, ""))), 6) + strings.Repeat(" ", rateWidth+8+8+2) + tripStrip(d, l, tripsAt(d, ""), strip)
	lines = append(lines, l.styles.faint.Render(l.left(all, width)))
	return append(lines, tripList(d, l, rows[p.list.cursor].Station, width, height-len(lines))...)
}

// rateWidth is the room for a rate with its interval.
const rateWidth = 21

func tripLine(d data, l look, s review.StationResult, here bool, strip, width int) string {
	verdict := tripVerdict(d, s.Station)
	rate := number(s.TripsPerDay[0], 1)
	if low, high := s.TripsPerDay[1], s.TripsPerDay[2]; !math.IsNaN(low) && !math.IsNaN(high) {
		rate += " (" + number(low, 1) + " to " + number(high, 1) + ")"
	}
	usual := notKnown
	if d.report.Plant != nil {
		if station, ok := d.report.Plant.Station(s.Station); ok {
			usual = number(station.TripsPerDay, 1)
		}
	}
	line := l.pointer(here) + l.marks.verdict(verdict, 1) + " " + l.left(s.Station, placeWidth(d)) + " " + l.right(fmt.Sprint(s.Trips), 6) +
		l.right(rate, rateWidth) + l.right(usual, 8) + l.right(withUnit(number(s.OnPercent, 1), "%"), 8) + "  " + tripStrip(d, l, tripsAt(d, s.Station), strip)
	return l.styles.verdict(verdict).Render(l.left(line, width))
}

// tripStrip draws trips in time: how many fall into each column, a point where
// none do.
func tripStrip(d data, l look, events []series.Event, width int) string {
	if width <= 0 {
		return ""
	}
	from, to := d.window.times()
	counts := make([]int, width)
	for _, e := range events {
		column := int(float64(e.At.Sub(from)) / float64(to.Sub(from)) * float64(width))
		if column >= 0 && column < width {
			counts[column] += max(e.Count, 1)
		}
	}
	var b strings.Builder
	for _, n := range counts {
		switch {
		case n == 0:
			b.WriteString(l.marks.inTolerance)
		case n > 9:
			b.WriteString("*")
		default:
			b.WriteString(fmt.Sprint(n))
		}
	}
	return b.String()
}

// tripAxis names the hours at both ends of the strips.
func tripAxis(d data, l look, width int) string {
	from, to := d.window.times()
	first, last := d.instant(from), d.instant(to)
	if len(first)+1+len(last) > width {
		last = clock(to, d.zone)
	}
	if len(first)+1+len(last) > width {
		first = clock(from, d.zone)
	}
	return first + l.right(last, width-len(first))
}

// tripList writes a station's trips in words, the latest last.
func tripList(d data, l look, station string, width, height int) []string {
	events := tripsAt(d, station)
	if height < 2 {
		return nil
	}
	head := l.styles.heading.Render(l.left(station+", "+counted(len(events), "trip")+" told apart in the log", width))
	lines := []string{head}
	room := height - 1
	from := max(len(events)-room, 0)
	for _, e := range events[from:] {
		words := "   " + d.moment(e.At)
		if e.Count > 1 {
			words += fmt.Sprintf("  %d at once", e.Count)
		}
		if e.Note != "" {
			words += "  " + e.Note
		}
		lines = append(lines, l.left(words, width))
	}
	if from > 0 {
		lines[1] = l.styles.faint.Render(l.left(fmt.Sprintf(" %s %d earlier", l.marks.more, from+1), width))
	}
	return lines
}
