package ingest

import (
	"fmt"
	"strings"

	"dawncrest/rf"
)

// ColumnRule tells what a column of a log holds whose heading is not a native
// one. A reading becomes reading*Scale + Offset, in Unit.
type ColumnRule struct {
	Column   string // the heading, in which one * may stand for the place
	Place    string // empty where the * gives it
	Quantity rf.Quantity
	Unit     string // empty: the quantity's own
	Scale    float64
	Offset   float64
}

// placeMark stands for the place in a heading.
const placeMark = "*"

// Match reports whether the rule holds for a heading, and for which place.
func (c ColumnRule) Match(header string) (place string, ok bool) {
	before, after, pattern := strings.Cut(c.Column, placeMark)
	if !pattern {
		return c.Place, header == c.Column
	}
	place, ok = strings.CutPrefix(header, before)
	if !ok {
		return "", false
	}
	place, ok = strings.CutSuffix(place, after)
	if !ok || place == "" {
		return "", false
	}
	return place, true
}

var columnTable = plantTable{
	file:     "columns.csv",
	optional: true,
	columns: []entrySpec{
		{name: "column", about: "the heading as it stands in the log, with * for the place where one row serves many places"},
		{name: "place", blank: true, about: "the place it belongs to, nothing where the heading has a *"},
		{name: "quantity", about: "what it measures, such as forward_power"},
		{name: "unit", blank: true, about: "its unit, nothing where it is the quantity's own"},
		{name: "scale", blank: true, low: -1e15, high: 1e15, about: "what to multiply a reading by, nothing for 1"},
		{name: "offset", blank: true, low: -1e15, high: 1e15, about: "what to add after that, nothing for 0"},
	},
}

type columnRow struct {
	Column   entry `csv:"column"`
	Place    entry `csv:"place"`
	Quantity entry `csv:"quantity"`
	Unit     entry `csv:"unit"`
	Scale    entry `csv:"scale"`
	Offset   entry `csv:"offset"`
}

func (p *plantReader) readColumns() []ColumnRule {
	rows, _ := readTable[columnRow](p, &columnTable)
	var rules []ColumnRule
	firstHeading, firstTarget := map[string]int{}, map[string]int{}
	for _, row := range rows {
		rule := row.rule(p)
		target := rule.Place + " " + string(rule.Quantity)
		if line, twice := firstHeading[rule.Column]; twice && rule.Column != "" {
			p.fault(row.Column, fmt.Sprintf("%s stands already in line %d", row.Column.shown(), line), "write each heading once")
		} else if line, twice := firstTarget[target]; twice && rule.Place != "" && rule.Quantity != "" {
			p.fault(row.Quantity, fmt.Sprintf("line %d gives %s too", line, shownText(target)), "let one column give it")
		}
		firstHeading[rule.Column], firstTarget[target] = row.Column.line, row.Column.line
		rules = append(rules, rule)
	}
	return rules
}

// rule checks a row.
func (row columnRow) rule(p *plantReader) ColumnRule {
	rule := ColumnRule{Scale: p.numberOr(row.Scale, 1), Offset: p.numberOr(row.Offset, 0)}
	rule.Column, _ = p.words(row.Column)
	place, kind := row.place(p, rule.Column)
	rule.Place = place
	info, known := p.quantity(row.Quantity)
	rule.Quantity = info.Name
	if info.Derived {
		p.fault(row.Quantity, row.Quantity.shown()+" is computed, not read", "write the quantity that the column measures")
	}
	if kinds := kindsOf(info.Name); known && kind != 0 && kind&kinds == 0 {
		p.fault(row.Place, fmt.Sprintf("%s is %s", row.Place.shown(), kindWord(kind)), "name "+kindsInWords(kinds))
	}
	if rule.Scale == 0 {
		p.fault(row.Scale, "0 would make every reading the same", "write "+row.Scale.spec.about)
	}
	if known {
		rule.Unit = row.unit(p, info)
	}
	if u, ok := unitNamed(rule.Unit); ok && u.level && (rule.Scale != 1 || rule.Offset != 0) {
		p.fault(row.Unit, row.Unit.shown()+" is a level, which scale and offset cannot change", "leave scale and offset empty")
	}
	return rule
}

// place returns the place that a row names and its kind, empty and 0 where the
// heading gives it.
func (row columnRow) place(p *plantReader, heading string) (string, rf.PlaceKind) {
	switch marks := strings.Count(heading, placeMark); {
	case marks > 1:
		p.fault(row.Column, row.Column.shown()+" has more than one *", "write one * where the place stands")
	case marks == 1 && row.Place.given():
		p.fault(row.Place, row.Place.shown()+" stands beside a * that gives the place", "leave the place empty, or write the heading without *")
	case marks == 0 && heading != "" && !row.Place.given() && !row.Place.dead:
		p.fault(row.Place, "is empty", "write "+row.Place.spec.about)
	case marks == 0:
		return p.oldPlace(row.Place, anyPlace)
	}
	return "", 0
}

// unit returns the unit of a row, checked against what it measures.
func (row columnRow) unit(p *plantReader, info rf.Info) string {
	text, ok := p.words(row.Unit)
	if !ok {
		return ""
	}
	u, ok := unitNamed(text)
	if !ok {
		p.fault(row.Unit, row.Unit.shown()+" is not a unit known here", didYouMean(text, symbolsOf(info.Dimension), "write the unit that "+string(info.Name)+" is logged in"))
		return ""
	}
	if _, err := convert(u, info); err != nil {
		p.fault(row.Unit, err.Error(), "")
		return ""
	}
	return text
}
