package review

import (
	"math"
	"math/cmplx"

	"dawncrest/rf"
)

// structureHypotheses: what can happen to one structure, its water and its
// readings.
func (a *analysis) structureHypotheses(s rf.Structure) []*hypothesis {
	name := s.Name
	slip := rf.In(s.SlipPerKelvin(a.plant.ExpansionPerK), rf.Degree)
	inlet := moves(name, rf.WaterTemperature, 1, shareExact)
	body := moves(name, rf.BodyTemperature, 1, 0.15)
	back := moves(name, rf.ReturnTemperature, 1, 0.3)
	tune := moves(name, turned(s), slip, shareThermal)
	tuneKey := key{name, rf.PhaseAdvance}

	kelvin := func(size float64) float64 { return size }
	water := append([]effect{inlet.asWitness(), body, back, tune}, a.cavityOffTune(s, kelvin)...)
	sensor := append([]effect{body.asWitness(), back, tune}, a.cavityOffTune(s, kelvin)...)
	list := []*hypothesis{
		{
			cause: WaterDetuning, place: name, main: tuneKey,
			effects: water, witnesses: []key{tuneKey},
			needs: append([]key{{name, rf.WaterTemperature}}, advanceOf(s)...),
		},
		{
			cause: RegulatingSensor, place: name, main: tuneKey,
			effects: sensor, witnesses: []key{tuneKey},
			requires: []key{{name, rf.WaterTemperature}}, // else nothing tells it from water
			needs:    []key{{name, rf.WaterTemperature}, {name, rf.BodyTemperature}, {name, rf.WaterFlow}},
			steady:   []key{{name, rf.WaterTemperature}, {name, rf.WaterFlow}, {rf.MachinePlace, rf.RepetitionRate}},
		},
		a.coolingFlow(s, body, tune),
		a.wrongThermometer(name, rf.WaterTemperature),
		a.wrongThermometer(name, rf.BodyTemperature),
		a.wrongThermometer(name, rf.ReturnTemperature),
	}
	if len(a.plant.StructuresOf(s.Station)) > 1 { // else it is the station's
		list = append(list, &hypothesis{
			cause: WaveguideLoss, place: name, main: key{name, rf.InputPower}, effects: a.powersAt(s, 1, 0.1), sign: -1,
			needs: []key{{name, rf.OutputPower}},
		})
	}
	meter := a.doubted(name, rf.WaterFlow, "the flow meter")
	meter.penalty = 0 // where the body would move too little to be seen, it did not
	list = append(list, meter)
	list = append(list, a.heatLoads(s, body, back, tune)...)
	if s.TravellingWave() {
		list = append(list,
			a.doubted(name, rf.InputPower, "the input coupler"),
			a.doubted(name, rf.OutputPower, "the output coupler"),
			a.doubted(name, rf.InputPhase, "the input phase pick-up"),
			a.doubted(name, rf.OutputPhase, "the output phase pick-up"))
	} else {
		list = append(list,
			a.doubted(name, rf.ForwardPower, "the forward coupler"),
			a.doubted(name, rf.ForwardPhase, "the forward phase pick-up"),
			a.doubted(name, rf.CavityPhase, "the cavity phase pick-up"),
			a.doubted(name, rf.CavityVoltage, "the cavity voltage reading"))
	}
	return list
}

// advanceOf are the two readings that make a structure's phase advance.
func advanceOf(s rf.Structure) []key {
	if s.TravellingWave() {
		return []key{{s.Name, rf.InputPhase}, {s.Name, rf.OutputPhase}}
	}
	return []key{{s.Name, rf.ForwardPhase}, {s.Name, rf.CavityPhase}}
}

