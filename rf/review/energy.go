package review

import (
	"math"
	"math/cmplx"

	"dawncrest/rf"
)

// One sigma of a power coupler, relative; common practice.
const (
	couplerSigma  = 0.04  // absolute: a few per cent
	couplerWander = 0.006 // over a night: a fifth of the usual drift limit of 3 %
)

// feed is what one structure lives on at one moment.
type feed struct {
	flat     rf.Power // power of an uncompressed pulse that the reading stands for
	phase    rf.Phase // of the station, change since the reference
	station  rf.Frequency
	detuning rf.Frequency
}

// energy computes gains, what each cause took, the waypoints and what a lost
// station would mean.
func (a *analysis) energy() {
	for _, s := range a.plant.Stations {
		a.report.Stations = append(a.report.Stations, a.stationResult(s))
	}
	a.structureEnergy()
	a.costFindings()
	for _, w := range a.plant.Waypoints {
		a.report.Waypoints = append(a.report.Waypoints, a.waypoint(w))
	}
}

// doubtedReading reports whether a finding doubts a reading or it stands still.
func (a *analysis) doubtedReading(place string, q rf.Quantity) bool {
	if a.stuck[key{place, q}] {
		return true
	}
	for _, x := range a.accepted {
		if x.cause == ReadingDoubted && x.main == (key{place, q}) {
			return true
		}
	}
	return false
}

// chainOf returns the best reading for a structure's power: its own input
// coupler, else the compressed power, else the forward power.
func (a *analysis) chainOf(s rf.Structure) key {
	own := rf.InputPower
	if !s.TravellingWave() {
		own = rf.ForwardPower
	}
	for _, c := range []key{{s.Name, own}, {s.Station, rf.CompressedPower}, {s.Station, rf.ForwardPower}} {
		t := a.trace(c.place, c.q)
		if t != nil && (rf.Known(t.Now) || rf.Known(t.Reference)) && !a.doubtedReading(c.place, c.q) {
			return c
		}
	}
	return key{}
}

// flatPower turns the reading of a chain into the power of the flat pulse at the
// structure.
func (a *analysis) flatPower(s rf.Structure, station rf.Station, c key, reading float64, compressor rf.Frequency) rf.Power {
	p := rf.Power(reading) * rf.Megawatt
	if c.place != s.Name {
		p *= rf.Power(s.PowerShare)
	}
	switch {
	case c.q == rf.ForwardPower && c.place == s.Station:
		p *= rf.Power(math.Pow(10, -station.WaveguideLossDB/10))
	case station.HasCompressor():
		p /= rf.Power(station.Compressor(a.plant.Frequency).PeakPowerGain(compressor))
	}
	return p
}

// gainOf returns the gain of a structure, its phase counted from the reference
// state, in which the station stood at its crest offset.
func (a *analysis) gainOf(s rf.Structure, station rf.Station, f feed, reference complex128) rf.Energy {
	factor := a.factor(s, station, f.station, f.detuning)
	if reference != 0 {
		factor *= cmplx.Exp(complex(0, -cmplx.Phase(reference)))
	}
	return s.EnergyGainWith(factor, f.flat, station.CrestOffset+f.phase, a.plant.BeamCurrent)
}

func (a *analysis) factor(s rf.Structure, station rf.Station, compressor, structure rf.Frequency) complex128 {
	if station.HasCompressor() {
		return station.Compressor(a.plant.Frequency).EnergyMultiplication(s, compressor, structure)
	}
	return s.DetunedFactor(structure)
}

// state is a station as the gain sees it, now or in the reference.
type state struct {
	power      map[string]float64 // reading of each structure's chain
	phase      rf.Phase
	compressor rf.Frequency
	detuning   map[string]rf.Frequency
}

