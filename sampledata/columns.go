package sampledata

import (
	"math"
	"slices"
)

// listChannels lays out the columns of the log, in beam order.
func (n *night) listChannels() {
	for i := range n.stations {
		n.listStation(i)
		for _, x := range n.stations[i].structures {
			if n.structures[x].standing() {
				n.listCavity(x)
			} else {
				n.listSection(x)
			}
			n.listWater(x)
		}
	}
	for _, name := range n.machine.sharedLoops() {
		n.listLoop(name)
	}
	for _, w := range n.machine.Waypoints {
		after, _ := n.machine.station(w.AfterStation)
		n.measure(w.Name, "beam_energy", func() float64 {
			if !n.beam() {
				return math.NaN()
			}
			return n.energyMeV(after)
		})
	}
	n.listMachine()
}

func (n *night) listStation(i int) {
	p, s := &n.stations[i], &n.now.stations[i]
	name := p.Name
	steady := stream(n.machine.Seed, "phases "+name)

	n.measure(name, "beam_voltage", func() float64 { return s.voltageKV })
	n.measure(name, "beam_voltage_set", func() float64 { return s.setKV })
	n.measure(name, "beam_current", func() float64 { return s.currentA })
	n.measure(name, "heater_current", func() float64 { return p.hidden.heaterA })
	n.measure(name, "drive_power", func() float64 { return s.driveW })
	n.measure(name, "drive_phase", func() float64 { return s.setPhaseDeg })
	n.measure(name, "drive_phase_set", func() float64 { return s.setPhaseDeg })
	n.measure(name, "forward_power", func() float64 { return s.forwardMW })
	forward := n.measure(name, "forward_phase", func() float64 { return p.DrivePhaseDeg + s.phaseDeg })
	forward.offset, forward.station = between(steady, -180, 180), i
	n.measure(name, "reflected_power", func() float64 {
		return s.forwardMW * (p.hidden.reflected + n.effects.stations[i].reflectedPercent/100)
	})
	if p.compressed() {
		n.measure(name, "compressed_power", func() float64 {
			return s.compressorMW * real(p.peaks.at(s.detuningKHz))
		})
		n.measure(name, "compressor_temperature", func() float64 { return s.compressorC })
	}
	n.measure(name, "vacuum_pressure", func() float64 { return s.pressure })
	n.measure(name, "pulse_flatness", func() float64 { return p.hidden.flatness })
	n.measure(name, "trip_count", func() float64 {
		count, _ := n.trips(i, math.Inf(-1), n.now.seconds)
		return float64(count)
	})
	n.measure(name, "rf_on", func() float64 {
		if s.on {
			return 1
		}
		return 0
	})
	n.measure(name, "trip_reason", math.NaN).words = true
}

func (n *night) listSection(x int) {
	p, s := &n.structures[x], &n.now.structures[x]
	st, sts := &n.stations[p.station], &n.now.stations[p.station]
	offset := between(stream(n.machine.Seed, "phases "+p.Name), -180, 180)
	input := func() float64 {
		return st.DrivePhaseDeg + sts.phaseDeg + degrees(st.pulses.at(sts.detuningKHz))
	}
	peak := func() float64 { return s.powerMW * real(st.peaks.at(sts.detuningKHz)) }

	n.measure(p.Name, "input_power", peak)
	in := n.measure(p.Name, "input_phase", input)
	n.measure(p.Name, "output_power", func() float64 { return peak() * p.guide.transmission })
	out := n.measure(p.Name, "output_phase", func() float64 { return input() + p.guide.advanceDeg(s.detuningKHz) })
	in.offset, out.offset = offset, offset+p.hidden.tunedPhaseDeg
	in.station, out.station = p.station, p.station
}

