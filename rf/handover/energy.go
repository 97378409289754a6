package handover

import (
	"fmt"
	"math"
	"slices"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

func mev(e rf.Energy) float64 { return rf.In(e, rf.Megaelectronvolt) }

// headline answers in a few lines: does the energy close, who lost most, what
// is flagged.
func headline(r *review.Report) []string {
	lines := energyVerdict(r.Waypoints)
	if loss := mostLost(r.Stations); loss != "" {
		lines = append(lines, loss)
	}
	return append(lines, flaggedLines(r)...)
}

// energyVerdict says whether the linac makes its energy and with what margin.
func energyVerdict(points []review.WaypointResult) []string {
	if len(points) == 0 {
		return []string{"Energy: no waypoint is described, so no margin can be told."}
	}
	var lines []string
	good := 0
	least := -1
	for i, p := range points {
		switch {
		case !rf.Known(p.MarginPercent):
			lines = append(lines, "Energy at "+clean(p.Waypoint)+" is not known.")
			continue
		case p.Verdict == review.OutOfTolerance && p.MarginPercent < 0:
			lines = append(lines, "ENERGY SHORT at "+clean(p.Waypoint)+": "+marginOf(p)+".")
		case p.Verdict.Flagged():
			lines = append(lines, "Energy "+p.Verdict.Words()+" at "+clean(p.Waypoint)+": "+marginOf(p)+".")
		default:
			good++
		}
		if least < 0 || p.MarginPercent < points[least].MarginPercent {
			least = i
		}
	}
	switch {
	case good == len(points) && good == 1:
		lines = append(lines, "The linac makes its energy at "+clean(points[0].Waypoint)+": "+marginOf(points[0])+".")
	case good == len(points):
		lines = append(lines, fmt.Sprintf("The linac makes its energy at all %d waypoints; least at %s: %s.", good, clean(points[least].Waypoint), marginOf(points[least])))
	case good > 0:
		lines = append(lines, fmt.Sprintf("At %d of %d waypoints the energy is in tolerance.", good, len(points)))
	}
	return lines
}

func marginOf(p review.WaypointResult) string {
	made, how := p.Budget, "budget"
	if rf.Known(p.Measured) {
		made, how = p.Measured, "measured"
	}
	return fmt.Sprintf("margin %s %% (required %s MeV, %s %s MeV)",
		signed(p.MarginPercent, coarse), number(mev(p.Required), 5), how, number(mev(made), 5))
}

// mostLost names the station that lost most and what took it.
func mostLost(stations []review.StationResult) string {
	worst := -1
	for i, s := range stations {
		if d := s.Gain - s.GainReference; rf.Known(d) && d < 0 && (worst < 0 || d < stations[worst].Gain-stations[worst].GainReference) {
			worst = i
		}
	}
	if worst < 0 || !stations[worst].Verdict.Flagged() {
		return ""
	}
	s := stations[worst]
	return fmt.Sprintf("Most was lost at %s: %s MeV against the reference%s.", clean(s.Station), signed(mev(s.Gain-s.GainReference), coarse), takenMostBy(s))
}

func takenMostBy(s review.StationResult) string {
	most := -1
	for i, g := range s.Taken {
		if g.Taken < 0 && (most < 0 || g.Taken < s.Taken[most].Taken) {
			most = i
		}
	}
	if most < 0 {
		return ""
	}
	return ", most of it by " + s.Taken[most].Cause.Words()
}

// flaggedLines counts what is flagged, by name.
func flaggedLines(r *review.Report) []string {
	var lines []string
	stations := make(map[review.Verdict][]string)
	for _, s := range r.Stations {
		stations[s.Verdict] = append(stations[s.Verdict], clean(s.Station))
	}
	structures := make(map[review.Verdict][]string)
	retune := 0
	for _, s := range r.Structures {
		structures[s.Verdict] = append(structures[s.Verdict], clean(s.Structure))
		if s.Advice == review.Retune {
			retune++
		}
	}
	if len(r.Stations) > 0 {
		lines = append(lines, flaggedOf("station", len(r.Stations), stations))
	}
	if len(r.Structures) > 0 {
		line := flaggedOf("structure", len(r.Structures), structures)
		if retune > 0 {
			line += fmt.Sprintf(" To retune by its water: %d.", retune)
		}
		lines = append(lines, line)
	}
	return lines
}

func flaggedOf(noun string, all int, by map[review.Verdict][]string) string {
	out, drifting, dead := by[review.OutOfTolerance], by[review.Drifting], by[review.NoData]
	line := fmt.Sprintf("%d of %d %ss flagged", len(out)+len(drifting), all, noun)
	if len(out) > 0 {
		line += "; out of tolerance: " + listed(out, 8)
	}
	if len(drifting) > 0 {
		line += "; drifting: " + listed(drifting, 8)
	}
	if len(dead) > 0 {
		line += "; no data: " + listed(dead, 8)
	}
	return line + "."
}

// energySection tabulates the waypoints.
func energySection(r *review.Report) section {
	if len(r.Waypoints) == 0 {
		return section{}
	}
	arrival, compression := false, false
	for _, p := range r.Waypoints {
		arrival = arrival || rf.Known(p.ArrivalShift)
		compression = compression || rf.Known(p.CompressionChangePercent)
	}
	heads := []string{"Waypoint", "Verdict", ">Required MeV", ">Budget MeV", ">Measured MeV", ">Margin %", ">Closure %"}
	if arrival {
		heads = append(heads, ">Arrival ps")
	}
	if compression {
		heads = append(heads, ">Compression %")
	}
	g := &grid{columns: columns(heads...)}
	var after, scaled []string
	for _, p := range r.Waypoints {
		cells := []string{
			clean(p.Waypoint), p.Verdict.Words(), number(mev(p.Required), 5), budgetCell(p),
			number(mev(p.Measured), 5), signed(p.MarginPercent, coarse), number(p.ClosurePercent, fine),
		}
		if arrival {
			cells = append(cells, signed(rf.In(p.ArrivalShift, rf.Picosecond), coarse))
		}
		if compression {
			cells = append(cells, signed(p.CompressionChangePercent, coarse))
		}
		if p.ArrivalBy != "" && rf.Known(p.ArrivalShift) {
			after = append(after, "Most of the arrival shift at "+clean(p.Waypoint)+" comes from "+clean(p.ArrivalBy)+".")
		}
		if p.Scaled {
			scaled = append(scaled, clean(p.Waypoint))
		}
		g.add(cells...)
	}
	if scaled != nil {
		after = append(after, "Scaled to the beam energy of the reference: the budget at "+listed(scaled, len(scaled))+".")
	}
	return section{key: "energy", title: "Energy", grid: g, after: after}
}

func budgetCell(p review.WaypointResult) string {
	text := number(mev(p.Budget), 5)
	if rf.Known(p.BudgetError) && p.BudgetError > 0 {
		text += " ± " + number(mev(p.BudgetError), coarse)
	}
	return text
}

// stationSection tells each station's gain now against the reference.
func stationSection(r *review.Report) section {
	if len(r.Stations) == 0 {
		return section{}
	}
	heads := []string{"Station", "Verdict", ">Gain MeV", ">Reference MeV", ">Change MeV"}
	took := slices.ContainsFunc(r.Stations, func(s review.StationResult) bool { return takenBy(s) != "" })
	if took {
		heads = append(heads, "Taken by")
	}
	g := &grid{columns: columns(heads...)}
	var held []string
	for _, s := range r.Stations {
		moved := mev(s.Gain - s.GainReference)
		gain := number(mev(s.Gain), fine)
		if s.GainHeld {
			held = append(held, clean(s.Station)+" ("+number(mev(s.GainCounted()), fine)+" MeV)")
			gain, moved = notKnown, math.NaN()
		}
		cells := []string{clean(s.Station), s.Verdict.Words(), gain, number(mev(s.GainReference), fine), signed(moved, coarse)}
		if took {
			cells = append(cells, takenBy(s))
		}
		g.add(cells...)
	}
	out := section{key: "stations", title: "Energy per station, now against the reference", grid: g}
	if held != nil {
		out.after = append(out.after, "Without readings now; the budget uses the last settled gain: "+listed(held, len(held))+".")
	}
	return out
}

// takenBy lists what each cause took and what no cause explains.
func takenBy(s review.StationResult) string {
	text := ""
	for _, g := range s.Taken {
		if !rf.Known(g.Taken) || g.Taken == 0 {
			continue
		}
		if text != "" {
			text += "; "
		}
		text += g.Cause.Words()
		if g.Place != "" && g.Place != s.Station {
			text += " at " + clean(g.Place)
		}
		text += " " + signed(mev(g.Taken), coarse)
	}
	if text != "" && rf.Known(s.Remainder) {
		text += "; remainder " + signed(mev(s.Remainder), coarse)
	}
	return text
}