// coolingFlow: less water takes the same heat. The film of water at the copper
// thins with flow to the power 0.8, and the body stands above its inlet by the
// inverse.
func (a *analysis) coolingFlow(s rf.Structure, body, tune effect) *hypothesis {
	h := &hypothesis{
		cause: CoolingFlow, place: s.Name, main: key{s.Name, rf.PhaseAdvance},
		needs:  []key{{s.Name, rf.WaterTemperature}, {s.Name, rf.BodyTemperature}, {s.Name, rf.WaterFlow}},
		steady: []key{{s.Name, rf.WaterTemperature}},
		must:   []key{{s.Name, rf.WaterFlow}},

		witnesses: []key{{s.Name, rf.PhaseAdvance}},
	}
	rise := a.heatRiseK(s)
	if rise == 0 || a.observed[key{s.Name, rf.WaterFlow}] == nil {
		flow := a.followsSign(s.Name, rf.WaterFlow, -1)
		flow.free = false // with a body that moved, the meter is believed
		h.effects = []effect{body.asWitness(), tune, flow, a.followsSign(s.Name, rf.ReturnTemperature, 1)}
		return h
	}
	slip := rf.In(s.SlipPerKelvin(a.plant.ExpansionPerK), rf.Degree)
	warmer := func(flowPercent float64) float64 {
		return rise * (math.Pow(math.Max(0.05, 1+flowPercent/100), -0.8) - 1)
	}
	h.effects = []effect{
		moves(s.Name, rf.WaterFlow, 1, shareExact).asWitness(),
		effect{key: key{s.Name, rf.BodyTemperature}, of: warmer, share: 0.25}.asWitness(),
		{key: key{s.Name, turned(s)}, of: func(f float64) float64 { return slip * warmer(f) }, share: 0.25},
		{key: key{s.Name, rf.ReturnTemperature}, of: warmer, share: 0.5},
	}
	h.effects = append(h.effects, a.cavityOffTune(s, warmer)...)
	return h
}

// heatLoads: the structure takes another share of the power, or the whole machine
// another repetition rate, and its body follows.
func (a *analysis) heatLoads(s rf.Structure, body, back, tune effect) []*hypothesis {
	tuneKey := key{s.Name, rf.PhaseAdvance}
	needs := []key{{s.Name, rf.WaterTemperature}, {s.Name, rf.BodyTemperature}}
	share := &hypothesis{
		cause: HeatLoad, place: s.Name, main: tuneKey, variant: "power", sign: 1,
		effects: a.powersAt(s, 1, 0.1), needs: needs, steady: []key{{s.Name, rf.WaterTemperature}, {s.Name, rf.WaterFlow}},
	}
	rate := &hypothesis{
		cause: HeatLoad, place: s.Name, main: tuneKey, variant: "repetition rate",
		effects: []effect{body.asWitness(), back, tune, a.followsSign(rf.MachinePlace, rf.RepetitionRate, 1)},
		needs:   needs, steady: share.steady, requires: []key{{rf.MachinePlace, rf.RepetitionRate}},
		must: []key{{rf.MachinePlace, rf.RepetitionRate}}, witnesses: []key{tuneKey},
	}
	return []*hypothesis{share, rate}
}

// wrongThermometer: a thermometer moved and the phase advance, which feels the
// same water, did not.
func (a *analysis) wrongThermometer(structure string, q rf.Quantity) *hypothesis {
	return &hypothesis{
		cause: TemperatureSensor, place: structure, main: key{structure, q}, penalty: 4,
		effects: []effect{moves(structure, q, 1, 0)},
		needs:   []key{{structure, rf.PhaseAdvance}},
		steady:  []key{{structure, rf.PhaseAdvance}},
	}
}

// followsSign is an effect known by its direction only: the reading moved the way
// the cause would move it, by whatever amount.
func (a *analysis) followsSign(place string, q rf.Quantity, sign float64) effect {
	return effect{
		key: key{place, q}, free: true,
		of: func(size float64) float64 {
			o := a.observed[key{place, q}]
			if o == nil || o.residual*sign*size <= 0 || math.Abs(o.residual) < 2*o.sigma {
				return 0
			}
			return o.residual
		},
	}
}