// statesOf returns the reference state of a station, the state now, and whether
// each is known.
func (a *analysis) statesOf(s rf.Station) (reference, now state, haveReference, haveNow bool) {
	reference = state{power: map[string]float64{}, detuning: map[string]rf.Frequency{}}
	now = state{power: map[string]float64{}, detuning: map[string]rf.Frequency{}}
	haveReference, haveNow = true, true
	reference.compressor = a.compressorStart(s)
	now.compressor = reference.compressor + a.compressorChange(s)
	now.phase = a.stationPhase(s)
	for _, structure := range a.plant.StructuresOf(s.Name) {
		c := a.chainOf(structure)
		t := a.trace(c.place, c.q)
		if t == nil {
			return reference, now, false, false
		}
		reference.power[structure.Name], now.power[structure.Name] = t.Reference-t.Stepped, t.Now
		haveReference = haveReference && rf.Known(t.Reference)
		haveNow = haveNow && rf.Known(t.Now)
		now.detuning[structure.Name] = a.detuningChange(structure)
	}
	return reference, now, haveReference, haveNow
}

// compressorStart is the compressor's detuning in the reference, from its
// temperature where that is known, else on tune.
func (a *analysis) compressorStart(s rf.Station) rf.Frequency {
	t := a.trace(s.Name, rf.CompressorTemperature)
	if t == nil || !rf.Known(t.Reference) || !rf.Known(s.CompressorTuned) {
		return 0
	}
	return rf.ThermalDetuning(a.plant.Frequency, a.plant.ExpansionPerK, rf.Celsius(t.Reference).Above(s.CompressorTuned))
}

// compressorChange is by how much the compressor's detuning moved, from the phase
// behind it where a cause says that it moved.
func (a *analysis) compressorChange(s rf.Station) rf.Frequency {
	for _, x := range a.accepted {
		if x.cause == CompressorDetuning && x.place == s.Name {
			return rf.Frequency(x.size) * rf.Kilohertz
		}
	}
	return 0
}

// stationPhase is the change of the station's phase at the klystron, less what
// the whole machine shares and what a doubted pick-up pretends.
func (a *analysis) stationPhase(s rf.Station) rf.Phase {
	t := a.trace(s.Name, rf.ForwardPhase)
	if t == nil || !rf.Known(t.Change) || a.doubtedReading(s.Name, rf.ForwardPhase) {
		return 0
	}
	return rf.Phase(t.Change+t.Stepped-a.commonPhaseDeg) * rf.Degree
}

// detuningChange is the change of a structure's detuning since the reference,
// zero where its phase advance is doubted or not known.
func (a *analysis) detuningChange(s rf.Structure) rf.Frequency {
	t := a.trace(s.Name, rf.PhaseAdvance)
	if t == nil || !rf.Known(t.Change) {
		return 0
	}
	for _, q := range []rf.Quantity{rf.InputPhase, rf.OutputPhase, rf.CavityPhase, rf.ForwardPhase} {
		if a.doubtedReading(s.Name, q) {
			return 0
		}
	}
	return s.DetuningFromSlip(rf.Phase(t.Change) * rf.Degree)
}

// gain returns the gain of a station in a state. The chain's reading is turned
// into the flat pulse with the compressor as it was when it was read.
func (a *analysis) gain(s rf.Station, at, reference state, readAt rf.Frequency) rf.Energy {
	var sum rf.Energy
	for _, structure := range a.plant.StructuresOf(s.Name) {
		c := a.chainOf(structure)
		f := feed{
			flat:     a.flatPower(structure, s, c, at.power[structure.Name], readAt),
			phase:    at.phase,
			station:  at.compressor,
			detuning: at.detuning[structure.Name],
		}
		sum += a.gainOf(structure, s, f, a.factor(structure, s, reference.compressor, reference.detuning[structure.Name]))
	}
	return sum
}

