package handover

import (
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

	Waypoints  []EntryWaypoint  `json:"waypoints"`
	Stations   []EntryStation   `json:"stations"`
	Structures []EntryStructure `json:"structures"`
	Findings   []EntryFinding   `json:"findings"`
	Seen       []Seen           `json:"seen"`
	Notes      []string         `json:"notes"`

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

// EntryStation is one station's levels that night.
type EntryStation struct {
	Station            string         `json:"station"`
	Verdict            review.Verdict `json:"verdict"`
	Gain               figure         `json:"energy_gain_MeV"`
	Microperveance     figure         `json:"microperveance"`
	CompressorDetuning figure         `json:"compressor_detuning_kHz"`
	Trips              int            `json:"trips"`
}

// EntryStructure is one structure's levels that night.
type EntryStructure struct {
	Structure string         `json:"structure"`
	Verdict   review.Verdict `json:"verdict"`
	Detuning  figure         `json:"detuning_kHz"`
	Relative  bool           `json:"relative"` // from that night's reference
	Water     figure         `json:"water_temperature_degC"`
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
		Author:  m.Author,
		Written: m.Written.UTC(),
		Version: m.Version,
		Demo:    m.Demo, Accepted: m.Accepted,
		Notes: each(m.Notes, itself),
		Seen:  seenMarks(r, m, h),
	}
	if r.Plant != nil {
		e.Plant = r.Plant.Name
	}
	e.Waypoints = each(r.Waypoints, func(p review.WaypointResult) EntryWaypoint {
		return EntryWaypoint{p.Waypoint, p.Verdict, in(p.Budget, rf.Megaelectronvolt), in(p.Measured, rf.Megaelectronvolt), figure(p.MarginPercent)}
	})
	e.Stations = each(r.Stations, func(s review.StationResult) EntryStation {
		o := stationObject(s)
		return EntryStation{s.Station, s.Verdict, o.Gain, o.Microperveance, o.CompressorDetuning, s.Trips}
	})
	e.Structures = each(r.Structures, func(s review.StructureResult) EntryStructure {
		water := figure(rf.Unknown[float64]())
		if t := r.Trace(s.Structure, rf.WaterTemperature); t != nil {
			water = figure(t.Now)
		}
		return EntryStructure{s.Structure, s.Verdict, in(s.Detuning, rf.Kilohertz), s.Relative, water}
	})
	e.Findings = each(r.Findings, entryFinding)
	return e
}

func entryFinding(f review.Finding) EntryFinding {
	return EntryFinding{FindingKey(f), f.Place, f.Station, f.Cause, f.Quantity, f.Verdict, f.Since.UTC(), figure(f.Change), f.Unit, in(f.EnergyCost, rf.Megaelectronvolt), f.Message}
}

// seenMarks returns the marks that hold for this night's findings: those handed
// on first, then those of this shift.
func seenMarks(r *review.Report, m Meta, h History) []Seen {
	marks := []Seen{}
	for i := range r.Findings {
		marks = append(marks, h.SeenBy(FindingKey(r.Findings[i]), m)...)
	}
	return marks
}
