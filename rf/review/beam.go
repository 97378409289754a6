package review

import (
	"fmt"
	"math"

	"dawncrest/rf"
)

// askTheBeam says for each finding whether the beam noticed: whether the energy
// measured behind the station moved as the finding's cost says, or as if there
// were no such cost. Costs too small to be seen stay without an answer.
func (a *analysis) askTheBeam() {
	for i := range a.report.Findings {
		f := &a.report.Findings[i]
		cost := a.apparentCost(f)
		w, measured, sigma, ok := a.beamBehind(f.Station)
		if !ok || !rf.Known(cost) || math.Abs(float64(cost)) < significantSigma*float64(sigma) {
			continue
		}
		others := rf.Energy(0) // what the other findings took before the same waypoint
		for j, o := range a.report.Findings {
			if j != i && rf.Known(o.EnergyCost) && a.before(o.Station, w) {
				others += o.EnergyCost
			}
		}
		left := -measured - others // energy lost that this finding could account for
		f.Beam = BeamUnmoved
		if math.Abs(float64(left-cost)) < math.Abs(float64(left)) {
			f.Beam = BeamMoved
		}
		f.Evidence = append(f.Evidence, fmt.Sprintf("beam at %s moved by %s, %s of it left for this finding, %s if it were real",
			w.Name, signed(rf.In(measured, rf.Megaelectronvolt), "MeV"),
			signed(-rf.In(left, rf.Megaelectronvolt), "MeV"), signed(-rf.In(cost, rf.Megaelectronvolt), "MeV")))
	}
}

// apparentCost is the energy a finding took, or, for a doubted power reading, what
// it would have taken were the reading true.
func (a *analysis) apparentCost(f *Finding) rf.Energy {
	if f.Cause != ReadingDoubted {
		return f.EnergyCost
	}
	s, isStructure := a.plant.Structure(f.Place)
	if !isStructure || (f.Quantity != rf.InputPower && f.Quantity != rf.OutputPower) {
		return rf.Unknown[rf.Energy]()
	}
	t := a.trace(f.Place, f.Quantity)
	for i, station := range a.plant.Stations {
		if station.Name == s.Station {
			gain := a.report.Stations[i].GainReference * rf.Energy(s.PowerShare)
			return -gain * rf.Energy(math.Sqrt(t.Now/t.Reference)-1)
		}
	}
	return rf.Unknown[rf.Energy]()
}

// beamBehind returns the first waypoint behind a station whose beam energy is
// logged, by how much it moved, and one sigma of that.
func (a *analysis) beamBehind(station string) (w rf.Waypoint, moved, sigma rf.Energy, ok bool) {
	for _, w := range a.plant.Waypoints {
		if t := a.trace(w.Name, rf.BeamEnergy); t != nil && rf.Known(t.Change) && rf.Known(t.Noise) && a.before(station, w) {
			return w, rf.Energy(t.Change) * rf.Megaelectronvolt, rf.Energy(t.Noise) * rf.Megaelectronvolt, true
		}
	}
	return rf.Waypoint{}, 0, 0, false
}

// before reports whether a station stands before a waypoint.
func (a *analysis) before(station string, w rf.Waypoint) bool {
	for _, s := range a.plant.Stations {
		if s.Name == station {
			return true
		}
		if s.Name == w.AfterStation {
			return false
		}
	}
	return false
}