func (a *analysis) stationResult(s rf.Station) StationResult {
	r := StationResult{
		Station: s.Name,
		Gain:    rf.Unknown[rf.Energy](), LastGain: rf.Unknown[rf.Energy](), GainReference: rf.Unknown[rf.Energy](), Remainder: rf.Unknown[rf.Energy](),
		PeakPowerGain: a.nowOf(s.Name, rf.PeakPowerGain), PeakPowerGainDesign: math.NaN(),
		EnergyMultiplication: math.NaN(), CompressorDetuning: rf.Unknown[rf.Frequency](),
		Microperveance: a.nowOf(s.Name, rf.Microperveance), EfficiencyPercent: a.nowOf(s.Name, rf.Efficiency),
		ReflectedPercent: a.nowOf(s.Name, rf.ReflectedFraction),
		OnPercent:        a.activity[s.Name].onPercent(), EnergyScatter: rf.Unknown[rf.Energy](),
		PowerNow:     rf.Power(a.nowOf(s.Name, rf.ForwardPower)) * rf.Megawatt,
		PowerHighest: a.highestPower(s),
	}
	a.countTrips(s, &r)
	reference, now, haveReference, haveNow := a.statesOf(s)
	if s.HasCompressor() {
		c := s.Compressor(a.plant.Frequency)
		r.PeakPowerGainDesign = c.PeakPowerGain(0)
		r.CompressorDetuning = now.compressor
		if fed := a.plant.StructuresOf(s.Name); len(fed) > 0 {
			r.EnergyMultiplication = cmplx.Abs(c.EnergyMultiplication(fed[0], now.compressor, now.detuning[fed[0].Name]))
		}
	}
	if len(a.plant.StructuresOf(s.Name)) == 0 {
		return r
	}
	r.Chain = string(a.chainOf(a.plant.StructuresOf(s.Name)[0]).q)
	if s.Spare {
		return r
	}
	if haveReference {
		r.GainReference = a.gain(s, reference, reference, reference.compressor)
	}
	if haveNow {
		r.LastGain = a.gain(s, now, reference, now.compressor)
	}
	switch {
	case a.offAtEnd(s):
		r.Gain, r.Remainder = 0, -r.GainReference
		a.report.Notices = append(a.report.Notices, s.Name+": RF is off at the log's end, the energy is counted without it")
		return r
	case !haveNow || a.silentAtEnd(s):
		r.GainHeld = true
		return r
	}
	r.Gain = r.LastGain
	if haveReference {
		r.Taken, r.Remainder = a.shares(s, reference, now, r.Gain-r.GainReference)
		r.EnergyScatter = a.scatter(s, r.Gain)
	}
	return r
}

// offAtEnd reports whether the log says that a station has been off for longer
// than a trip takes.
func (a *analysis) offAtEnd(s rf.Station) bool {
	act := a.activity[s.Name]
	n := min(len(act.on), a.cellsFor(shortGap))
	for i := len(act.on) - n; i < len(act.on); i++ {
		if act.on[i] || !act.logged[i] {
			return false
		}
	}
	return n > 0 && !a.poweredAtEnd(s.Name)
}

// silentAtEnd reports whether a station has no readings, or no RF, at the end.
func (a *analysis) silentAtEnd(s rf.Station) bool {
	return !a.poweredAtEnd(s.Name)
}

func (a *analysis) nowOf(place string, q rf.Quantity) float64 {
	if t := a.trace(place, q); t != nil {
		return t.Now
	}
	return math.NaN()
}

// highestPower is the highest settled forward power of the night.
func (a *analysis) highestPower(s rf.Station) rf.Power {
	t := a.trace(s.Name, rf.ForwardPower)
	if t == nil {
		return rf.Unknown[rf.Power]()
	}
	best := math.NaN()
	for i, v := range t.Mean {
		if t.Settled[i] && !math.IsNaN(v) && !(v < best) {
			best = v
		}
	}
	return rf.Power(best) * rf.Megawatt
}

// shares splits a station's change of gain over the causes that moved it: each
// cause alone on the reference state, the rest in the remainder.
func (a *analysis) shares(s rf.Station, reference, now state, whole rf.Energy) (taken []GainShare, remainder rf.Energy) {
	remainder = whole
	base := a.gain(s, reference, reference, reference.compressor)
	if len(a.setPoints[s.Name]) > 0 {
		part := a.gain(s, a.onlyBySetPoints(s, reference), reference, reference.compressor) - base
		taken = append(taken, GainShare{Cause: SetPoint, Place: s.Name, Taken: part})
		remainder -= part
	}
	for i := range a.accepted {
		x := &a.accepted[i]
		only, moved := a.onlyBy(x, s, reference, now)
		if !moved {
			continue
		}
		part := a.gain(s, only, reference, only.compressor) - base
		taken = append(taken, GainShare{Cause: x.cause, Place: x.place, Taken: part})
		remainder -= part
	}
	return taken, remainder
}