// loopHypotheses: the water of a loop that several structures share.
func (a *analysis) loopHypotheses() []*hypothesis {
	members := map[string][]rf.Structure{}
	var loops []string
	for _, s := range a.plant.Structures {
		if s.WaterLoop == "" {
			continue
		}
		if members[s.WaterLoop] == nil {
			loops = append(loops, s.WaterLoop)
		}
		members[s.WaterLoop] = append(members[s.WaterLoop], s)
	}
	list := a.compressorLoops(members)
	for _, loop := range loops {
		if len(members[loop]) > 1 {
			list = append(list, a.loopWater(loop, members[loop]), a.loopSensor(loop, members[loop], true), a.loopSensor(loop, members[loop], false))
		}
	}
	return list
}

// compressorLoops: the water of a loop that compressors share, with whatever
// structures hang on it too.
func (a *analysis) compressorLoops(members map[string][]rf.Structure) []*hypothesis {
	fed := map[string][]rf.Station{}
	var loops []string
	for _, s := range a.plant.Stations {
		if s.WaterLoop == "" || !s.HasCompressor() {
			continue
		}
		if fed[s.WaterLoop] == nil {
			loops = append(loops, s.WaterLoop)
		}
		fed[s.WaterLoop] = append(fed[s.WaterLoop], s)
	}
	var list []*hypothesis
	for _, loop := range loops {
		if len(fed[loop])+len(members[loop]) < 2 {
			continue
		}
		h := a.loopWater(loop, members[loop])
		h.main = key{fed[loop][0].Name, rf.CompressorPhase}
		for _, s := range fed[loop] {
			h.effects = append(h.effects, a.compressorWarmer(s)...)
		}
		list = append(list, h)
	}
	return list
}

// loopWater: the water of a loop really moved, and everything on it says so.
func (a *analysis) loopWater(loop string, members []rf.Structure) *hypothesis {
	h := &hypothesis{cause: WaterDetuning, place: loop, main: key{loop, rf.LoopTemperature}}
	if len(members) > 0 {
		h.main = key{members[0].Name, rf.PhaseAdvance}
	}
	h.effects = append(h.effects, moves(loop, rf.LoopTemperature, 1, 0.1))
	for _, s := range members {
		h.effects = append(h.effects, moves(s.Name, rf.WaterTemperature, 1, 0.1))
		h.effects = append(h.effects, a.warmedBody(s)...)
		h.needs = append(h.needs, key{s.Name, rf.WaterTemperature})
	}
	return h
}

// loopSensor: the thermometer that regulates a loop drifts and the real water
// follows it. The structures' own inlet readings move with the water where they
// are thermometers of their own, and stand still where they repeat the
// regulating one.
func (a *analysis) loopSensor(loop string, members []rf.Structure, ownInlets bool) *hypothesis {
	h := &hypothesis{cause: RegulatingSensor, place: loop, main: key{members[0].Name, rf.PhaseAdvance}}
	h.needs = []key{{loop, rf.LoopTemperature}}
	h.steady, h.requires = h.needs, nil
	if ownInlets {
		h.requires = h.needs // else nothing tells it from water that really moved
	}
	for _, s := range members {
		if ownInlets {
			h.effects = append(h.effects, moves(s.Name, rf.WaterTemperature, 1, 0.1))
		} else {
			h.steady = append(h.steady, key{s.Name, rf.WaterTemperature})
		}
		h.effects = append(h.effects, a.warmedBody(s)...)
	}
	return h
}

// warmedBody are the effects on a structure of water that really got one kelvin
// warmer.
func (a *analysis) warmedBody(s rf.Structure) []effect {
	slip := rf.In(s.SlipPerKelvin(a.plant.ExpansionPerK), rf.Degree)
	effects := []effect{
		moves(s.Name, rf.BodyTemperature, 1, 0.15),
		moves(s.Name, rf.ReturnTemperature, 1, 0.3),
		moves(s.Name, turned(s), slip, shareThermal),
	}
	return append(effects, a.cavityOffTune(s, func(size float64) float64 { return size })...)
}

