package review

import (
	"math"
	"sort"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

// waypoint works out the energy at one waypoint, and without each station.
func (a *analysis) waypoint(w rf.Waypoint) WaypointResult {
	r := WaypointResult{
		Waypoint: w.Name, AfterStation: w.AfterStation, Required: w.Required,
		Measured: rf.Unknown[rf.Energy](), ClosurePercent: math.NaN(),
		ArrivalShift: rf.Unknown[rf.Interval](), CompressionChangePercent: math.NaN(),
	}
	upstream := a.upstream(w)
	budget, reference, squares := a.plant.InjectionEnergy, a.plant.InjectionEnergy, 0.0
	for _, s := range upstream {
		gain := s.GainCounted()
		budget += gain
		reference += s.GainReference
		squares += float64(gain) * float64(gain)
	}
	// A gain goes as the root of power. Scaled to the beam, only what couplers
	// wandered since then is left of their error.
	r.BudgetError = rf.Energy(math.Sqrt(squares) * couplerSigma / 2)
	if t := a.trace(w.Name, rf.BeamEnergy); t != nil {
		r.Measured = rf.Energy(t.Now) * rf.Megaelectronvolt
		if measured := rf.Energy(t.Reference) * rf.Megaelectronvolt; rf.Known(measured) && rf.Known(reference) && reference > 0 {
			scale := measured / reference
			budget *= scale
			r.BudgetError = rf.Energy(math.Sqrt(squares) * couplerWander / 2)
			r.Scaled = true
		}
	}
	r.Budget = budget
	best := budget
	if rf.Known(r.Measured) {
		best = r.Measured
		r.ClosurePercent = 100 * float64(r.Measured/budget)
	}
	r.MarginPercent = margin(best, w.Required)
	r.Verdict = holdMargin(r.MarginPercent, w.TolerancePercent)
	for _, s := range upstream {
		r.Without = append(r.Without, a.without(w, s, best, upstream))
	}
	a.bunch(w, upstream, &r)
	return r
}

// upstream returns the results of the stations before a waypoint, in beam order.
func (a *analysis) upstream(w rf.Waypoint) []StationResult {
	var list []StationResult
	for i, s := range a.plant.Stations {
		if !s.Spare && len(a.plant.StructuresOf(s.Name)) > 0 {
			list = append(list, a.report.Stations[i])
		}
		if s.Name == w.AfterStation {
			break
		}
	}
	return list
}

func margin(have, required rf.Energy) float64 { return 100 * (float64(have/required) - 1) }

// holdMargin judges an energy against what is required: short by more than the
// tolerance is out of tolerance, short at all is drifting.
func holdMargin(marginPercent, tolerancePercent float64) Verdict {
	switch {
	case math.IsNaN(marginPercent):
		return NoData
	case marginPercent < -tolerancePercent*(1+limitSlack):
		return OutOfTolerance
	case marginPercent < 0:
		return Drifting
	}
	return InTolerance
}

// without works out a waypoint with one station lost, and who could make up.
func (a *analysis) without(w rf.Waypoint, lost StationResult, best rf.Energy, upstream []StationResult) WithoutStation {
	left := best - lost.GainCounted()
	r := WithoutStation{Station: lost.Station, MarginPercent: margin(left, w.Required)}
	r.Closes = r.MarginPercent >= -w.TolerancePercent
	if math.IsNaN(r.MarginPercent) || r.Closes {
		return r
	}
	missing := w.Required*rf.Energy(1-w.TolerancePercent/100) - left
	for _, m := range a.candidates(w, lost, upstream) {
		if missing <= 0 {
			break
		}
		r.MadeUpBy = append(r.MadeUpBy, m)
		missing -= m.Gain
	}
	if missing > 0 {
		r.MadeUpBy = nil // all together do not carry it
	}
	return r
}

// candidates are the stations that could give more, hot spares first.
func (a *analysis) candidates(w rf.Waypoint, lost StationResult, upstream []StationResult) []MakeUp {
	var spares, pushed []MakeUp
	for i, s := range a.plant.Stations {
		if s.Spare && a.fitForMore(s.Name) {
			spares = append(spares, a.spare(s, a.report.Stations[i]))
		}
		if s.Name == w.AfterStation {
			break
		}
	}
	for _, u := range upstream {
		s, _ := a.plant.Station(u.Station)
		if u.Station == lost.Station || !a.fitForMore(u.Station) || !rf.Known(u.Gain) {
			continue
		}
		limit := s.ConditionedPower
		if !rf.Known(limit) {
			limit = u.PowerHighest
		}
		if !rf.Known(u.PowerNow) || limit <= u.PowerNow {
			continue
		}
		ratio := float64(limit / u.PowerNow)
		pushed = append(pushed, MakeUp{
			Station: u.Station, Power: limit, Gain: u.Gain * rf.Energy(math.Sqrt(ratio)-1),
			Phase: rf.Phase(-a.pushing(s)*100*(math.Pow(ratio, 1/rf.PowerExponent)-1)) * rf.Degree,
		})
	}
	sort.SliceStable(pushed, func(i, j int) bool { return pushed[i].Gain > pushed[j].Gain })
	return append(spares, pushed...)
}

// fitForMore reports whether a station may be asked for more: nothing there warns of
// damage.
func (a *analysis) fitForMore(station string) bool {
	for _, f := range a.report.Findings {
		if (f.Place == station || f.Station == station) && (f.Cause == TooManyTrips || f.Cause == Vacuum || f.Cause == ReflectedPower) {
			return false
		}
	}
	return true
}

// spare works out what a hot spare would give from its own readings.
func (a *analysis) spare(s rf.Station, r StationResult) MakeUp {
	m := MakeUp{Station: s.Name, Spare: true, Power: r.PowerNow}
	if !rf.Known(r.PowerNow) || a.silentAtEnd(s) {
		m.Power, m.Note = s.RatedPower, "no RF in the log now: at rated power"
	}
	through := rf.Power(math.Pow(10, -s.WaveguideLossDB/10))
	for _, structure := range a.plant.StructuresOf(s.Name) {
		f := feed{flat: m.Power * through * rf.Power(structure.PowerShare)}
		m.Gain += a.gainOf(structure, s, f, a.factor(structure, s, 0, 0))
	}
	return m
}

// bunch works out what the upstream changes do to arrival time and bunch length
// where a bunch compressor stands.
func (a *analysis) bunch(w rf.Waypoint, upstream []StationResult, r *WaypointResult) {
	if !rf.Known(w.R56M) || math.IsNaN(w.R56M) {
		return
	}
	var was, is, acrossWas, acrossIs rf.Energy
	worst := 0.0
	for _, u := range upstream {
		s, _ := a.plant.Station(u.Station)
		if !rf.Known(u.Gain) || !rf.Known(u.GainReference) {
			continue
		}
		was += u.GainReference
		is += u.Gain
		crest, now := float64(s.CrestOffset), float64(s.CrestOffset)+float64(a.stationPhase(s))
		acrossWas += u.GainReference * rf.Energy(math.Tan(crest))
		acrossIs += u.Gain * rf.Energy(math.Tan(now))
		if change := math.Abs(float64(u.Gain - u.GainReference)); change > worst {
			worst, r.ArrivalBy = change, u.Station
		}
	}
	before, after := a.plant.InjectionEnergy+was, a.plant.InjectionEnergy+is
	if before <= 0 {
		return
	}
	r.ArrivalShift = rf.ArrivalShift(w.R56M, float64(after/before)-1)
	c0 := rf.BunchCompression(rf.ChirpPerM(acrossWas, before, a.plant.Frequency), w.R56M)
	c1 := rf.BunchCompression(rf.ChirpPerM(acrossIs, after, a.plant.Frequency), w.R56M)
	r.CompressionChangePercent = 100 * (c1/c0 - 1)
}

// scatter is what a station adds to the energy spread: its voltage moves
// amplitude and phase together. The logger's averaging makes it smaller than it
// is from pulse to pulse.
func (a *analysis) scatter(s rf.Station, gain rf.Energy) rf.Energy {
	ch := a.channel(s.Name, rf.BeamVoltage)
	if ch == nil {
		return rf.Unknown[rf.Energy]()
	}
	var relative []float64
	for i, c := range ch.Cells {
		if a.settled[s.Name][i] && c.Count >= 2 && c.Mean > 0 {
			relative = append(relative, 100*c.StdDev()/c.Mean)
		}
	}
	cos := math.Cos(float64(s.CrestOffset))
	if len(relative) == 0 || cos == 0 {
		return rf.Unknown[rf.Energy]()
	}
	per := rf.Contribution{Gain: gain / rf.Energy(cos), Crest: s.CrestOffset}.PerVoltage(a.pushing(s))
	return rf.Energy(math.Abs(float64(per)) * series.Median(relative) / 100)
}

// countTrips puts a station's own trips into its result.
func (a *analysis) countTrips(s rf.Station, r *StationResult) {
	r.Trips = len(a.ownTrips(s.Name, a.commonAt))
	hours := a.night.End().Sub(a.night.Start).Hours() * r.OnPercent / 100
	low, high := series.PoissonInterval(r.Trips, 0.95)
	r.TripsPerDay = [3]float64{float64(r.Trips) * 24 / hours, low * 24 / hours, high * 24 / hours}
}
