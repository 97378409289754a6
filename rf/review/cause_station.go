package review

import (
	"math"

	"dawncrest/rf"
)

// How well the physics of a station is known, as one sigma of what it predicts.
const (
	shareExact     = 0.03 // arithmetic of readings
	sharePerveance = 0.08 // I = K V^1.5
	sharePower     = 0.20 // exponent of V between 2.0 and 3.5 at fixed drive
	sharePushing   = 0.30 // measured tubes differ from the ballistic formula
	shareDrive     = 0.25 // phase against drive: 2 to 6 degrees per decibel
	shareThermal   = 0.12 // expansion, filling time and film drop
	shareHeat      = 0.40 // body rise against RF power
)

const (
	voltageCurrent     = 1.5
	driveDegPerDB      = 4.0
	unknownPushingDegP = 6.0 // where neither measured nor a drift length is given
)

// percentOfDB is the change of a power in percent for a change in decibel.
func percentOfDB(db float64) float64 { return 100 * (math.Pow(10, db/10) - 1) }

// pushing returns a station's phase pushing in degrees per percent of voltage.
func (a *analysis) pushing(s rf.Station) float64 {
	kV := math.NaN()
	if t := a.trace(s.Name, rf.BeamVoltage); t != nil {
		kV = t.Reference
	}
	p := s.PushingDegPerPercent(rf.Voltage(kV)*rf.Kilovolt, a.plant.Frequency)
	if math.IsNaN(p) {
		return unknownPushingDegP
	}
	return p
}

// phasesOf are the effects of a turn of the station's phase at the klystron: on
// its own pick-up and on both couplers of every structure.
func (a *analysis) phasesOf(s rf.Station, perSize, share float64) []effect {
	return append([]effect{moves(s.Name, rf.ForwardPhase, perSize, share)}, a.phasesAfter(s, perSize, share)...)
}

// phasesAfter are the effects of a turn of phase behind the klystron's pick-up.
func (a *analysis) phasesAfter(s rf.Station, perSize, share float64) []effect {
	var effects []effect
	for _, structure := range a.plant.StructuresOf(s.Name) {
		if structure.TravellingWave() {
			effects = append(effects,
				moves(structure.Name, rf.InputPhase, perSize, share),
				moves(structure.Name, rf.OutputPhase, perSize, share))
		} else {
			effects = append(effects,
				moves(structure.Name, rf.ForwardPhase, perSize, share),
				moves(structure.Name, rf.CavityPhase, perSize, share))
		}
	}
	return effects
}

// powersOf are the effects of a change of klystron power, in percent, on every
// power reading of the station and, through the heat, on its structures.
func (a *analysis) powersOf(s rf.Station, perSize, share float64) []effect {
	return append([]effect{moves(s.Name, rf.ForwardPower, perSize, share)}, a.powersAfter(s, perSize, share)...)
}

// powersAfter are the effects of a change of power behind the klystron's coupler.
func (a *analysis) powersAfter(s rf.Station, perSize, share float64) []effect {
	effects := []effect{moves(s.Name, rf.CompressedPower, perSize, share)}
	for _, structure := range a.plant.StructuresOf(s.Name) {
		effects = append(effects, a.powersAt(structure, perSize, share)...)
	}
	return effects
}

// powersAt are the effects of a change of power into one structure.
func (a *analysis) powersAt(s rf.Structure, perSize, share float64) []effect {
	if !s.TravellingWave() {
		return []effect{
			moves(s.Name, rf.ForwardPower, perSize, share),
			moves(s.Name, rf.CavityVoltage, perSize/2, share),
		}
	}
	effects := []effect{
		moves(s.Name, rf.InputPower, perSize, share),
		moves(s.Name, rf.OutputPower, perSize, share),
	}
	if rise := a.heatRiseK(s); rise != 0 {
		effects = append(effects, a.bodyEffects(s, perSize*rise/100, shareHeat)...)
	}
	return effects
}

// heatRiseK returns how far RF lifts the body above the inlet in the reference.
func (a *analysis) heatRiseK(s rf.Structure) float64 {
	station, _ := a.plant.Station(s.Station)
	if math.IsNaN(s.HeatingKPerKW) {
		return 0
	}
	power := a.trace(s.Station, rf.ForwardPower)
	if power == nil || math.IsNaN(power.Reference) {
		return 0
	}
	through := math.Pow(10, -station.WaveguideLossDB/10)
	peak := rf.Power(power.Reference*through*s.PowerShare) * rf.Megawatt
	average := rf.AveragePower(peak, station.RFPulse, a.plant.RepetitionRate)
	return s.BodyRiseK(average)
}

// bodyEffects are the effects of a body that is warmer than its inlet water by
// one more kelvin per size.
func (a *analysis) bodyEffects(s rf.Structure, perSize, share float64) []effect {
	slip := rf.In(s.SlipPerKelvin(a.plant.ExpansionPerK), rf.Degree)
	return []effect{
		moves(s.Name, rf.BodyTemperature, perSize, math.Max(share, 0.2)),
		moves(s.Name, turned(s), slip*perSize, share),
		moves(s.Name, rf.ReturnTemperature, perSize, 0.5),
	}
}

