package sampledata

// effects is what the faults do to the machine at one instant; readings that
// lie are dealt with where they are read.
type effects struct {
	stations     []stationEffect
	structures   []structureEffect
	loops        []loopEffect
	commonWaterK float64
	referenceDeg float64 // of the reference line: every phase reading, no phase
	mainsPercent float64
}

type stationEffect struct {
	voltagePercent    float64
	voltageSetPercent float64
	perveancePercent  float64
	drivePercent      float64
	gainFallPercent   float64 // more drive is needed, and given
	phaseSetDeg       float64
	phaseDeg          float64
	lossPercent       float64
	reflectedPercent  float64 // of the forward power, more
	compressorK       float64
	vacuumFactor      float64
}

type structureEffect struct {
	flowPercent  float64
	sharePercent float64
	lossPercent  float64
}

type loopEffect struct {
	waterK      float64
	regulatingK float64 // of the water, unseen by the regulating thermometer
	valveShare  float64 // how far the valve is on its way to where it goes
	valveTo     float64
}

func (e *effects) clear() {
	clear(e.stations)
	clear(e.structures)
	clear(e.loops)
	for i := range e.stations {
		e.stations[i].vacuumFactor = 1
	}
	e.commonWaterK, e.referenceDeg, e.mainsPercent = 0, 0, 0
}

// effectAt is what a fault does to the machine at the size it has grown to.
type effectAt struct {
	fault *playedFault
	apply func(e *effects, size float64)
}

func (n *night) spoil(seconds float64) {
	n.effects.clear()
	for _, a := range n.spoilers {
		if g := a.fault.grown(seconds); g > 0 {
			a.apply(&n.effects, g*a.fault.Size)
		}
	}
}

// during adds an effect that grows with the fault.
func (n *night) during(f *playedFault, apply func(e *effects, size float64)) {
	n.spoilers = append(n.spoilers, effectAt{fault: f, apply: apply})
}
