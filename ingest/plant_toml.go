package ingest

import (
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	_ "time/tzdata" // control-room machines often have no zone table

	"github.com/BurntSushi/toml"

	"dawncrest/rf"
)

const plantTOMLFile = "plant.toml"

const waypointKey = "waypoint"

const plantNameLimit = 60

var plantKeys = []entrySpec{
	{name: "name", about: `the linac's name in quotes, such as "Harrow Fen"`},
	{name: "frequency_MHz", low: 100, high: 1e5, about: "the drive frequency in MHz, such as 2856"},
	{name: "repetition_rate_Hz", low: 0.01, high: 1e5, about: "RF pulses per second"},
	{name: "time_zone", about: `the IANA name of the plant's time zone, such as "Europe/Lisbon", or "UTC"`},
	{name: "injection_energy_MeV", low: 0, high: 1e6, about: "the beam energy in MeV before the first station"},
	{name: "expansion_per_K", optional: true, low: 1e-6, high: 1e-4, about: "the linear expansion of the structures per kelvin"},
	{name: "beam_current_mA", optional: true, low: 0, high: 1e6, about: "the beam current in mA, averaged over the RF pulse, without sign"},
	{name: "phase_sampling", optional: true, about: `"same_wave_front" where the output phase is taken one filling time after the input phase, "same_time" where both are taken at once`},
}

type plantHead struct {
	Name            entry `toml:"name"`
	Frequency       entry `toml:"frequency_MHz"`
	RepetitionRate  entry `toml:"repetition_rate_Hz"`
	TimeZone        entry `toml:"time_zone"`
	InjectionEnergy entry `toml:"injection_energy_MeV"`
	Expansion       entry `toml:"expansion_per_K"`
	BeamCurrent     entry `toml:"beam_current_mA"`
	PhaseSampling   entry `toml:"phase_sampling"`
}

var waypointKeys = []entrySpec{
	{name: "name", about: "the waypoint's name in quotes"},
	{name: "after_station", about: "the name of the last station before it, in quotes"},
	{name: "required_energy_MeV", low: 0.01, high: 1e6, about: "the beam energy in MeV that must be met there"},
	{name: "tolerance_percent", low: 0.001, high: 50, about: "by how many percent the energy may miss"},
	{name: "r56_mm", optional: true, low: -1e5, high: 1e5, about: "R56 in mm of the bunch compressor that stands there"},
}

type waypointRow struct {
	Name         entry `toml:"name"`
	AfterStation entry `toml:"after_station"`
	Required     entry `toml:"required_energy_MeV"`
	Tolerance    entry `toml:"tolerance_percent"`
	R56          entry `toml:"r56_mm"`
}

// readPlantTOML takes the head of plant.toml into the plant, and returns the
// waypoints, which are checked when the stations are known.
func (p *plantReader) readPlantTOML() []waypointRow {
	data, ok := p.read(plantTOMLFile, false, "the linac's name, frequency, repetition rate, time zone and waypoints")
	if !ok {
		return nil
	}
	if len(data) > plantTOMLLimit {
		p.faultAt(plantTOMLFile, 0, "", fmt.Sprintf("is over %d kB", plantTOMLLimit>>10), "keep only the description of the linac here")
		return nil
	}
	if line := tooDeep(string(data)); line > 0 {
		p.faultAt(plantTOMLFile, line, "", "has more dots or braces than a plant needs", `write one "key = value" a line`)
		return nil
	}
	var tree map[string]any
	if _, err := toml.Decode(string(data), &tree); err != nil {
		p.syntaxFault(err)
		return nil
	}
	lines := keyLines(string(data))
	var rows []waypointRow
	tables, isList := tablesOf(tree[waypointKey])
	if _, stands := tree[waypointKey]; stands && !isList {
		p.faultAt(plantTOMLFile, lines[waypointKey], waypointKey, "is not a list of tables", "begin each waypoint with a line [[waypoint]]")
	}
	delete(tree, waypointKey)
	p.waypointsWhole = isList || tables == nil
	var head plantHead
	p.takeKeys(&head, tree, plantKeys, lines, "", 0)
	p.takeHead(head)
	for i, table := range tables {
		section := fmt.Sprintf("%s[%d].", waypointKey, i)
		var row waypointRow
		p.takeKeys(&row, table, waypointKeys, lines, section, max(lines[section], lines[waypointKey]))
		rows = append(rows, row)
	}
	return rows
}

// takeHead checks the keys above the first waypoint.
func (p *plantReader) takeHead(h plantHead) {
	plant := p.plant
	plant.Name, _ = p.words(h.Name)
	if strings.ContainsFunc(plant.Name, unprintable) || utf8.RuneCountInString(plant.Name) > plantNameLimit {
		p.fault(h.Name, h.Name.shown()+" does not fit on a line", fmt.Sprintf("write a plain name of %d letters at most", plantNameLimit))
	}
	plant.Frequency = rf.Frequency(p.number(h.Frequency)) * rf.Megahertz
	plant.RepetitionRate = rf.Frequency(p.number(h.RepetitionRate)) * rf.Hertz
	plant.InjectionEnergy = rf.Energy(p.number(h.InjectionEnergy)) * rf.Megaelectronvolt
	plant.ExpansionPerK = p.numberOr(h.Expansion, rf.DefaultExpansionPerK)
	plant.BeamCurrent = rf.Current(p.numberOr(h.BeamCurrent, 0)) * rf.Milliampere
	if h.PhaseSampling.given() && p.keyword(h.PhaseSampling, "same_wave_front", "same_time") == "same_time" {
		plant.PhaseSampling = rf.SameTime
	}
	if name, ok := p.words(h.TimeZone); ok {
		zone, err := time.LoadLocation(name)
		if err != nil || name == "Local" {
			p.fault(h.TimeZone, h.TimeZone.shown()+" is not a time zone", "write "+h.TimeZone.spec.about)
			return
		}
		plant.Zone = zone
	}
}

// takeWaypoints checks the waypoints against the stations.
func (p *plantReader) takeWaypoints(rows []waypointRow) {
	for _, row := range rows {
		name := p.newPlace(row.Name, rf.OfWaypoint)
		p.waypointsWhole = p.waypointsWhole && name != ""
		after, _ := p.oldPlace(row.AfterStation, rf.OfStation)
		p.plant.Waypoints = append(p.plant.Waypoints, rf.Waypoint{
			Name:             name,
			AfterStation:     after,
			Required:         rf.Energy(p.number(row.Required)) * rf.Megaelectronvolt,
			TolerancePercent: p.number(row.Tolerance),
			R56M:             p.number(row.R56) * 1e-3,
		})
	}
}