// turned is the reading of a structure that turns with its own tune.
func turned(s rf.Structure) rf.Quantity {
	if s.TravellingWave() {
		return rf.OutputPhase
	}
	return rf.CavityPhase
}

// modulatorHypotheses: the beam voltage, the cathode, and the two meters that
// could pretend either.
func (a *analysis) modulatorHypotheses(s rf.Station) []*hypothesis {
	push := a.pushing(s)
	voltage := []effect{
		moves(s.Name, rf.BeamVoltage, 1, shareExact).asWitness(),
		moves(s.Name, rf.BeamCurrent, voltageCurrent, sharePerveance).asWitness(),
	}
	voltage = append(voltage, a.powersOf(s, rf.PowerExponent, sharePower)...)
	voltage = append(voltage, a.phasesOf(s, push, sharePushing)...)
	list := []*hypothesis{{
		cause: ModulatorVoltage, place: s.Name, main: key{s.Name, rf.BeamVoltage}, effects: voltage,
		needs: []key{{s.Name, rf.BeamVoltage}, {s.Name, rf.BeamCurrent}, {s.Name, rf.ForwardPower}},
	}}
	// A stiff modulator holds its voltage as the cathode tires; one on a matched
	// load line holds its power. Real ones lie between.
	for _, give := range []float64{0, 0.1, 0.2, 0.3, 0.4} {
		volts, amps := -give, 1-voltageCurrent*give
		power := volts + amps
		effects := []effect{
			moves(s.Name, rf.BeamVoltage, volts, 0.1).asWitness(),
			moves(s.Name, rf.BeamCurrent, amps, 0.1).asWitness(),
		}
		effects = append(effects, a.powersOf(s, power, sharePower)...)
		effects = append(effects, a.phasesOf(s, push*volts, sharePushing)...)
		list = append(list, &hypothesis{
			cause: CathodeEmission, place: s.Name, main: key{s.Name, rf.Microperveance}, effects: effects,
			witnesses: []key{{s.Name, rf.Microperveance}},
			needs:     []key{{s.Name, rf.BeamVoltage}, {s.Name, rf.BeamCurrent}, {s.Name, rf.ForwardPower}},
		})
	}
	list = append(list,
		a.doubted(s.Name, rf.BeamVoltage, "the voltage divider"),
		a.doubted(s.Name, rf.BeamCurrent, "the current transformer"))
	return list
}

// driveHypotheses: the drive amplifier, its meter, and the phase upstream of the
// klystron's output.
func (a *analysis) driveHypotheses(s rf.Station) []*hypothesis {
	var list []*hypothesis
	// Near saturation the power hardly follows the drive; far below it follows
	// fully. The local exponent is taken from the saturation given, else tried.
	exponents := []float64{0, 0.25, 0.5, 1}
	if t := a.trace(s.Name, rf.DrivePower); t != nil && rf.Known(s.DriveSaturation) && rf.Known(t.Reference) {
		exponents = []float64{rf.DriveExponent(t.Reference / rf.In(s.DriveSaturation, rf.Watt))}
	}
	for _, e := range exponents {
		effects := []effect{{
			key: key{s.Name, rf.DrivePower}, of: percentOfDB, share: shareExact, witness: true,
		}}
		effects = append(effects, a.powersOf(s, 100*math.Ln10/10*e, 0.3)...)
		effects = append(effects, a.phasesOf(s, driveDegPerDB, shareDrive)...)
		list = append(list, &hypothesis{
			cause: DrivePower, place: s.Name, main: key{s.Name, rf.DrivePower}, effects: effects,
			needs: []key{{s.Name, rf.DrivePower}, {s.Name, rf.ForwardPower}, {s.Name, rf.ForwardPhase}},
		})
	}
	turned := a.phasesOf(s, 1, shareExact)
	list = append(list,
		&hypothesis{
			cause: PhaseDrift, place: s.Name, main: key{s.Name, rf.ForwardPhase}, effects: turned,
			needs: []key{{s.Name, rf.ForwardPhase}},
		},
		&hypothesis{
			cause: PhaseDrift, place: s.Name, main: key{s.Name, rf.ForwardPhase}, variant: "drive phase",
			effects: append([]effect{moves(s.Name, rf.DrivePhase, 1, shareExact).asWitness()}, turned...),
		},
		a.doubted(s.Name, rf.DrivePower, "the drive power meter"),
		a.doubted(s.Name, rf.DrivePhase, "the drive phase reading"),
		a.doubted(s.Name, rf.ForwardPower, "the forward coupler"),
		a.doubted(s.Name, rf.ForwardPhase, "the forward phase pick-up"))
	return list
}

