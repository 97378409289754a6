package ingest

import (
	"math"
	"sort"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

// reasonDelay is how long after a trip its reason may be logged.
const reasonDelay = time.Minute

// events gathers what cells would blur: trips and the edges of RF on and off.
type events struct {
	list    []series.Event
	state   map[int]change      // last one of each channel
	reasons map[string][]spoken // by place, each time the words changed
	counted map[string]bool     // places whose trips are counted
	falls   map[string]int      // counters that fell, by place
}

func newEvents() *events {
	return &events{state: map[int]change{}, reasons: map[string][]spoken{}, counted: map[string]bool{}, falls: map[string]int{}}
}

// stood notes how a counter or a state stood before the events that are wanted.
func (e *events) stood(channel int, c change) { e.state[channel] = c }

// take notes a reading of a counter or a state. Rows that come late make no event:
// what stood before them was told already.
func (e *events) take(channel int, sig *signal, c change) {
	last, known := e.state[channel]
	if known && c.at < last.at {
		return
	}
	e.state[channel] = c
	counter := sig.info.Form == rf.Counter
	if counter {
		e.counted[sig.place] = true
	}
	if !known || c.value == last.value {
		return
	}
	event := series.Event{At: utc(c.at), Place: sig.place, Count: 1}
	switch {
	case counter && c.value < last.value:
		e.falls[sig.place]++ // started again: what it counts from here on is not known to be new
		return
	case counter:
		event.Kind, event.Count = series.Trip, int(math.Round(c.value-last.value))
	case c.value > 0:
		event.Kind = series.RFOn
	default:
		event.Kind = series.RFOff
	}
	e.list = append(e.list, event)
}

// speak notes a change of the words in a column of trip reasons.
func (e *events) speak(place string, s spoken) {
	said := e.reasons[place]
	if n := len(said); n > 0 && (said[n-1].text == s.text || s.at < said[n-1].at) {
		return
	}
	e.reasons[place] = append(said, s)
}

// finish returns the events in order of time, trips with their reasons. Where no
// counter tells of trips, each new reason is one.
func (e *events) finish() []series.Event {
	for i := range e.list {
		if e.list[i].Kind == series.Trip {
			e.list[i].Note = reasonOf(e.reasons[e.list[i].Place], e.list[i].At.UnixNano())
		}
	}
	for place, said := range e.reasons {
		if e.counted[place] {
			continue
		}
		for _, s := range said {
			if s.text != "" {
				e.list = append(e.list, series.Event{At: utc(s.at), Kind: series.Trip, Place: place, Count: 1, Note: s.text})
			}
		}
	}
	sort.SliceStable(e.list, func(i, j int) bool {
		a, b := e.list[i], e.list[j]
		if !a.At.Equal(b.At) {
			return a.At.Before(b.At)
		}
		return a.Place < b.Place
	})
	return e.list
}

// reasonOf returns the words that stand beside a trip, or that follow it closely.
func reasonOf(said []spoken, at int64) string {
	next := sort.Search(len(said), func(i int) bool { return said[i].at > at })
	if next > 0 && said[next-1].text != "" {
		return said[next-1].text
	}
	if next < len(said) && said[next].at-at <= int64(reasonDelay) {
		return said[next].text
	}
	return ""
}
