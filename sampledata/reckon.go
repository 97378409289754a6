package sampledata

import (
	"fmt"
	"math"
	"slices"
)

// truth reckons what happened by following the night twice: as it is, and for
// each fault as it would have been without it.
func (l *Linac) truth(played *night) (Truth, error) {
	s := played.scenario
	n, err := l.newNight(s)
	if err != nil {
		return Truth{}, err
	}
	is := n.follow()
	t := Truth{Machine: l.machine.Name, Seed: s.Seed, From: s.Start.UTC(), To: s.end().UTC(), Faults: []FaultTruth{}}
	for i, st := range l.stations {
		row := StationTruth{
			Station:      st.Name,
			FirstGainMeV: known(first(is.stations[i], gain)), LastGainMeV: known(last(is.stations[i], gain)),
			Trips: tripsIn(n.stops[i], s.Length.Seconds()),
		}
		if st.compressed() {
			row.FirstDetuning, row.LastDetuning = known(first(is.stations[i], detuning)), known(last(is.stations[i], detuning))
		}
		t.Stations = append(t.Stations, row)
	}
	for i, st := range l.structures {
		t.Structures = append(t.Structures, StructureTruth{
			Structure:     st.Name,
			FirstDetuning: known(first(is.structures[i], detuning)), LastDetuning: known(last(is.structures[i], detuning)),
			WaterChangeK: known(last(is.structures[i], detuning) / st.hidden.kHzPerK),
			FirstGainMeV: known(first(is.structures[i], gain)), LastGainMeV: known(last(is.structures[i], gain)),
		})
	}
	for i, w := range l.machine.Waypoints {
		t.Waypoints = append(t.Waypoints, WaypointTruth{
			Waypoint:       w.Name,
			FirstEnergyMeV: known(first(is.waypoints[i], gain)), LastEnergyMeV: known(last(is.waypoints[i], gain)),
		})
	}
	for i, f := range n.faults {
		row, err := l.faultTruth(n, i, is)
		if err != nil {
			return Truth{}, fmt.Errorf("fault %s@%s: %w", f.Kind, f.Place, err)
		}
		t.Faults = append(t.Faults, row)
	}
	return t, nil
}

func (l *Linac) faultTruth(n *night, at int, is history) (FaultTruth, error) {
	f := n.faults[at]
	row := FaultTruth{Kind: f.Kind, Place: f.Place, Quantity: f.Quantity, Size: f.Size, Unit: f.kind.Unit,
		Start: f.Start.UTC(), RampMin: f.Ramp.Minutes(), ByOperator: f.byOperator}
	without, err := l.newNight(n.scenario)
	if err != nil {
		return FaultTruth{}, err
	}
	without.forget(at)
	was := without.follow()

	if stations := l.compressorsAt(f); len(stations) > 0 {
		row.DetuningKHz = known(mean(stations, func(i int) float64 {
			return last(is.stations[i], detuning) - last(was.stations[i], detuning)
		}))
	}
	if structures := l.structuresAt(f); len(structures) > 0 {
		row.DetuningKHz = known(mean(structures, func(x int) float64 {
			return last(is.structures[x], detuning) - last(was.structures[x], detuning)
		}))
		row.WaterChangeK = known(mean(structures, func(x int) float64 {
			return last(is.structures[x], detuning) / l.structures[x].hidden.kHzPerK
		}))
	}
	if k := len(is.waypoints) - 1; k >= 0 {
		row.EnergyLostMeV = known(last(was.waypoints[k], gain) - last(is.waypoints[k], gain))
	}
	return row, nil
}

// compressorsAt returns the stations whose compressor is at a fault's place.
func (l *Linac) compressorsAt(f *playedFault) []int {
	var at []int
	for i := range l.stations {
		if s := &l.stations[i]; s.compressed() && (i == f.station || f.loop >= 0 && s.loop == f.loop) {
			at = append(at, i)
		}
	}
	return at
}

// structuresAt returns the structures at a fault's place.
func (l *Linac) structuresAt(f *playedFault) []int {
	var at []int
	for x := range l.structures {
		if x == f.structure || f.loop >= 0 && l.structures[x].loop == f.loop {
			at = append(at, x)
		}
	}
	return at
}

func mean(of []int, value func(i int) float64) float64 {
	sum := 0.0
	for _, i := range of {
		sum += value(i)
	}
	return sum / float64(len(of))
}

// forget takes one fault out of the night. What it did to the stops stays: a
// trip costs availability, not gain.
func (n *night) forget(at int) {
	f := n.faults[at]
	n.spoilers = slices.DeleteFunc(n.spoilers, func(a effectAt) bool { return a.fault == f })
}

func tripsIn(stops []stop, lengthS float64) int {
	count := 0
	for _, s := range stops {
		if s.trip && s.fromS >= 0 && s.fromS <= math.Floor(lengthS) {
			count++
		}
	}
	return count
}
