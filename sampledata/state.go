package sampledata

import (
	"math"
	"math/cmplx"
)

// state is the machine at one instant, as it truly is.
type state struct {
	seconds    float64 // after the log's start
	stations   []stationState
	structures []structureState
	loopK      []float64 // of each loop's water, against where it was set
	galleryK   float64
}

type stationState struct {
	on           bool // makes RF
	rise         float64
	voltageKV    float64
	setKV        float64
	currentA     float64
	driveW       float64
	forwardMW    float64
	phaseDeg     float64 // of the klystron's wave, against where it was phased
	setPhaseDeg  float64
	compressorC  float64
	detuningKHz  float64 // of the compressor
	compressorMW float64 // of the klystron's wave, where the compressor stands
	deliveredMW  float64 // of the klystron's wave, at the splitter
	pressure     float64 // mbar
	gain         complex128
}

type structureState struct {
	waterC      float64 // true, at its inlet
	bodyC       float64
	flowLPerMin float64
	heatKW      float64 // of RF in its copper
	waterHeatKW float64
	detuningKHz float64
	powerMW     float64 // of the klystron's wave
	gain        complex128
}

func newState(l *Linac) state {
	s := state{
		stations:   make([]stationState, len(l.stations)),
		structures: make([]structureState, len(l.structures)),
		loopK:      make([]float64, len(l.loops)),
	}
	for i := range s.stations {
		s.stations[i].compressorC = l.stations[i].hidden.tunedDegC - l.stations[i].hidden.compressorHeatK
	}
	for i := range s.structures {
		s.structures[i].waterC = l.structures[i].restInlet
		s.structures[i].bodyC = l.structures[i].restInlet
	}
	return s
}

// step takes the slow things from where they are to the given instant: waters,
// bodies, compressors. RF follows at once.
func (n *night) step(seconds, stepS float64) {
	n.now.seconds = seconds
	n.spoil(seconds)
	n.now.galleryK = n.galleryK(seconds)
	plantK := 0.0
	if n.scenario.plays(WaterCycles) {
		plantK = n.plantWater.at(seconds)
	}
	for i := range n.now.loopK {
		e := n.effects.loops[i]
		n.now.loopK[i] = n.cycleK(n.cycles[i], seconds) + plantK + n.effects.commonWaterK + e.waterK + e.regulatingK
	}
	mains := n.mainsPercent(seconds)
	for i := range n.now.stations {
		n.stepStation(i, mains, stepS)
	}
	for i := range n.now.structures {
		n.stepStructure(i, stepS)
	}
}

func (n *night) stepStation(i int, mains, stepS float64) {
	p, s, e := &n.stations[i], &n.now.stations[i], &n.effects.stations[i]
	on, rise, highOff := n.runs(i, n.now.seconds)
	s.on, s.rise = on, rise

	s.setKV = p.VoltageKV * (1 + e.voltageSetPercent/100)
	aimKV := s.setKV * (1 + e.voltagePercent/100) * (1 + (mains*p.hidden.mainsShare+n.effects.mainsPercent)/100) * rise
	microperveance := p.hidden.microperveance * (1 + e.perveancePercent/100)
	s.voltageKV = p.voltage(aimKV, microperveance)
	if highOff {
		s.voltageKV = 0
	}
	s.currentA = microperveance * 1e-6 * math.Pow(s.voltageKV*1e3, 1.5)

	more := 1 + e.gainFallPercent/100
	s.driveW = p.DriveW * (1 + e.drivePercent/100) * (1 + n.drives[i].at(n.now.seconds)) * more
	s.setPhaseDeg = p.DrivePhaseDeg + e.phaseSetDeg
	s.forwardMW, s.compressorMW, s.deliveredMW, s.phaseDeg = 0, 0, 0, 0
	if !on || highOff {
		s.on, s.driveW = false, 0
	} else {
		s.forwardMW = p.forwardMW(s.voltageKV, microperveance, s.driveW/more)
		s.compressorMW = s.forwardMW * p.hidden.lossShare * (1 - e.reflectedPercent/100)
		s.deliveredMW = s.compressorMW * (1 - e.lossPercent/100)
		s.phaseDeg = e.phaseSetDeg + e.phaseDeg + n.lineDeg(i) +
			p.hidden.pushing*100*(s.voltageKV/p.VoltageKV-1) +
			p.hidden.turnDegPerDB*10*math.Log10(s.driveW/more/p.DriveW)
	}

	if p.compressed() {
		waterC := p.hidden.tunedDegC - p.hidden.compressorHeatK + p.hidden.restK + e.compressorK + n.coolerK(i)
		aimC := waterC + p.hidden.compressorHeatK*s.forwardMW/p.normalMW
		s.compressorC = relax(s.compressorC, aimC, stepS, p.hidden.compressorLagS)
		s.detuningKHz = -n.machine.ExpansionPerK * n.machine.FrequencyMHz * 1e3 * (s.compressorC - p.hidden.tunedDegC)
	}
	s.pressure = p.hidden.vacuumMbar * (1 + n.pressures[i].at(n.now.seconds)) * e.vacuumFactor * n.outgassing(i)
}

