package ingest

import (
	"fmt"
	"sort"
	"strings"
	"unicode"
	"unicode/utf8"

	"dawncrest/rf"
)

// placeNameLimit keeps names short enough for a column on the screen.
const placeNameLimit = 40

// strangersCompared is to how many unknown names a known one that may be meant is
// searched for: beyond it the whole table is of another plant.
const strangersCompared = 100

// placeBook holds every place of a plant and where its name stood first, by the
// name in small letters: logs are read without regard to letter case.
type placeBook map[string]bookedPlace

type bookedPlace struct {
	name string
	kind rf.PlaceKind
	file string
	line int
}

// kindWords names a kind of place in messages.
var kindWords = map[rf.PlaceKind]string{
	rf.OfStation:   "a station",
	rf.OfStructure: "a structure",
	rf.OfLoop:      "a water loop",
	rf.OfWaypoint:  "a waypoint",
	rf.OfMachine:   "the whole machine",
}

// named returns the names of one kind of place, in order of the alphabet.
func (b placeBook) named(kind rf.PlaceKind) []string {
	var names []string
	for _, place := range b {
		if place.kind&kind != 0 {
			names = append(names, place.name)
		}
	}
	sort.Strings(names)
	return names
}

// kindWord names what a place is in the first place: a structure also where it has
// a water loop to itself.
func kindWord(kind rf.PlaceKind) string {
	if kind&rf.OfStructure != 0 {
		return kindWords[rf.OfStructure]
	}
	return kindWords[kind]
}

// newPlace returns the name of a place that the entry introduces, and notes it
// in the book. A water loop may be introduced any number of times.
func (p *plantReader) newPlace(e entry, kind rf.PlaceKind) string {
	if trouble := nameTrouble(e.text); trouble != "" && e.given() {
		p.fault(e, quoted(e.text)+" "+trouble, "write a short name as it stands in the log's headings")
		return ""
	}
	name, ok := p.words(e)
	if !ok {
		return ""
	}
	if strings.EqualFold(name, rf.MachinePlace) {
		p.fault(e, name+" stands for the whole machine", "give the place another name")
		return ""
	}
	old, taken := p.places[strings.ToLower(name)]
	switch {
	case taken && old.name != name:
		p.fault(e, fmt.Sprintf("%s differs from %s (%s:%d) in letter case only", e.shown(), old.name, old.file, old.line), "give each place its own name")
		return ""
	case taken && old.kind != kind:
		right := "give each place its own name"
		if kind == rf.OfLoop && old.kind == rf.OfStructure {
			right = "leave it empty where a structure has its water to itself, else give the loop its own name"
		}
		p.fault(e, fmt.Sprintf("%s is already %s (%s:%d)", e.shown(), kindWord(old.kind), old.file, old.line), right)
		return ""
	case taken && kind != rf.OfLoop:
		p.fault(e, fmt.Sprintf("%s stands already in line %d", e.shown(), old.line), "give each place its own name")
		return ""
	case !taken:
		p.places[strings.ToLower(name)] = bookedPlace{name, kind, e.file, e.line}
	}
	return name
}

// oldPlace returns the name of a place that an entry refers to, with its kind; 0
// where the plant has no such place or the entry is empty.
func (p *plantReader) oldPlace(e entry, kinds rf.PlaceKind) (string, rf.PlaceKind) {
	name, ok := p.words(e)
	if !ok {
		return "", 0
	}
	if name == rf.MachinePlace && kinds&rf.OfMachine != 0 {
		return name, rf.OfMachine
	}
	old, ok := p.places[strings.ToLower(name)]
	if ok = ok && old.name == name; ok && old.kind&kinds != 0 {
		return name, old.kind
	} else if ok {
		p.fault(e, fmt.Sprintf("%s is %s", e.shown(), kindWord(old.kind)), "name "+kindsInWords(kinds))
		return "", 0
	}
	if !p.allKnown(kinds) {
		return "", 0
	}
	right := "name " + kindsInWords(kinds)
	if p.strangers++; p.strangers <= strangersCompared {
		right = didYouMean(name, p.places.named(kinds), right)
	}
	p.fault(e, e.shown()+" is not in the plant", right)
	return "", 0
}

// allKnown reports whether every place of the kinds given is in the book, so that
// a name not in it is wrong.
func (p *plantReader) allKnown(kinds rf.PlaceKind) bool {
	return (kinds&(rf.OfStation|rf.OfLoop) == 0 || p.stationsWhole) &&
		(kinds&(rf.OfStructure|rf.OfLoop) == 0 || p.structuresWhole) &&
		(kinds&rf.OfWaypoint == 0 || p.waypointsWhole)
}

// anyPlace is every kind of place.
const anyPlace = rf.OfStation | rf.OfStructure | rf.OfLoop | rf.OfWaypoint | rf.OfMachine

// kindsOf returns the kinds of place at which a quantity can stand.
func kindsOf(q rf.Quantity) rf.PlaceKind {
	var kinds rf.PlaceKind
	for kind := range kindWords {
		if _, ok := q.InfoAt(kind); ok {
			kinds |= kind
		}
	}
	return kinds
}

func kindsInWords(kinds rf.PlaceKind) string {
	if kinds == anyPlace {
		return "a place of the plant"
	}
	var words []string
	for kind := rf.OfStation; kind <= rf.OfMachine; kind <<= 1 {
		if kinds&kind != 0 {
			words = append(words, kindWords[kind])
		}
	}
	return strings.Join(words, " or ")
}

// nameTrouble says why a text cannot be the name of a place, empty where it can:
// it must stand unharmed before the quantity in a heading, "S03 forward_power
// [MW]", and on one line of a screen.
func nameTrouble(name string) string {
	switch {
	case strings.TrimSpace(name) != name:
		return "has a blank before or after it"
	case strings.Contains(name, "  "):
		return "has two blanks in a row"
	case strings.ContainsAny(name, `[]",;|*`):
		return `holds one of [ ] " , ; | * which headings give another meaning`
	case strings.ContainsFunc(name, unprintable):
		return "holds a character that does not print"
	case utf8.RuneCountInString(name) > placeNameLimit:
		return fmt.Sprintf("is longer than %d letters", placeNameLimit)
	}
	return ""
}

func unprintable(r rune) bool { return !unicode.IsPrint(r) }
