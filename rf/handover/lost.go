package handover

import (
	"fmt"
	"strconv"
	"strings"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

// lostSection tells which station the linac could not do without.
func lostSection(r *review.Report) section {
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
			if !w.Closes {
				s.bullets = append(s.bullets, withoutLine(p.Waypoint, w))
			}
		}
	}
	switch {
	case asked == 0 && len(r.Waypoints) == 0:
		return section{}
	case asked == 0:
		s.lead = []string{"Not known: no budget to take a station from."}
	case len(s.bullets) == 0:
		s.lead = []string{fmt.Sprintf("Any one station can be lost and every waypoint still closes; tightest without %s: margin %s %% at %s.", clean(tight.Station), signed(tight.MarginPercent, coarse), clean(at))}
	default:
		s.lead = []string{"The energy does not close without these. Arithmetic for the authorised operator, not a setting:"}
	}
	return s
}

func withoutLine(waypoint string, w review.WithoutStation) string {
	line := fmt.Sprintf("Without %s: margin %s %% at %s", clean(w.Station), signed(w.MarginPercent, coarse), clean(waypoint))
	if len(w.MadeUpBy) == 0 {
		return line + "; no station is free to make it up"
	}
	var by []string
	for _, m := range w.MadeUpBy {
		by = append(by, makeUpWords(m))
	}
	return line + "; made up by " + strings.Join(by, ", ")
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
