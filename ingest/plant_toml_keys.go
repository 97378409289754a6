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

	"github.com/BurntSushi/toml"
)

// These bound plant.toml, as the parser's time grows with the cube of the depth to
// which keys and inline tables nest: 6000 levels take seconds. What a plant needs
// is two.
const (
	plantTOMLLimit = 100 << 10
	lineDotLimit   = 30
	braceLimit     = 100
)

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

// takeKeys fills the entries of row from a table of plant.toml. A missing key is
// told at the line of its section.
func (p *plantReader) takeKeys(row any, table map[string]any, specs []entrySpec, lines map[string]int, section string, sectionLine int) {
	var known []string
	for _, spec := range specs {
		known = append(known, spec.name)
	}
	for _, key := range slices.Sorted(maps.Keys(table)) {
		isHead := slices.ContainsFunc(plantKeys, func(spec entrySpec) bool { return spec.name == key })
		line := max(lines[section+key], sectionLine)
		switch {
		case slices.Contains(known, key):
		case isHead:
			p.faultAt(plantTOMLFile, line, key, "stands below a [[waypoint]] and so belongs to it", "move it above the first [[waypoint]]")
		default:
			p.faultAt(plantTOMLFile, line, shownText(key), "is not a key of "+plantTOMLFile, didYouMean(key, known, "take it away, or write one of "+strings.Join(known, ", ")))
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
