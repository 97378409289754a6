package ingest

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"dawncrest/rf"
)

// heading is what the reader made of the name of one value column.
type heading struct {
	text     string // as it stands in the log, cleaned
	place    string
	quantity rf.Quantity // empty: not understood
	info     rf.Info
	unit     string // its symbol where known, else as written
	conversion
	spoken string // the name of the quantity alone, where a place stood beside it
	guess  string // why it was not understood, or what may be meant
	err    error  // a unit of the wrong kind
}

// splitUnit cuts the unit in brackets off a heading.
func splitUnit(header string) (name, unit string) {
	header = strings.TrimSpace(header)
	for _, brackets := range []string{"[]", "()"} {
		if !strings.HasSuffix(header, brackets[1:]) {
			continue
		}
		if open := strings.LastIndex(header, brackets[:1]); open >= 0 {
			return strings.TrimSpace(header[:open]), strings.TrimSpace(header[open+1 : len(header)-1])
		}
	}
	return header, ""
}

// headings understands the names of columns against a plant, where there is one,
// and the rules of columns.csv.
type headings struct {
	plant   *rf.Plant
	rules   []ColumnRule
	places  map[string]string // spelling of a place by its lower case
	guesses map[string]string // what names may stand for that were not understood
}

func newHeadings(plant *rf.Plant, rules []ColumnRule) *headings {
	h := &headings{plant: plant, rules: rules, places: map[string]string{rf.MachinePlace: rf.MachinePlace}, guesses: map[string]string{}}
	if plant == nil {
		return h
	}
	for _, name := range plantPlaces(plant) {
		h.places[strings.ToLower(name)] = name
	}
	return h
}

func plantPlaces(plant *rf.Plant) []string {
	var names []string
	for _, s := range plant.Stations {
		names = append(names, s.Name)
		if s.WaterLoop != "" {
			names = append(names, s.WaterLoop)
		}
	}
	for _, s := range plant.Structures {
		names = append(names, s.Name, s.Loop())
	}
	for _, w := range plant.Waypoints {
		names = append(names, w.Name)
	}
	return names
}

// kindOf returns the spelling of a place and what kinds of place it is. Letter
// case does not count. Without a plant any name is a place of any kind.
func (h *headings) kindOf(place string) (string, rf.PlaceKind) {
	spelling, known := h.places[strings.ToLower(place)]
	switch {
	case h.plant == nil && place == "":
		return "", 0
	case h.plant == nil:
		if !known {
			spelling = place
			h.places[strings.ToLower(place)] = place
		}
		if spelling == rf.MachinePlace {
			return spelling, rf.OfMachine
		}
		return spelling, rf.OfStation | rf.OfStructure | rf.OfLoop | rf.OfWaypoint
	case !known:
		return place, 0
	}
	kind := h.plant.KindOf(spelling)
	if s, ok := h.plant.Structure(spelling); ok && s.WaterLoop == "" {
		kind |= rf.OfLoop // a structure with its water to itself
	}
	return spelling, kind
}

// read understands the heading of a column of the wide layout. unitBelow is what a
// units row says, empty where there is none.
func (h *headings) read(header, unitBelow string) heading {
	out := heading{text: header, conversion: conversion{scale: 1}}
	for _, rule := range h.rules {
		if place, ok := rule.Match(header); ok {
			h.apply(&out, place, rule)
			return out
		}
	}
	name, unitText := splitUnit(header)
	if unitText == "" {
		unitText = strings.TrimSpace(strings.Trim(unitBelow, "[]()"))
	}
	out.setUnit(unitText)
	place, quantity, ok := splitQuantity(name)
	if !ok {
		out.guess = h.meant(name)
		return out
	}
	h.settle(&out, place, quantity, unitText)
	return out
}

// readParts understands a reading whose place and quantity stand in columns of
// their own.
func (h *headings) readParts(place, quantityText, unitText string) heading {
	name, inBrackets := splitUnit(quantityText)
	if unitText == "" {
		unitText = inBrackets
	}
	out := heading{text: strings.TrimSpace(place + " " + quantityText), conversion: conversion{scale: 1}}
	out.setUnit(unitText)
	inner, quantity, ok := splitQuantity(name)
	if !ok || inner != "" {
		out.place, out.spoken = place, name
		out.guess = h.meant(strings.TrimSpace(place + " " + name))
		return out
	}
	h.settle(&out, place, quantity, unitText)
	return out
}

func (out *heading) setUnit(text string) {
	out.unit = text
	if u, ok := unitNamed(text); ok {
		out.unit = u.symbol
	}
}

