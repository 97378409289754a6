package handover

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

// lostSection tells which station the linac could not do without.
func lostSection(r *review.Report) section {
	if len(r.Waypoints) == 0 {
		return section{}
	}
	asked := 0
	s := section{key: "lost", title: "If one station is lost"}
	var tight review.WithoutStation
	var at string
	for _, p := range r.Waypoints {
		for _, w := range p.Without {
			if !rf.Known(w.MarginPercent) {
				continue
			}
			asked++
			if at == "" || w.MarginPercent < tight.MarginPercent {
				tight, at = w, p.Waypoint
			}
		}
		s.bullets = append(s.bullets, withoutLines(p)...)
	}
	switch {
	case asked == 0:
		s.lead = []string{"Not known: no budget to take a station from."}
	case len(s.bullets) == 0:
		s.lead = []string{fmt.Sprintf("Any one station can be lost and every waypoint still closes; tightest without %s: margin %s %% at %s.", clean(tight.Station), signed(tight.MarginPercent, coarse), clean(at))}
	default:
		s.lead = []string{"The energy does not close without these. Arithmetic for the authorised operator, not a setting:"}
	}
	return s
}

// withoutLines tells what a waypoint could not do without: first the stations
// that none would make up for, then the others with all that would.
func withoutLines(p review.WaypointResult) []string {
	var alone, covered, by []string
	for _, w := range p.Without {
		if w.Closes || !rf.Known(w.MarginPercent) {
			continue
		}
		lost := clean(w.Station) + " (" + signed(w.MarginPercent, coarse) + " %)"
		if len(w.MadeUpBy) == 0 {
			alone = append(alone, lost)
			continue
		}
		covered = append(covered, lost)
		for _, m := range w.MadeUpBy {
			if words := makeUpWords(m); !slices.Contains(by, words) {
				by = append(by, words)
			}
		}
	}
	var lines []string
	if alone != nil {
		lines = append(lines, "At "+clean(p.Waypoint)+", margin without "+strings.Join(alone, ", ")+": no station is free to make it up")
	}
	if covered != nil {
		lines = append(lines, "At "+clean(p.Waypoint)+", margin without "+strings.Join(covered, ", ")+": made up by as many as it takes of "+strings.Join(by, "; "))
	}
	return lines
}

func makeUpWords(m review.MakeUp) string {
	text := clean(m.Station)
	if m.Spare {
		text += " (hot spare)"
	}
	text += " " + withUnit(signed(mev(m.Gain), coarse), "MeV")
	if rf.Known(m.Power) {
		text += " at " + withUnit(number(rf.In(m.Power, rf.Megawatt), 3), "MW")
	}
	if rf.Known(m.Phase) && m.Phase != 0 {
		text += ", re-phased by " + withUnit(signed(rf.In(m.Phase, rf.Degree), coarse), "deg")
	}
	if note := clean(m.Note); note != "" {
		text += " [" + note + "]"
	}
	return text
}

// tripSection counts trips with their 95 % intervals.
func tripSection(r *review.Report) section {
	if len(r.Stations) == 0 {
		return section{}
	}
	s := section{key: "trips", title: "Trips"}
	g := &grid{columns: columns("Station", ">Trips", ">Per day", ">95 %", ">Usual per day", ">RF on %")}
	total := 0
	for _, st := range r.Stations {
		total += st.Trips
		if st.Trips == 0 {
			continue
		}
		usual := rf.Unknown[float64]()
		if r.Plant != nil {
			if plant, ok := r.Plant.Station(st.Station); ok {
				usual = plant.TripsPerDay
			}
		}
		g.add(clean(st.Station), strconv.Itoa(st.Trips), number(st.TripsPerDay[0], coarse),
			number(st.TripsPerDay[1], coarse)+" to "+number(st.TripsPerDay[2], coarse), number(usual, coarse), number(st.OnPercent, fine))
	}
	if total == 0 {
		s.lead = []string{"No trips in the log."}
		return s
	}
	s.lead = []string{fmt.Sprintf("%s in all, at %s of %d.", count(total, "trip"), count(len(g.rows), "station"), len(r.Stations))}
	s.grid = g
	return s
}
