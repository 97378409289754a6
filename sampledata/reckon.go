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

	var structures []int
	switch {
	case f.structure >= 0:
		structures = []int{f.structure}
	case f.loop >= 0:
		for i := range l.structures {
			if l.structures[i].loop == f.loop {
				structures = append(structures, i)
			}
		}
	}
	if f.station >= 0 && l.stations[f.station].compressed() {
		row.DetuningKHz = known(last(is.stations[f.station], detuning) - last(was.stations[f.station], detuning))
	}
	if len(structures) > 0 {
		var moved, change float64
		for _, x := range structures {
			moved += last(is.structures[x], detuning) - last(was.structures[x], detuning)
			change += last(is.structures[x], detuning) / l.structures[x].hidden.kHzPerK
		}
		row.StructureCount = len(structures)
		row.DetuningKHz = known(moved / float64(len(structures)))
		row.WaterChangeK = known(change / float64(len(structures)))
	}
	if k := len(is.waypoints) - 1; k >= 0 {
		row.EnergyLostMeV = known(last(was.waypoints[k], gain) - last(is.waypoints[k], gain))
	}
	return row, nil
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