// voltage returns the beam voltage of a modulator that aims at one, with the
// perveance its klystron has now.
func (p *preparedStation) voltage(aimKV, microperveance float64) float64 {
	if !p.LoadLine {
		return aimKV
	}
	const perveancePerMicro = 0.0316227766 // A/kV^1.5
	normal := p.hidden.microperveance * perveancePerMicro
	source := aimKV + p.resistKOhm*normal*aimKV*math.Sqrt(aimKV)
	return loadLine(source, p.resistKOhm, microperveance*perveancePerMicro)
}

// lineDeg is how far the drive line has moved the phase of a station.
func (n *night) lineDeg(i int) float64 {
	return n.stations[i].hidden.driveLineDegPerK*n.now.galleryK + n.lines[i].at(n.now.seconds)
}

// coolerK is what a compressor's water does: its loop's, else its own cycle.
func (n *night) coolerK(i int) float64 {
	if loop := n.stations[i].loop; loop >= 0 {
		return n.now.loopK[loop]
	}
	return n.cycleK(n.coolers[i], n.now.seconds) + n.effects.commonWaterK
}

// outgassing is the factor on the pressure from bursts and from trips.
func (n *night) outgassing(i int) float64 {
	factor := 1.0
	for _, b := range n.bursts[i] {
		if since := n.now.seconds - b.atS; since >= 0 {
			factor += (b.factor - 1) * math.Exp(-since/b.decayS)
		}
	}
	if n.scenario.plays(VacuumUnrest) {
		for _, s := range n.stops[i] {
			if since := n.now.seconds - s.fromS; s.trip && since >= 0 {
				factor += 4 * math.Exp(-since/60)
			}
		}
	}
	return factor
}

// stepStructure takes water and body of a structure one step on:
//
//	C dT/dt = RF heat - (T - inlet)/H,   H = 1/(2 m c) + film
//
// where the film between copper and water thins with the flow to the power 0.8.
func (n *night) stepStructure(i int, stepS float64) {
	p, s, e := &n.structures[i], &n.now.structures[i], &n.effects.structures[i]
	st := &n.now.stations[p.station]

	s.powerMW = st.deliveredMW * p.PowerShare * (1 + e.sharePercent/100) * (1 - e.lossPercent/100)
	energyUs := real(n.stations[p.station].energies.at(st.detuningKHz))
	s.heatKW = s.powerMW * energyUs * n.machine.RepetitionRateHz * 1e-3 * p.copperShare

	s.waterC = relax(s.waterC, p.restInlet+n.now.loopK[p.loop], stepS, p.hidden.waterLagS)
	flow := 1 + e.flowPercent/100
	s.flowLPerMin = p.FlowLPerMin * flow
	resistance := p.resistance(flow)
	s.waterHeatKW = (s.bodyC - s.waterC) / resistance
	capacity := p.hidden.lagS / p.resistance(1)
	s.bodyC = relax(s.bodyC, s.waterC+s.heatKW*resistance, stepS, capacity*resistance)
	s.detuningKHz = -p.hidden.kHzPerK * (s.bodyC - p.tunedBody)
}

// resistance returns kelvin of body above inlet per kilowatt at a share of the
// normal flow.
func (p *preparedStructure) resistance(flow float64) float64 {
	bulk := 1 / (2 * kilowattPerK(p.FlowLPerMin))
	film := p.hidden.heatingKPerKW - bulk
	return bulk/flow + film*math.Pow(flow, -0.8)
}

func kilowattPerK(flowLPerMin float64) float64 { return flowLPerMin / 60 * waterHeatJPerLK / 1e3 }

// relax takes a value towards its aim for one step of a first-order lag, by the
// midpoint rule in substeps that are short against the lag.
func relax(value, aim, stepS, lagS float64) float64 {
	parts := max(1, math.Ceil(stepS/(lagS/8)))
	h := stepS / parts / lagS
	for range int(parts) {
		middle := value + h/2*(aim-value)
		value += h * (aim - middle)
	}
	return value
}

// look works out what follows at once from the slow state: the energy gains.
func (n *night) look() {
	for i := range n.now.stations {
		p, s := &n.stations[i], &n.now.stations[i]
		s.gain = 0
		turn := cmplx.Rect(1, (p.CrestOffsetDeg+s.phaseDeg)*math.Pi/180-p.normalAngle)
		for _, x := range p.structures {
			q := &n.now.structures[x]
			q.gain = n.structures[x].voltage(q.powerMW, s.detuningKHz, q.detuningKHz) * turn
			s.gain += q.gain
		}
	}
}

// energyMeV is the beam's energy after a station; spares make none.
func (n *night) energyMeV(after int) float64 {
	e := n.machine.InjectionEnergyMeV
	for i := 0; i <= after; i++ {
		if !n.stations[i].Spare {
			e += real(n.now.stations[i].gain)
		}
	}
	return e
}

// beam tells whether there is beam: a trip or a stop of the whole machine stops
// it, a station in standby does not.
func (n *night) beam() bool {
	off := 0
	for i := range n.now.stations {
		s := &n.now.stations[i]
		if n.stations[i].Spare {
			continue
		}
		if !s.on || s.rise < 1 {
			off++
			if n.tripping(i) {
				return false
			}
		}
	}
	return off <= 1
}

func (n *night) tripping(station int) bool {
	for _, s := range n.stops[station] {
		if s.trip && n.now.seconds >= s.fromS && n.now.seconds < s.toS+s.riseS {
			return true
		}
	}
	return false
}
