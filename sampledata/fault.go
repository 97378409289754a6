package sampledata

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// Fault is one thing that goes wrong in a night.
type Fault struct {
	Kind     string
	Place    string
	Quantity string        // where a kind has several readings to choose from; empty: its first
	Size     float64       // in the unit of its kind
	Start    time.Time     // zero: at Clock, else After
	Clock    string        // hh:mm in the machine's zone: the first one of the night
	After    time.Duration // from the log's start; 0: a quarter of the night
	Ramp     time.Duration // until it has its full size; 0: a step
}

// FaultKind describes one kind of fault.
type FaultKind struct {
	Name       string
	Unit       string // of its size
	Default    float64
	Ramp       time.Duration // usual one
	At         string        // the places it can be at, in words
	About      string
	Quantities []string // readings to choose from, first one the default
	anyReading bool     // any other reading of the place may be named too
	places     placeKind
	begin      starter
}

type placeKind uint8

const (
	atStation placeKind = 1 << iota
	atStructure
	atLoop
	atMachine
)

// FaultKinds returns every kind of fault that can be played.
func FaultKinds() []FaultKind { return slices.Clone(faultKinds) }

func faultKind(name string) (FaultKind, bool) {
	i := slices.IndexFunc(faultKinds, func(k FaultKind) bool { return k.Name == name })
	if i < 0 {
		return FaultKind{}, false
	}
	return faultKinds[i], true
}

// playedFault is a fault on its way through a night.
type playedFault struct {
	Fault
	kind       FaultKind
	fromS      float64 // after the log's start
	rampS      float64
	station    int // index of its place, -1 where it is none
	structure  int
	loop       int
	byOperator bool // a nuisance, not asked for
}

// grown tells how much of its full size a fault has, 0 to 1.
func (f *playedFault) grown(seconds float64) float64 {
	switch {
	case seconds < f.fromS:
		return 0
	case seconds >= f.fromS+f.rampS:
		return 1
	}
	return (seconds - f.fromS) / f.rampS
}

// admit checks a fault against the machine and the night and adds it.
func (n *night) admit(f Fault, byOperator bool) error {
	kind, ok := faultKind(f.Kind)
	if !ok {
		return fmt.Errorf("fault %q: no such kind; there are %s", f.Kind, kindNames())
	}
	quantity, err := n.choose(kind, f)
	if err != nil {
		return fmt.Errorf("fault %s@%s: %w", f.Kind, f.Place, err)
	}
	f.Quantity = quantity
	if f.Start.IsZero() {
		if f.Start, err = n.startOf(f); err != nil {
			return fmt.Errorf("fault %s@%s: %w", f.Kind, f.Place, err)
		}
	}
	p := &playedFault{Fault: f, kind: kind, byOperator: byOperator, station: -1, structure: -1, loop: -1}
	p.fromS = f.Start.Sub(n.scenario.Start).Seconds()
	p.rampS = f.Ramp.Seconds()
	place := n.find(f.Place, p)
	if place&kind.places == 0 {
		return fmt.Errorf("fault %s@%s: no such place of that kind in %s; it belongs to a %s", f.Kind, f.Place, n.machine.Name, kind.At)
	}
	if !(f.Size > -1e6 && f.Size < 1e6) {
		return fmt.Errorf("fault %s@%s: size %v is no usable number", f.Kind, f.Place, f.Size)
	}
	if err := kind.begin(n, p); err != nil {
		return fmt.Errorf("fault %s@%s: %w", f.Kind, f.Place, err)
	}
	n.faults = append(n.faults, p)
	return nil
}

// startOf returns when a fault begins that does not say so by a date.
func (n *night) startOf(f Fault) (time.Time, error) {
	switch {
	case f.Clock != "":
		zone, err := time.LoadLocation(n.machine.TimeZone)
		if err != nil {
			return time.Time{}, err
		}
		clock, err := time.Parse("15:04", f.Clock)
		if err != nil {
			return time.Time{}, fmt.Errorf("time %q is not hh:mm", f.Clock)
		}
		from := n.scenario.Start.In(zone)
		at := time.Date(from.Year(), from.Month(), from.Day(), clock.Hour(), clock.Minute(), 0, 0, zone)
		if at.Before(from) {
			at = at.AddDate(0, 0, 1)
		}
		if at.After(n.scenario.end()) {
			return time.Time{}, fmt.Errorf("time %s (%s) lies outside the night, %s to %s", f.Clock, zone,
				from.Format(time.DateTime), n.scenario.end().In(zone).Format(time.DateTime))
		}
		return at.UTC(), nil
	case f.After > 0:
		return n.scenario.Start.Add(f.After), nil
	}
	return n.scenario.Start.Add(n.scenario.Length / 4), nil
}

// choose returns the reading that a fault is about: the one it names, else the
// first of its kind's list that its place has.
func (n *night) choose(kind FaultKind, f Fault) (string, error) {
	if f.Quantity == "" {
		for _, q := range kind.Quantities {
			if n.reads(f.Place, q) {
				return q, nil
			}
		}
		return "", nil
	}
	switch {
	case len(kind.Quantities) == 0 && !kind.anyReading:
		return "", fmt.Errorf("it has no reading to choose, %q was given", f.Quantity)
	case len(kind.Quantities) > 0 && !kind.anyReading && !slices.Contains(kind.Quantities, f.Quantity):
		return "", fmt.Errorf("reading %q: must be one of %s", f.Quantity, strings.Join(kind.Quantities, ", "))
	case !n.reads(f.Place, f.Quantity):
		return "", fmt.Errorf("%s has no reading %q", f.Place, f.Quantity)
	}
	return f.Quantity, nil
}

// find tells what kinds of place a name is.
func (n *night) find(place string, p *playedFault) placeKind {
	var kinds placeKind
	if place == "machine" {
		kinds |= atMachine
	}
	if i, ok := n.machine.station(place); ok {
		p.station = i
		kinds |= atStation
	}
	if i, ok := n.machine.structure(place); ok {
		p.structure = i
		kinds |= atStructure
	}
	if i := slices.Index(n.loops, place); i >= 0 {
		p.loop = i
		kinds |= atLoop
	}
	return kinds
}

func kindNames() string {
	var names []string
	for _, k := range faultKinds {
		names = append(names, k.Name)
	}
	return strings.Join(names, ", ")
}
