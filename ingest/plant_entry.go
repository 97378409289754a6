package ingest

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"dawncrest/rf"
)

// entrySpec describes one column of a plant table, or one key of plant.toml.
type entrySpec struct {
	name     string
	optional bool    // the column may be left out of the table, and its entries empty
	blank    bool    // the column must stand, its entries may be empty
	low      float64 // physical range; equal limits: not a number
	high     float64
	percent  bool   // a fraction that people tend to write in percent
	about    string // what to write, as it follows the word "write"
}

// entry is one cell of a plant table, or one value of plant.toml, as it stood
// there. The zero number that a CSV decoder makes of an empty cell, and the 1.5
// it makes of "1,5", are why it keeps the text: nothing is converted before it
// is checked.
type entry struct {
	text   string
	quoted bool // a string of plant.toml
	dead   bool // its trouble was told already: the column is missing or doubled
	file   string
	line   int
	spec   *entrySpec
}

// UnmarshalCSV takes the text of a cell. It never fails: the checks come after,
// so that one bad cell does not hide the next.
func (e *entry) UnmarshalCSV(text string) error {
	e.text = text
	return nil
}

// MarshalCSV returns the text of a cell.
func (e entry) MarshalCSV() (string, error) { return e.text, nil }

// notFilledIn marks an entry that a person must fill in. A guess may follow it.
const notFilledIn = "?"

// given reports whether there is anything to take from the entry.
func (e entry) given() bool { return !e.dead && strings.TrimSpace(e.text) != "" }

// shown returns the entry as it can stand in a message.
func (e entry) shown() string { return shownText(strings.TrimSpace(e.text)) }

// shownText makes text from a file fit for one line of a terminal: it is cut
// where it is long, and quoted where a character of it would not print.
func shownText(text string) string {
	q := quoted(text)
	if bare := q[1 : len(q)-1]; strings.HasPrefix(text, strings.TrimSuffix(bare, "...")) {
		return bare
	}
	return q
}

// quoted returns text in quotes, cut where it is long.
func quoted(text string) string {
	const limit = 48
	if runes := []rune(text); len(runes) > limit {
		text = string(runes[:limit]) + "..."
	}
	return strconv.Quote(text)
}

// fault notes what is wrong with an entry.
func (p *plantReader) fault(e entry, wrong, right string) {
	p.faultAt(e.file, e.line, e.spec.name, wrong, right)
}

func (p *plantReader) faultAt(file string, line int, column, wrong, right string) {
	p.faults = append(p.faults, PlantFault{File: file, Row: line, Column: column, Wrong: wrong, Right: right})
}

// words returns the trimmed text of an entry. The second result is false where
// there is nothing to take from it; a fault was noted where there should be.
func (p *plantReader) words(e entry) (string, bool) {
	text := strings.TrimSpace(e.text)
	guess, marked := strings.CutPrefix(text, notFilledIn)
	switch {
	case e.dead:
		return "", false
	case text == "" && (e.spec.optional || e.spec.blank):
		return "", false
	case text == "":
		p.fault(e, "is empty", "write "+e.spec.about)
		return "", false
	case marked && strings.TrimSpace(guess) != "":
		p.fault(e, "not filled in yet", fmt.Sprintf("%s is only a guess: check it and take the question mark away", shownText(strings.TrimSpace(guess))))
		return "", false
	case marked:
		p.fault(e, "not filled in yet", "write "+e.spec.about)
		return "", false
	}
	return text, true
}

// number returns the entry as a number, NaN where it gives none.
func (p *plantReader) number(e entry) float64 {
	text, ok := p.words(e)
	if !ok {
		return math.NaN()
	}
	v, err := plainNumber(text)
	if err != nil {
		p.fault(e, e.shown()+" is not a number", insteadOf(text))
		return math.NaN()
	}
	if e.quoted {
		p.fault(e, quoted(text)+" stands in quotes", "write "+e.shown()+" without them")
		return math.NaN()
	}
	switch {
	case v > e.spec.high:
		p.fault(e, e.shown()+" is over "+plain(e.spec.high), e.spec.instead(v))
	case v < e.spec.low:
		p.fault(e, e.shown()+" is below "+plain(e.spec.low), e.spec.instead(v))
	default:
		return v
	}
	return math.NaN()
}

// need returns the number of an entry that may be empty elsewhere and not here.
func (p *plantReader) need(e entry, why string) float64 {
	if !e.dead && !e.given() {
		p.fault(e, "is empty", why+": write "+e.spec.about)
		return math.NaN()
	}
	return p.number(e)
}

// numberOr returns the number of an entry, and otherwise where it is empty.
func (p *plantReader) numberOr(e entry, otherwise float64) float64 {
	if !e.given() {
		return otherwise
	}
	return p.number(e)
}

// plainNumber reads digits, sign, decimal point and exponent, and none of the
// other spellings that strconv takes: hexadecimal, "inf", "nan".
func plainNumber(text string) (float64, error) {
	if strings.Trim(text, "0123456789+-.eE") != "" || text == "" {
		return 0, strconv.ErrSyntax
	}
	return strconv.ParseFloat(text, 64)
}

// insteadOf says how a text that is not a number should have been written.
func insteadOf(text string) string {
	point := strings.Replace(text, ",", ".", 1)
	if _, err := plainNumber(point); err == nil {
		if before, after, _ := strings.Cut(text, ","); len(after) == 3 {
			return "write " + shownText(point) + " with a decimal point, or " + shownText(before+after) + " without a mark for thousands"
		}
		return "write " + shownText(point) + " with a decimal point"
	}
	if first, _, more := strings.Cut(text, " "); more {
		if _, err := plainNumber(first); err == nil {
			return "write " + shownText(first) + " alone, in the unit of the heading"
		}
	}
	return "write digits with a decimal point, or leave it empty where the column allows that"
}

// instead says what to write for a number outside the physical range.
func (s *entrySpec) instead(v float64) string {
	if s.percent && v > 1 && v <= 100 {
		return fmt.Sprintf("write %.4g for %.4g %%", v/100, v)
	}
	return fmt.Sprintf("write %s, %s to %s", s.about, plain(s.low), plain(s.high))
}

// plain returns a bound as people write it: 1000000, not 1e+06.
func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// keyword returns an entry that must be one of a few words, empty where it is
// none of them.
func (p *plantReader) keyword(e entry, allowed ...string) string {
	text, ok := p.words(e)
	if !ok {
		return ""
	}
	if slices.Contains(allowed, text) {
		return text
	}
	p.fault(e, e.shown()+" is not a word known here", didYouMean(text, allowed, ""))
	return ""
}

// quantity returns the description of the quantity that an entry names. The second
// result is false where it names none.
func (p *plantReader) quantity(e entry) (rf.Info, bool) {
	text, ok := p.words(e)
	if !ok {
		return rf.Info{}, false
	}
	info, ok := rf.Quantity(text).Info()
	if !ok {
		p.fault(e, e.shown()+" is not a quantity", didYouMean(text, quantityNames(), "write it as in the log's headings, such as forward_power"))
	}
	return info, ok
}

func quantityNames() []string {
	var names []string
	for _, info := range rf.Quantities() {
		names = append(names, string(info.Name))
	}
	return names
}
