package ingest

import (
	"math"
	"sync"

	"dawncrest/rf"
)

// signal is one series of readings in a file: a column, or one quantity at one
// place in the tidy and long layouts. Signals that are not understood have no
// channel; they are read for the account of the file alone.
type signal struct {
	heading
	column  int // of the header in the wide layout, else -1
	channel int // in the night; -1: none
}

// treatment is what the inner loop must know of a signal, kept small.
type treatment struct {
	low, high     float64 // as written: readings between these need no second look
	scale, offset float64
	bend          float64 // how far apart readings of a cell may lie before one is brought nearer by whole turns
	special       special
}

// allAt reports whether a counter or state stood at one value in all readings.
func (t *treatment) allAt(readings []float64, value float64) bool {
	for _, v := range readings {
		if v*t.scale+t.offset != value {
			return false
		}
	}
	return true
}

// special marks readings that need more than a scale and a range.
type special uint8

const (
	isLevel     special = 1 << iota // decibel
	isMagnitude                     // a negative reading is taken by its size
	isStep                          // each change of value is an event: counters and states
	isOpen                          // no range that number codes for "no value" would miss
	isState                         // on or off, also in words
	isReason                        // words
)

// halfTurn is half of the circle in the native unit of angles.
const halfTurn = 180

func (s *signal) treatment(codes []float64) treatment {
	t := treatment{scale: s.scale, offset: s.offset, bend: math.Inf(1)}
	if s.level {
		t.special |= isLevel
	}
	if s.info.Magnitude {
		t.special |= isMagnitude
	}
	switch s.info.Form {
	case rf.Angle:
		t.bend = halfTurn
	case rf.Counter:
		t.special |= isStep
	case rf.State:
		t.special |= isStep | isState
	case rf.Text:
		t.special |= isReason
	}
	r := s.bounds()
	if r.high-r.low > 1e4 && s.info.Form != rf.Counter {
		t.special |= isOpen
	}
	t.low, t.high = s.quickRange(r, t.special)
	if codes != nil {
		t.low, t.high = 1, -1
	}
	return t
}

// quickRange returns the readings, as they are written, that are within the
// physical range beyond doubt and that nothing else applies to; none where every
// reading needs a second look. It is a little narrower than the range itself, so
// that rounding decides nothing.
func (s *signal) quickRange(r bounds, special special) (from, to float64) {
	if special&(isLevel|isReason) != 0 || s.scale == 0 {
		return 1, -1
	}
	const narrower = 1e-9
	from, to = (r.low-s.offset)/s.scale, (r.high-s.offset)/s.scale
	if from > to {
		from, to = to, from
	}
	from += math.Abs(from) * narrower
	to -= math.Abs(to) * narrower
	if special&isMagnitude != 0 {
		from = max(from, 0)
	}
	if special&isOpen != 0 {
		from, to = max(from, -noCodeBelow), min(to, noCodeBelow)
	}
	return from, to
}

// noValueCodes are numbers that loggers write where they have no value, told from
// readings where no physical range tells them: -9999 and -99999 (common practice),
// -999.25 (well logs), 9.9E+37 and 9.91E+37 (IEEE 488.2 instruments: infinity and
// not a number).
var noValueCodes = [...]float64{-9999, -99999, -999.25, 9.9e37, 9.91e37, -9.9e37}

// noCodeBelow is a number above which, in size, all codes for no value lie.
const noCodeBelow = 999

func isNoValueCode(v float64) bool {
	for _, code := range noValueCodes {
		if v == code {
			return true
		}
	}
	return false
}

// signals is the book of all signals of one file, shared by those who parse it.
type signals struct {
	mu         sync.Mutex
	list       []*signal
	treatments []treatment
	bounds     []bounds
	groups     map[string]*group // of the tidy and long layouts, by what names them
	byKey      []*group
	booked     map[headingName]int32 // the first of the list by heading, where a file has several headers
	indexed    int                   // how many these are
	names      *headings
	channelOf  func(*signal) int
	limit      int
	codes      []float64 // numbers that the user says stand for no value
	open       bool      // signals that are not understood become channels too
}

// group is the signals that one row of a file carries.
type group struct {
	key     int     // numbers the groups of a file
	signals []int32 // by value column; -1: the column carries none
}

// add books a signal and returns its number.
func (b *signals) add(s *signal) int32 {
	if b.open && s.quantity == "" {
		s.open()
	}
	s.channel = -1
	if s.quantity != "" && s.err == nil {
		s.channel = b.channelOf(s)
	}
	b.list = append(b.list, s)
	b.treatments = append(b.treatments, s.treatment(b.codes))
	b.bounds = append(b.bounds, s.bounds())
	return int32(len(b.list) - 1)
}

// rebook books a signal again after it was opened.
func (b *signals) rebook(number int) {
	b.list[number].channel = b.channelOf(b.list[number])
	b.treatments[number] = b.list[number].treatment(b.codes)
	b.bounds[number] = b.list[number].bounds()
}

// open takes a signal that is not understood as it stands: under its own name, in
// its own unit, without a range.
func (s *signal) open() {
	name, _ := splitUnit(s.text)
	if s.spoken != "" {
		name, _ = splitUnit(s.spoken)
	}
	if s.place == "" {
		s.place = logPlace
	}
	s.quantity, s.guess = rf.Quantity(name), ""
	s.info = rf.Info{Name: s.quantity, Unit: s.unit, Low: math.Inf(-1), High: math.Inf(1), Title: name}
	if u, ok := unitNamed(s.unit); ok && u.symbol == "deg" {
		s.info.Form = rf.Angle
	}
}

// under returns the signal that an earlier header of the file gave the same heading,
// -1 where there is none.
func (b *signals) under(read heading, later bool) int32 {
	if !later {
		return -1
	}
	if b.booked == nil {
		b.booked = map[headingName]int32{}
	}
	for ; b.indexed < len(b.list); b.indexed++ {
		b.booked[b.list[b.indexed].heading.name()] = int32(b.indexed)
	}
	if number, ok := b.booked[read.name()]; ok {
		return number
	}
	return -1
}

// headingName is what two headings have in common that mean the same.
type headingName struct{ text, spoken, place, unit string }

func (h heading) name() headingName { return headingName{h.text, h.spoken, h.place, h.unit} }

// group returns the group of that name, made by create where it is new; nil where
// the file would have too many signals.
func (b *signals) group(name string, create func(*group)) *group {
	b.mu.Lock()
	defer b.mu.Unlock()
	g, ok := b.groups[name]
	if !ok && len(b.list) < b.limit {
		g = &group{key: len(b.groups)}
		create(g)
		b.groups[name] = g
		b.byKey = append(b.byKey, g)
	}
	return g
}

// snapshot returns how all signals booked so far are to be treated, and the number
// of groups.
func (b *signals) snapshot() ([]treatment, []bounds, int) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.treatments, b.bounds, len(b.byKey)
}

// all returns the signals booked so far.
func (b *signals) all() []*signal {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.list
}

// signalsOf returns the signals of the group of that key.
func (b *signals) signalsOf(key int, whole *group) []*signal {
	b.mu.Lock()
	defer b.mu.Unlock()
	g := whole
	if g == nil {
		g = b.byKey[key]
	}
	var out []*signal
	for _, number := range g.signals {
		if number >= 0 {
			out = append(out, b.list[number])
		}
	}
	return out
}