// onlyBySetPoints returns the reference state of a station as its set-point
// changes alone left it.
func (a *analysis) onlyBySetPoints(s rf.Station, reference state) state {
	only := reference
	only.power = map[string]float64{}
	if t := a.trace(s.Name, rf.ForwardPhase); t != nil && !a.doubtedReading(s.Name, rf.ForwardPhase) {
		only.phase = rf.Phase(t.Stepped) * rf.Degree
	}
	for _, structure := range a.plant.StructuresOf(s.Name) {
		c := a.chainOf(structure)
		only.power[structure.Name] = reference.power[structure.Name] + a.trace(c.place, c.q).Stepped
	}
	return only
}

// onlyBy returns the reference state of a station with what one cause moved.
func (a *analysis) onlyBy(x *explained, s rf.Station, reference, now state) (state, bool) {
	only := state{
		power: map[string]float64{}, detuning: map[string]rf.Frequency{},
		phase: reference.phase, compressor: reference.compressor,
	}
	moved := false
	if x.cause == CompressorDetuning && x.place == s.Name {
		only.compressor, moved = now.compressor, true
	}
	if p, ok := x.claims[key{s.Name, rf.ForwardPhase}]; ok && !readingOnly(x.cause) && x.cause != CommonPhase {
		only.phase, moved = rf.Phase(p.value)*rf.Degree, true
	}
	for _, structure := range a.plant.StructuresOf(s.Name) {
		name := structure.Name
		c := a.chainOf(structure)
		only.power[name] = reference.power[name]
		if p, ok := x.claims[c]; ok && !readingOnly(x.cause) {
			only.power[name] *= 1 + p.value/100
			moved = true
		}
		only.detuning[name] = reference.detuning[name]
		if p, ok := x.claims[key{name, rf.PhaseAdvance}]; ok && !readingOnly(x.cause) {
			only.detuning[name] += structure.DetuningFromSlip(rf.Phase(p.value) * rf.Degree)
			moved = true
		}
	}
	return only, moved
}

// readingOnly are the causes that move a reading and nothing behind it.
func readingOnly(c Cause) bool { return c == ReadingDoubted || c == TemperatureSensor }

// structureEnergy fills in what each structure loses by being off tune, and what
// water or phase alone would win back.
func (a *analysis) structureEnergy() {
	for i := range a.report.Structures {
		r := &a.report.Structures[i]
		s, _ := a.plant.Structure(r.Structure)
		station, _ := a.plant.Station(s.Station)
		reference, now, _, haveNow := a.statesOf(station)
		if !haveNow || !rf.Known(r.Detuning) || station.Spare {
			continue
		}
		flat := a.flatPower(s, station, a.chainOf(s), now.power[s.Name], now.compressor)
		crest := station.CrestOffset + now.phase
		tuned := a.factor(s, station, now.compressor, 0)
		off := a.factor(s, station, now.compressor, r.Detuning)
		turn := cmplx.Exp(complex(0, -cmplx.Phase(a.factor(s, station, reference.compressor, 0))))
		on := s.EnergyGainWith(tuned*turn, flat, crest, a.plant.BeamCurrent)
		is := s.EnergyGainWith(off*turn, flat, crest, a.plant.BeamCurrent)
		phased := s.EnergyGainWith(complex(cmplx.Abs(off), 0)*cmplx.Exp(complex(0, cmplx.Phase(tuned*turn))), flat, crest, a.plant.BeamCurrent)
		r.EnergyLoss, r.WonByWater, r.WonByPhase = on-is, on-is, phased-is
	}
}

// costFindings puts into each finding what it took from the beam, summed over the
// stations it touches.
func (a *analysis) costFindings() {
	for i := range a.report.Findings {
		f := &a.report.Findings[i]
		cost, known := rf.Energy(0), false
		for _, s := range a.report.Stations {
			for _, t := range s.Taken {
				if t.Cause == f.Cause && t.Place == f.Place {
					cost -= t.Taken
					known = true
				}
			}
		}
		switch {
		case known:
			f.EnergyCost = cost
		case readingOnly(f.Cause) || f.Cause == StuckReading:
			f.EnergyCost = 0
		}
	}
}
