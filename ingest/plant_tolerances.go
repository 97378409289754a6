package ingest

import (
	"fmt"

	"dawncrest/rf"
)

var toleranceTable = plantTable{
	file:     "tolerances.csv",
	optional: true,
	columns: []entrySpec{
		{name: "quantity", about: "the quantity that is limited, as in the log's headings, or a derived one"},
		{name: "place", blank: true, about: "the place it holds for, nothing for everywhere"},
		{name: "basis", about: "relative, change, absolute or ratio"},
		{name: "drift_limit", low: 0, high: 1e12, about: "the limit of normal drift"},
		{name: "act_limit", low: 0, high: 1e12, about: "the limit that calls for action"},
		{name: "unit", about: "the unit of both limits: % for relative, 1 for ratio, else the quantity's own"},
	},
}

type toleranceRow struct {
	Quantity   entry `csv:"quantity"`
	Place      entry `csv:"place"`
	Basis      entry `csv:"basis"`
	DriftLimit entry `csv:"drift_limit"`
	ActLimit   entry `csv:"act_limit"`
	Unit       entry `csv:"unit"`
}

func (p *plantReader) readTolerances() {
	rows, _ := readTable[toleranceRow](p, &toleranceTable)
	first := map[[3]string]int{}
	var tolerances []rf.Tolerance
	for _, row := range rows {
		t := row.tolerance(p)
		key := [3]string{row.Quantity.text, row.Place.text, row.Basis.text}
		if line, twice := first[key]; twice && row.Quantity.given() && row.Basis.given() {
			p.fault(row.Quantity, fmt.Sprintf("has the same quantity, place and basis as line %d", line), "keep one of the two rows")
		} else if !twice {
			first[key] = row.Quantity.line
		}
		tolerances = append(tolerances, t)
	}
	p.plant.Tolerances = rf.OverlayTolerances(rf.BuiltInTolerances(), tolerances)
}

// tolerance checks a row.
func (row toleranceRow) tolerance(p *plantReader) rf.Tolerance {
	info, known := p.quantity(row.Quantity)
	t := rf.Tolerance{
		Quantity:   info.Name,
		Basis:      rf.Basis(p.keyword(row.Basis, string(rf.Relative), string(rf.Change), string(rf.Absolute), string(rf.Ratio))),
		DriftLimit: p.number(row.DriftLimit),
		ActLimit:   p.number(row.ActLimit),
	}
	place, kind := p.oldPlace(row.Place, anyPlace)
	t.Place = place
	if known && kind != 0 {
		at, stands := info.Name.InfoAt(kind)
		if !stands {
			p.fault(row.Place, fmt.Sprintf("%s is %s, and %s belongs to %s", row.Place.shown(), kindWord(kind), info.Name, kindsInWords(kindsOf(info.Name))), "name such a place, or none for everywhere")
			known = false
		}
		info = at
	}
	if t.DriftLimit > t.ActLimit {
		p.fault(row.DriftLimit, fmt.Sprintf("%s is over the act_limit %s", row.DriftLimit.shown(), row.ActLimit.shown()), "write a drift_limit that is met before the act_limit")
	}
	if t.Basis == rf.Ratio && t.DriftLimit < 1 {
		p.fault(row.DriftLimit, row.DriftLimit.shown()+" times the reference is below the reference", "write a ratio over 1")
	}
	unit, _ := p.words(row.Unit)
	if known && t.Basis != "" {
		row.check(p, info, &t, unit)
	}
	return t
}

// check looks whether basis and unit suit the quantity, and brings the limits to
// the unit in which readings are kept.
func (row toleranceRow) check(p *plantReader, info rf.Info, t *rf.Tolerance, unit string) {
	if info.Form == rf.Text || info.Form == rf.State || info.Form == rf.Counter {
		p.fault(row.Quantity, string(info.Name)+" has no size to limit", "take the row away; trips are limited by the quantity trips")
		return
	}
	scaleless := info.Form == rf.Angle || info.Dimension == rf.DimTemperature
	if scaleless && (t.Basis == rf.Relative || t.Basis == rf.Ratio) {
		p.fault(row.Basis, fmt.Sprintf("%s of %s means nothing: its zero is arbitrary", row.Basis.shown(), info.Name), "write change")
		return
	}
	if unit == "" {
		return
	}
	native := nativeLimitUnit(info, t.Basis)
	u, known := unitNamed(unit)
	own, _ := unitNamed(native)
	c, err := convert(u, rf.Info{Unit: native, Dimension: own.dimension})
	level := c.level && t.Basis != rf.Absolute // a step in decibel is not a step in watt
	percent := u.symbol == "%" && native == "1" && t.Basis != rf.Ratio
	switch {
	case !known, err != nil, level:
		p.fault(row.Unit, fmt.Sprintf("%s does not suit %s of %s", row.Unit.shown(), row.Basis.shown(), info.Name), "write "+native)
		return
	case percent:
		p.fault(row.Unit, fmt.Sprintf("%% could be of the reference or of %s itself", info.Name), "write 1 for its own unit, or relative for percent of the reference")
		return
	}
	if t.Basis != rf.Absolute {
		c.offset = 0
	}
	t.DriftLimit, t.ActLimit, t.Unit = c.of(t.DriftLimit), c.of(t.ActLimit), native
}

// nativeLimitUnit returns the unit in which limits of a quantity are kept.
func nativeLimitUnit(info rf.Info, basis rf.Basis) string {
	switch {
	case basis == rf.Relative:
		return "%"
	case basis == rf.Ratio:
		return "1"
	case basis == rf.Change && info.Dimension == rf.DimTemperature:
		return "K"
	}
	return info.Unit
}
