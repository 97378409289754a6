package handover

import (
	"math"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

// EntrySchema names the form of an entry of the shift book.
const EntrySchema = "dawncrest.book/1"

// Entry is what the shift book keeps of one handover for the shifts after it:
// what was found, the levels worth following from night to night, who looked at
// what, and the notes.
type Entry struct {
	Schema   string    `json:"schema"`
	Plant    string    `json:"plant"`
	From     time.Time `json:"from"`
	To       time.Time `json:"to"`
	Shift    string    `json:"shift"`
	Author   string    `json:"author"`
	Written  time.Time `json:"written"`
	Version  string    `json:"version"`
	Demo     bool      `json:"demo"`
	Accepted bool      `json:"accepted"` // fit to be a reference for later nights

	Waypoints  []EntryWaypoint `json:"waypoints"`
	Stations   EntryStations   `json:"stations"`
	Structures EntryStructures `json:"structures"`
	Findings   []EntryFinding  `json:"findings"`
	Seen       []Seen          `json:"seen"`
	Notes      []string        `json:"notes"`

	Name string `json:"-"` // in the book: 2026-11-24-night
}

// EntryWaypoint is the energy at a waypoint that night.
type EntryWaypoint struct {
	Waypoint string         `json:"waypoint"`
	Verdict  review.Verdict `json:"verdict"`
	Budget   figure         `json:"budget_MeV"`
	Measured figure         `json:"measured_MeV"`
	Margin   figure         `json:"margin_percent"`
}

// EntryStations holds the stations' levels that night, a list for each quantity
// in the order of the names: a year of entries is read at once, and lists read
// several times faster than objects.
type EntryStations struct {
	Names              []string `json:"names"`
	Gain               []figure `json:"energy_gain_MeV"`
	Microperveance     []figure `json:"microperveance"`
	CompressorDetuning []figure `json:"compressor_detuning_kHz"`
	TripsPerDay        []figure `json:"trips_per_day"`
}

// EntryStructures holds the structures' levels that night in the same way. A
// detuning from that night's own reference compares with no other night and is
// not kept.
type EntryStructures struct {
	Names    []string `json:"names"`
	Detuning []figure `json:"detuning_kHz"`
	Water    []figure `json:"water_temperature_degC"`
}

// EntryFinding is one finding that night.
type EntryFinding struct {
	Key      string         `json:"key"`
	Place    string         `json:"place"`
	Station  string         `json:"station"`
	Cause    review.Cause   `json:"cause"`
	Quantity rf.Quantity    `json:"quantity"`
	Verdict  review.Verdict `json:"verdict"`
	Since    time.Time      `json:"since,omitzero"`
	Change   figure         `json:"change"`
	Unit     string         `json:"unit"`
	Cost     figure         `json:"energy_cost_MeV"`
	Message  string         `json:"message"`
}

// NewEntry makes the entry of a handover. Seen-marks of the shifts before go on
// for as long as their finding does.
func NewEntry(r *review.Report, m Meta, h History) Entry {
	_, shift := shiftOf(r, m)
	e := Entry{
		Schema:  EntrySchema,
		From:    r.From.UTC(),
		To:      r.To.UTC(),
		Shift:   shift,
		Author:  clean(m.Author),
		Written: m.Written.UTC(),
		Version: m.Version,
		Demo:    m.Demo, Accepted: m.Accepted,
		Notes: cleanAll(m.Notes),
		Seen:  seenMarks(r, m, h),
	}
	if r.Plant != nil {
		e.Plant = r.Plant.Name
	}
	e.Waypoints = each(r.Waypoints, func(p review.WaypointResult) EntryWaypoint {
		return EntryWaypoint{p.Waypoint, p.Verdict, in(p.Budget, rf.Megaelectronvolt), in(p.Measured, rf.Megaelectronvolt), figure(p.MarginPercent)}
	})
	e.Stations, e.Structures = stationLevels(r), structureLevels(r)
	e.Findings = each(r.Findings, entryFinding)
	return e
}

func stationLevels(r *review.Report) EntryStations {
	days := r.To.Sub(r.From).Hours() / 24
	return EntryStations{
		Names:              each(r.Stations, func(s review.StationResult) string { return s.Station }),
		Gain:               each(r.Stations, func(s review.StationResult) figure { return stationObject(s).Gain }),
		Microperveance:     each(r.Stations, func(s review.StationResult) figure { return figure(s.Microperveance) }),
		CompressorDetuning: each(r.Stations, func(s review.StationResult) figure { return in(s.CompressorDetuning, rf.Kilohertz) }),
		TripsPerDay:        each(r.Stations, func(s review.StationResult) figure { return figure(float64(s.Trips) / days) }),
	}
}

func structureLevels(r *review.Report) EntryStructures {
	return EntryStructures{
		Names: each(r.Structures, func(s review.StructureResult) string { return s.Structure }),
		Detuning: each(r.Structures, func(s review.StructureResult) figure {
			if s.Relative {
				return figure(math.NaN())
			}
			return in(s.Detuning, rf.Kilohertz)
		}),
		Water: each(r.Structures, func(s review.StructureResult) figure {
			if t := r.Trace(s.Structure, rf.WaterTemperature); t != nil {
				return figure(t.Now)
			}
			return figure(math.NaN())
		}),
	}
}

func entryFinding(f review.Finding) EntryFinding {
	return EntryFinding{FindingKey(f), f.Place, f.Station, f.Cause, f.Quantity, f.Verdict, f.Since.UTC(), figure(f.Change), f.Unit, in(f.EnergyCost, rf.Megaelectronvolt), f.Message}
}

// seenMarks returns the marks that hold for this night's findings: those handed
// on first, then those of this shift.
func seenMarks(r *review.Report, m Meta, h History) []Seen {
	marks := []Seen{}
	for i := range r.Findings {
		for _, mark := range h.SeenBy(FindingKey(r.Findings[i]), m) {
			mark.Initials, mark.Note = clean(mark.Initials), clean(mark.Note)
			marks = append(marks, mark)
		}
	}
	return marks
}