// cavityOffTune are the effects on the amplitude of a standing-wave cavity of a
// body that is warmer by the given kelvins per size, from on tune: both are even
// in the detuning. A travelling-wave structure has none.
func (a *analysis) cavityOffTune(s rf.Structure, kelvin func(size float64) float64) []effect {
	if s.TravellingWave() {
		return nil
	}
	at := func(size float64) rf.Frequency {
		return rf.Frequency(s.FrequencySlope(a.plant.ExpansionPerK) * kelvin(size))
	}
	return []effect{
		{key: key{s.Name, rf.CavityVoltage}, share: 0.5, of: func(size float64) float64 {
			return 100 * (cmplx.Abs(s.DetunedFactor(at(size))) - 1)
		}},
		{key: key{s.Name, rf.ReflectedFraction}, share: 0.5, of: func(size float64) float64 {
			return 100 * (s.CavityReflectedFraction(at(size)) - s.CavityReflectedFraction(0))
		}},
	}
}

// commonHypotheses: what moves most of the machine at once.
func (a *analysis) commonHypotheses() []*hypothesis {
	place := rf.MachinePlace
	water := &hypothesis{cause: CommonWater, place: place, common: true, main: key{place, rf.WaterTemperature}}
	phase := &hypothesis{cause: CommonPhase, place: place, common: true, main: key{place, rf.ForwardPhase}}
	volts := &hypothesis{cause: CommonVoltage, place: place, common: true, own: true, main: key{place, rf.BeamVoltage}}
	for _, s := range a.plant.Stations {
		phase.effects = append(phase.effects, a.phasesOf(s, 1, shareExact)...)
		volts.effects = append(volts.effects, moves(s.Name, rf.BeamVoltage, 1, shareExact),
			moves(s.Name, rf.BeamCurrent, voltageCurrent, sharePerveance))
		volts.effects = append(volts.effects, a.powersOf(s, rf.PowerExponent, sharePower)...)
		volts.effects = append(volts.effects, a.phasesOf(s, a.pushing(s), sharePushing)...)
	}
	loops := map[string]bool{}
	for _, s := range a.plant.Structures {
		water.effects = append(water.effects, moves(s.Name, rf.WaterTemperature, 1, 0.1))
		water.effects = append(water.effects, a.warmedBody(s)...)
		if s.WaterLoop != "" && !loops[s.WaterLoop] {
			loops[s.WaterLoop] = true
			water.effects = append(water.effects, moves(s.WaterLoop, rf.LoopTemperature, 1, 0.1))
		}
	}
	phase.effects = append(phase.effects, moves(place, rf.ReferencePhase, 1, 0.2))
	compressors := &hypothesis{cause: CommonWater, place: place, common: true, main: key{place, rf.CompressorTemperature}}
	for _, s := range a.plant.Stations {
		phase.effects = append(phase.effects, moves(s.Name, rf.DrivePhase, 1, shareExact))
		compressors.effects = append(compressors.effects, a.compressorWarmer(s)...)
		if s.WaterLoop != "" && !loops[s.WaterLoop] {
			loops[s.WaterLoop] = true
			compressors.effects = append(compressors.effects, moves(s.WaterLoop, rf.LoopTemperature, 1, 0.1))
		}
	}
	return []*hypothesis{volts, phase, water, compressors}
}

// localHypotheses are all hypotheses about stations, structures and loops.
func (a *analysis) localHypotheses() []*hypothesis {
	var list []*hypothesis
	for _, s := range a.plant.Stations {
		var own []*hypothesis
		own = append(own, a.modulatorHypotheses(s)...)
		own = append(own, a.driveHypotheses(s)...)
		own = append(own, a.compressorHypotheses(s)...)
		own = append(own, a.lossHypotheses(s)...)
		for _, structure := range a.plant.StructuresOf(s.Name) {
			own = append(own, a.structureHypotheses(structure)...)
		}
		for _, h := range own {
			h.station = s.Name
		}
		list = append(list, own...)
	}
	return append(list, a.loopHypotheses()...)
}
