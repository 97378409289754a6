package ingest

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"
	_ "time/tzdata" // control-room machines often have no zone table

	"github.com/BurntSushi/toml"

	"dawncrest/rf"
)

const plantTOMLFile = "plant.toml"

// These bound plant.toml, as the parser's time grows with the cube of the depth to
// which keys and inline tables nest: 6000 levels take seconds. What a plant needs
// is two.
const (
	plantTOMLLimit = 100 << 10
	lineDotLimit   = 30
	braceLimit     = 100
)

const waypointKey = "waypoint"

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

// tooDeep returns the line at which a text may nest too deep to be parsed in
// reasonable time, 0 where it does not.
func tooDeep(text string) int {
	braces := 0
	for i, line := range strings.Split(text, "\n") {
		if strings.HasPrefix(strings.TrimSpace(line), "#") {
			continue
		}
		braces += strings.Count(line, "{")
		if braces > braceLimit || strings.Count(line, ".") > lineDotLimit {
			return i + 1
		}
	}
	return 0
}

// takeHead checks the keys above the first waypoint.
func (p *plantReader) takeHead(h plantHead) {
	plant := p.plant
	plant.Name, _ = p.words(h.Name)
	if strings.ContainsFunc(plant.Name, unprintable) {
		p.fault(h.Name, h.Name.shown()+" holds a character that does not print", "write a plain name")
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

// takeKeys fills the entries of row from a table of plant.toml. A missing key is
// told at the line of its section.
func (p *plantReader) takeKeys(row any, table map[string]any, specs []entrySpec, lines map[string]int, section string, sectionLine int) {
	var known []string
	for _, spec := range specs {
		known = append(known, spec.name)
	}
	for _, key := range slices.Sorted(maps.Keys(table)) {
		if !slices.Contains(known, key) {
			p.faultAt(plantTOMLFile, max(lines[section+key], sectionLine), shownText(key), "is not a key of "+plantTOMLFile, didYouMean(key, known, "take it away, or write one of "+strings.Join(known, ", ")))
		}
	}
	fields := reflect.ValueOf(row).Elem()
	for i := range fields.NumField() {
		spec := &specs[slices.Index(known, fields.Type().Field(i).Tag.Get("toml"))]
		value, stands := table[spec.name]
		e := entry{file: plantTOMLFile, line: max(lines[section+spec.name], sectionLine), spec: spec}
		switch {
		case stands:
			p.takeValue(&e, value)
		case !spec.optional:
			e.line, e.dead = sectionLine, true
			p.fault(e, "is missing", "write "+spec.about)
		}
		fields.Field(i).Set(reflect.ValueOf(e))
	}
}

// takeValue puts a value of plant.toml into an entry: words for words and a
// number for a number.
func (p *plantReader) takeValue(e *entry, value any) {
	isNumber := e.spec.low != e.spec.high
	switch v := value.(type) {
	case string:
		e.text, e.quoted = v, true
		return
	case int64:
		e.text = strconv.FormatInt(v, 10)
	case float64:
		e.text = strconv.FormatFloat(v, 'g', -1, 64)
		if math.IsInf(v, 0) || math.IsNaN(v) {
			isNumber = false
		}
	default:
		isNumber = false
		e.text = fmt.Sprint(v)
	}
	if !isNumber {
		e.dead = true
		p.fault(*e, e.shown()+" does not belong here", "write "+e.spec.about)
	}
}

// tablesOf returns the tables of a list of tables, however it was written.
func tablesOf(value any) ([]map[string]any, bool) {
	switch list := value.(type) {
	case []map[string]any:
		return list, true
	case []any:
		tables := make([]map[string]any, len(list))
		for i, item := range list {
			table, ok := item.(map[string]any)
			if !ok {
				return nil, false
			}
			tables[i] = table
		}
		return tables, true
	}
	return nil, false
}

// keyLines returns the physical line of each key, those of the list section
// [[waypoint]] as "waypoint[0].name" with the section itself as "waypoint[0].".
// The parser tells lines for its own errors only.
func keyLines(text string) map[string]int {
	lines := map[string]int{}
	section, count := "", map[string]int{}
	quote := "" // of a string that runs over lines
	for i, line := range strings.Split(text, "\n") {
		line = strings.TrimSpace(line)
		if quote != "" {
			if strings.Contains(line, quote) {
				quote = ""
			}
			continue
		}
		if name, ok := strings.CutPrefix(line, "[["); ok {
			name, _, _ = strings.Cut(name, "]")
			name = strings.Trim(name, ` '"`)
			section = fmt.Sprintf("%s[%d].", name, count[name])
			count[name]++
			lines[section] = i + 1
			continue
		}
		if name, ok := strings.CutPrefix(line, "["); ok {
			name, _, _ = strings.Cut(name, "]")
			section = strings.Trim(name, ` '"`) + "."
			lines[strings.TrimSuffix(section, ".")] = i + 1
			continue
		}
		key, value, ok := strings.Cut(line, "=")
		if !ok || strings.HasPrefix(line, "#") {
			continue
		}
		lines[section+strings.Trim(key, ` '"`+"\t")] = i + 1
		for _, q := range []string{`"""`, "'''"} {
			if strings.Count(value, q)%2 == 1 {
				quote = q
			}
		}
	}
	return lines
}

// syntaxFault notes where plant.toml stops being TOML.
func (p *plantReader) syntaxFault(err error) {
	line, text := 0, err.Error()
	var parse toml.ParseError
	if errors.As(err, &parse) && parse.Message != "" {
		line, text = parse.Position.Line, parse.Message
	}
	const limit = 200 // the parser repeats what it was given
	text = cleanText(text)
	if len(text) > limit {
		text = strings.ToValidUTF8(text[:limit], "") + "..."
	}
	p.faultAt(plantTOMLFile, line, "", "cannot be parsed: "+text, `write one "key = value" a line, words in quotes`)
}
