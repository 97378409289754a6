package sampledata

import (
	"math"
	"math/rand/v2"
	"slices"
)

// stop is a span in which a station makes no RF, and how it comes back.
type stop struct {
	fromS, toS float64
	riseS      float64 // until the voltage is full again
	trip       bool
	highOff    bool   // the high voltage is off too
	reason     string // of a trip
}

var tripReasons = []struct {
	reason  string
	highOff bool
}{
	{"reflected power", false},
	{"vacuum", false},
	{"waveguide arc", false},
	{"modulator overcurrent", true},
	{"klystron body current", true},
}

func newTrip(r *rand.Rand, atS float64) stop {
	why := tripReasons[r.IntN(len(tripReasons))]
	atS = math.Round(atS)
	return stop{fromS: atS, toS: atS + math.Round(between(r, 20, 120)), riseS: between(r, 20, 60), trip: true,
		highOff: why.highOff, reason: why.reason}
}

// drawStops draws the trips of every day, standby, warm-up and mains dip, and
// takes over what is planned.
func (n *night) drawStops() {
	lengthS := n.scenario.Length.Seconds()
	n.stops = make([][]stop, len(n.stations))
	for i, s := range n.stations {
		r := n.chance("trips " + s.Name)
		count := min(2, poisson(r, s.TripsPerDay*lengthS/86400))
		for range count {
			trip := newTrip(r, r.Float64()*lengthS)
			if n.scenario.plays(OrdinaryTrips) {
				n.stops[i] = append(n.stops[i], trip)
			}
		}
	}
	if n.scenario.plays(StationStandby) {
		r := n.chance("standby")
		i := r.IntN(len(n.stations) - 1)
		fromS := math.Round(between(r, 0.3, 0.7) * lengthS)
		n.stops[i] = append(n.stops[i], stop{fromS: fromS, toS: fromS + 3600, riseS: 120, highOff: true})
	}
	if n.scenario.plays(WarmUpStart) {
		n.starts = -60 * between(n.chance("warm-up"), 1, 6)
	}
	if n.scenario.plays(MainsDip) {
		r := n.chance("dip")
		n.dip(r, between(r, 0.2, 0.8)*lengthS, 0.7)
	}
	for _, p := range n.machine.Planned {
		off := stop{fromS: p.From.Sub(n.scenario.Start).Seconds(), toS: p.To.Sub(n.scenario.Start).Seconds(), riseS: 120, highOff: true}
		for i, s := range n.stations {
			if p.Place == "" || p.Place == s.Name {
				n.stops[i] = append(n.stops[i], off)
			}
		}
	}
}

// dip trips a share of the stations in the same second.
func (n *night) dip(r *rand.Rand, atS, share float64) {
	atS = math.Round(atS)
	count := int(math.Round(share * float64(len(n.stations))))
	for _, i := range r.Perm(len(n.stations))[:min(count, len(n.stations))] {
		trip := newTrip(r, atS)
		trip.highOff, trip.reason = true, "mains undervoltage"
		n.stops[i] = append(n.stops[i], trip)
	}
}

func beginCommonTrip(n *night, f *playedFault) error {
	n.dip(n.chance("common trip "+f.Start.String()), f.fromS, f.Size/100)
	return nil
}

// beginTrips adds trips that come in clusters: one makes the next more likely.
func beginTrips(n *night, f *playedFault) error {
	r := n.chance("trips fault " + f.Place)
	for left := int(math.Round(f.Size)); left > 0; {
		atS := f.fromS + r.Float64()*f.rampS
		for range min(left, 1+r.IntN(3)) {
			trip := newTrip(r, atS)
			trip.reason, trip.highOff = tripReasons[0].reason, false
			n.stops[f.station] = append(n.stops[f.station], trip)
			atS = trip.toS + between(r, 90, 400)
			left--
		}
	}
	return nil
}

// sortStops puts the stops of each station in order and lets none begin before
// the one before it has been over for a minute: a station that is off cannot
// trip.
func (n *night) sortStops() {
	for i, stops := range n.stops {
		slices.SortStableFunc(stops, func(a, b stop) int {
			switch {
			case a.fromS < b.fromS:
				return -1
			case a.fromS > b.fromS:
				return 1
			}
			return 0
		})
		for k := 1; k < len(stops); k++ {
			if free := stops[k-1].toS + 60; stops[k].fromS < free {
				stops[k].toS += math.Round(free - stops[k].fromS)
				stops[k].fromS = math.Round(free)
			}
		}
		n.stops[i] = stops
	}
}

// runs tells whether a station makes RF at an instant, and which share of its
// voltage it has reached; highOff that the high voltage is off too.
func (n *night) runs(station int, seconds float64) (on bool, rise float64, highOff bool) {
	if seconds < n.starts {
		return false, 0, true
	}
	rise = riseTo(seconds-n.starts, 120)
	for _, s := range n.stops[station] {
		if seconds < s.fromS {
			break
		}
		if seconds < s.toS {
			return false, 1, s.highOff
		}
		rise = min(rise, riseTo(seconds-s.toS, s.riseS))
	}
	return true, rise, false
}

// riseTo is the share of the voltage so long after switching on.
func riseTo(seconds, fullS float64) float64 {
	if seconds >= fullS {
		return 1
	}
	return 0.8 + 0.2*seconds/fullS
}

// trips counts the trips of a station up to an instant, and names the last one
// that happened after sinceS.
func (n *night) trips(station int, sinceS, seconds float64) (count int, reason string) {
	for _, s := range n.stops[station] {
		if s.fromS > seconds {
			break
		}
		if s.trip {
			count++
			if s.fromS > sinceS {
				reason = s.reason
			}
		}
	}
	return count, reason
}

func poisson(r *rand.Rand, mean float64) int {
	limit, product := math.Exp(-mean), r.Float64()
	count := 0
	for product > limit {
		count++
		product *= r.Float64()
	}
	return count
}