// settle fits a place, a quantity and a unit together.
func (h *headings) settle(out *heading, placeText string, quantity rf.Quantity, unitText string) {
	if placeText == "" {
		placeText = h.placeWithoutName(quantity)
	}
	place, kind := h.kindOf(placeText)
	info, fits := quantity.InfoAt(kind)
	switch {
	case kind == 0 && placeText == "":
		out.guess = fmt.Sprintf("%s, but of which place? write the place before it", quantity)
		return
	case kind == 0:
		out.guess = fmt.Sprintf("%s, but the plant has no %s", quantity, placeText)
		if near := nearestName(placeText, plantPlaces(h.plant)); near != "" {
			out.guess += fmt.Sprintf(": did you mean %s?", near)
		}
		return
	case !fits:
		out.guess = fmt.Sprintf("%s does not belong to a place like %s", quantity, place)
		return
	}
	needless := info.Unit == "1" || info.Unit == "" || info.Form == rf.State
	unitOf, known := unitNamed(unitText)
	switch {
	case unitText == "" && needless:
		out.unit = info.Unit
	case unitText == "":
		out.guess = fmt.Sprintf("%s of %s, but its unit is not stated: write [%s] behind it, or name it in columns.csv", quantity, place, info.Unit)
		return
	case info.Form == rf.Text || info.Form == rf.State:
	case !known:
		out.guess = fmt.Sprintf("%s of %s, but %s is not a unit known here: write one of %s", quantity, place, unitText, strings.Join(symbolsOf(info.Dimension), ", "))
		return
	default:
		out.conversion, out.err = convert(unitOf, info)
	}
	out.place, out.quantity, out.info = place, quantity, info
}

// placeWithoutName returns the place of a quantity that a heading gives none for.
func (h *headings) placeWithoutName(quantity rf.Quantity) string {
	info, _ := quantity.Info()
	switch {
	case info.Of == rf.OfMachine:
		return rf.MachinePlace
	case h.plant == nil:
		return logPlace
	}
	return ""
}

// logPlace is the place of readings that name none, in a log without a plant.
const logPlace = "log"

// apply takes a column as a rule of columns.csv says.
func (h *headings) apply(out *heading, placeText string, rule ColumnRule) {
	if placeText == "" {
		placeText = rule.Place
	}
	unitText := rule.Unit
	if unitText == "" {
		if info, ok := rule.Quantity.Info(); ok {
			unitText = info.Unit
		}
	}
	out.setUnit(unitText)
	h.settle(out, placeText, rule.Quantity, unitText)
	if out.quantity == "" {
		out.guess = "columns.csv: " + out.guess
		return
	}
	scale := rule.Scale
	if scale == 0 {
		scale = 1
	}
	if scale == 1 && rule.Offset == 0 {
		return
	}
	if out.level {
		out.err = fmt.Errorf("columns.csv scales a level in %s: leave scale and offset empty", out.unit)
		return
	}
	out.offset += rule.Offset * out.scale
	out.scale *= scale
}

// splitQuantity splits a name into place and quantity: the longest run of last
// words that names a logged quantity.
func splitQuantity(name string) (place string, quantity rf.Quantity, ok bool) {
	words := strings.Fields(name)
	for first := max(0, len(words)-5); first < len(words); first++ {
		if q, ok := loggedQuantity(strings.Join(words[first:], "_")); ok {
			return strings.Join(words[:first], " "), q, true
		}
	}
	if at := strings.LastIndexAny(name, ".:/"); at > 0 {
		if q, ok := loggedQuantity(strings.Join(strings.Fields(name[at+1:]), "_")); ok {
			return strings.TrimSpace(name[:at]), q, true
		}
	}
	return "", "", false
}

// loggedQuantity returns the quantity of that name; letter case, and hyphens for
// underscores, do not count.
func loggedQuantity(text string) (rf.Quantity, bool) {
	q := rf.Quantity(strings.ReplaceAll(strings.ToLower(text), "-", "_"))
	info, ok := q.Info()
	return q, ok && !info.Derived
}

// partsOfNames parts a name into its words.
var partsOfNames = strings.NewReplacer(".", " ", ":", " ", "/", " ")

// guessesMost bounds the names for which a guess is looked for: nobody reads more.
const guessesMost = 2000

// meant guesses what a name that was not understood might stand for.
func (h *headings) meant(name string) string {
	guess, known := h.guesses[name]
	if !known && len(h.guesses) < guessesMost {
		guess = guessOf(name)
		h.guesses[name] = guess
	}
	return guess
}

func guessOf(name string) string {
	words := strings.Fields(partsOfNames.Replace(name))
	if len(words) == 0 {
		return ""
	}
	last := words[len(words)-1]
	place := strings.Join(words[:len(words)-1], " ")
	if near := nearestQuantity(last); near != "" {
		return "did you mean " + strings.TrimSpace(place+" "+near) + "?"
	}
	for _, cut := range lastUnderscores(name) { // S03_forward_power
		if near := nearestQuantity(name[cut+1:]); near != "" {
			return "did you mean " + name[:cut] + " " + near + "?"
		}
	}
	return ""
}

// lastUnderscores returns where the last underscores inside a name stand: as many as
// the name of a quantity may have, and one more.
func lastUnderscores(name string) []int {
	const most = 5
	var cuts []int
	for cut := len(name) - 2; cut > 0 && len(cuts) < most; cut-- {
		if name[cut] == '_' {
			cuts = append(cuts, cut)
		}
	}
	slices.Reverse(cuts)
	return cuts
}

func nearestQuantity(word string) string {
	return nearestName(strings.ToLower(word), quantityNames())
}

// bounds are the native values between which a reading is possible.
type bounds struct{ low, high float64 }

func (out *heading) bounds() bounds {
	if out.quantity == "" || out.info.Form == rf.Text || out.info.Name == "" {
		return bounds{math.Inf(-1), math.Inf(1)}
	}
	return bounds{out.info.Low, out.info.High}
}