func (n *night) listCavity(x int) {
	p, s := &n.structures[x], &n.now.structures[x]
	st, sts := &n.stations[p.station], &n.now.stations[p.station]
	offset := between(stream(n.machine.Seed, "phases "+p.Name), -180, 180)
	forward := func() float64 { return st.DrivePhaseDeg + sts.phaseDeg }

	n.measure(p.Name, "forward_power", func() float64 { return s.powerMW })
	n.measure(p.Name, "reflected_power", func() float64 { return s.powerMW * real(p.reflected.at(s.detuningKHz)) })
	in := n.measure(p.Name, "forward_phase", forward)
	cavity := n.measure(p.Name, "cavity_phase", func() float64 { return forward() + degrees(p.answer.at(s.detuningKHz)) })
	n.measure(p.Name, "cavity_voltage", func() float64 {
		return math.Sqrt(s.powerMW * square(p.answer.at(s.detuningKHz)))
	})
	in.offset, cavity.offset = offset, offset+p.hidden.tunedPhaseDeg
	in.station, cavity.station = p.station, p.station
}

// listWater lays out the thermometers of a structure. The inlet's is the one
// that regulates its water, or stands beside it in the same manifold.
func (n *night) listWater(x int) {
	p, s := &n.structures[x], &n.now.structures[x]
	inlet := n.measure(p.Name, "water_temperature", func() float64 { return s.waterC - n.unseenK(p.loop) })
	back := n.measure(p.Name, "return_temperature", func() float64 {
		return s.waterC + s.waterHeatKW/kilowattPerK(s.flowLPerMin)
	})
	body := n.measure(p.Name, "body_temperature", func() float64 { return s.bodyC })
	inlet.offset, back.offset, body.offset = p.hidden.inletOffsetK, p.hidden.returnOffsetK, p.hidden.bodyOffsetK
	if n.scenario.plays(Quantisation) {
		inlet.quantum, back.quantum, body.quantum = p.hidden.quantumK, p.hidden.quantumK, p.hidden.quantumK
	}
	n.measure(p.Name, "water_flow", func() float64 { return s.flowLPerMin })
}

// unseenK is by how much a loop's water is off without its thermometer saying so.
func (n *night) unseenK(loop int) float64 { return n.effects.loops[loop].regulatingK }

func (n *night) listLoop(name string) {
	loop := slices.Index(n.loops, name)
	steady := stream(n.machine.Seed, "loop "+name)
	setC := n.loopSetC(name)
	valve, heaterKW := between(steady, 35, 55), between(steady, 2, 4)
	n.measure(name, "loop_temperature", func() float64 { return setC + n.now.loopK[loop] - n.unseenK(loop) })
	n.measure(name, "valve_opening", func() float64 {
		e := n.effects.loops[loop]
		own := valve + 60*n.cycleK(n.cycles[loop], n.now.seconds+200) + 1.5*n.now.galleryK
		return own + (e.valveTo-own)*e.valveShare
	})
	n.measure(name, "heater_power", func() float64 {
		return heaterKW - 8*n.cycleK(n.cycles[loop], n.now.seconds+200)
	})
}

func (n *night) loopSetC(name string) float64 {
	for i := range n.structures {
		if n.structures[i].WaterLoop == name {
			return n.structures[i].restInlet
		}
	}
	for i := range n.stations {
		if p := &n.stations[i]; p.WaterLoop == name {
			return p.hidden.tunedDegC - p.hidden.compressorHeatK + p.hidden.restK
		}
	}
	return math.NaN()
}

func (n *night) listMachine() {
	steady := stream(n.machine.Seed, "machine")
	galleryC, humidity, chargeNC := between(steady, 22, 26), between(steady, 38, 52), between(steady, 0.3, 0.9)
	n.measure("machine", "gallery_temperature", func() float64 { return galleryC + n.now.galleryK })
	n.measure("machine", "gallery_humidity", func() float64 { return humidity + n.humidity.at(n.now.seconds) })
	n.measure("machine", "reference_phase", func() float64 { return 0 })
	n.measure("machine", "beam_charge", func() float64 {
		if !n.beam() {
			return 0
		}
		return chargeNC
	})
	n.measure("machine", "repetition_rate", func() float64 { return n.machine.RepetitionRateHz })
}

// reads tells whether a place has such a reading.
func (n *night) reads(place, quantity string) bool {
	return slices.ContainsFunc(n.channels, func(c *channel) bool { return c.Place == place && c.Quantity == quantity })
}