// compressorHypotheses: the cavities' tune, their thermometer and their coupler.
func (a *analysis) compressorHypotheses(s rf.Station) []*hypothesis {
	if !s.HasCompressor() {
		return []*hypothesis{a.waveguidePhase(s)}
	}
	perK := rf.In(rf.ThermalDetuning(a.plant.Frequency, a.plant.ExpansionPerK, 1), rf.Kilohertz)
	effects := a.compressorEffects(s, 1, perK)
	return []*hypothesis{
		{
			cause: CompressorDetuning, place: s.Name, main: key{s.Name, rf.CompressorPhase}, effects: effects,
			witnesses: []key{{s.Name, rf.CompressorPhase}},
			needs:     []key{{s.Name, rf.CompressorTemperature}, {s.Name, rf.CompressedPower}},
		},
		a.doubted(s.Name, rf.CompressorTemperature, "the compressor's thermometer"),
		a.doubted(s.Name, rf.CompressedPower, "the coupler behind the compressor"),
		a.waveguidePhase(s),
	}
}

// compressorWarmer are the effects of cavities that are warmer by one kelvin per
// size.
func (a *analysis) compressorWarmer(s rf.Station) []effect {
	if !s.HasCompressor() {
		return nil
	}
	perK := rf.In(rf.ThermalDetuning(a.plant.Frequency, a.plant.ExpansionPerK, 1), rf.Kilohertz)
	return a.compressorEffects(s, perK, perK)
}

// compressorEffects are the effects of a detuning by so many kilohertz per size,
// where one kelvin is perK kilohertz.
func (a *analysis) compressorEffects(s rf.Station, kHzPerSize, perK float64) []effect {
	c := s.Compressor(a.plant.Frequency)
	start := a.compressorStart(s)
	at := func(size float64) rf.Frequency { return start + rf.Frequency(kHzPerSize*size)*rf.Kilohertz }
	phase := func(size float64) float64 { return rf.In(c.Phase(at(size))-c.Phase(start), rf.Degree) }
	gain := func(size float64) float64 { return 100 * (c.PeakPowerGain(at(size))/c.PeakPowerGain(start) - 1) }
	effects := []effect{
		moves(s.Name, rf.CompressorTemperature, kHzPerSize/perK, 0.15).asWitness(),
		{key: key{s.Name, rf.CompressedPower}, of: gain, share: 0.3},
	}
	for _, structure := range a.plant.StructuresOf(s.Name) {
		effects = append(effects,
			effect{key: key{structure.Name, rf.InputPhase}, of: phase, share: 0.1},
			effect{key: key{structure.Name, rf.OutputPhase}, of: phase, share: 0.1},
			effect{key: key{structure.Name, rf.InputPower}, of: gain, share: 0.3},
			effect{key: key{structure.Name, rf.OutputPower}, of: gain, share: 0.3})
	}
	return effects
}

// waveguidePhase: the phase turns between the klystron's pick-up and the
// structures, with no compressor to do it.
func (a *analysis) waveguidePhase(s rf.Station) *hypothesis {
	return &hypothesis{
		cause: PhaseDrift, place: s.Name, main: key{s.Name, rf.CompressorPhase}, variant: "behind the klystron",
		effects: a.phasesAfter(s, 1, shareExact), penalty: 6,
	}
}

// lossHypotheses: power lost on the way, for the station as a whole and for each
// structure.
func (a *analysis) lossHypotheses(s rf.Station) []*hypothesis {
	list := []*hypothesis{{
		cause: WaveguideLoss, place: s.Name, main: key{s.Name, rf.CompressedPower}, effects: a.powersAfter(s, 1, 0.1),
		sign:  -1,
		needs: []key{{s.Name, rf.ForwardPower}},
	}}
	// What comes back to the klystron does not reach the structures.
	back := []effect{moves(s.Name, rf.ReflectedFraction, 1, shareExact).asWitness()}
	list = append(list,
		&hypothesis{
			cause: ReflectedPower, place: s.Name, main: key{s.Name, rf.ReflectedFraction},
			effects:  append(back, a.powersAfter(s, -1, 0.4)...),
			requires: []key{{s.Name, rf.ReflectedFraction}},
			needs:    []key{{s.Name, rf.ReflectedPower}},
		},
		// Alone it is told all the same: a coupler that errs to the safe side costs
		// a look, a station pushed into a mismatch costs more.
		&hypothesis{
			cause: ReflectedPower, place: s.Name, main: key{s.Name, rf.ReflectedFraction}, variant: "alone", penalty: 4,
			effects:  []effect{moves(s.Name, rf.ReflectedFraction, 1, shareExact)},
			requires: []key{{s.Name, rf.ReflectedFraction}},
		})
	structures := a.plant.StructuresOf(s.Name)
	if s.HasCompressor() && len(structures) > 0 {
		var effects []effect
		for _, structure := range structures {
			effects = append(effects, a.powersAt(structure, 1, 0.1)...)
		}
		list = append(list, &hypothesis{
			cause: WaveguideLoss, place: s.Name, main: key{structures[0].Name, rf.InputPower}, effects: effects,
			variant: "behind the compressor", sign: -1,
		})
	}
	return list
}

// doubted: one reading moves and nothing else does.
func (a *analysis) doubted(place string, q rf.Quantity, what string) *hypothesis {
	return &hypothesis{
		cause: ReadingDoubted, place: place, main: key{place, q}, variant: what, penalty: 4,
		effects: []effect{moves(place, q, 1, 0)},
	}
}
