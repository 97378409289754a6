package sampledata

import (
	"math"
	"math/rand/v2"
	"time"
)

// night is one scenario on its way: what chance has drawn for it, what its
// faults do, and the state of the machine at the instant it has reached.
type night struct {
	*Linac
	scenario Scenario

	mains      [3]swing
	gallery    wander
	daily      float64 // K, of the gallery's fall until morning
	humidity   wander
	plantWater wander
	cycles     []cycle  // of each loop
	coolers    []cycle  // of each compressor
	drives     []wander // of each station's drive power, relative
	lines      []wander // of each station's phase: drive line, degrees
	pressures  []wander // relative
	bursts     [][]burst
	stops      [][]stop // of each station, in order of time
	starts     float64  // seconds: no RF before, where the night begins with a warm-up

	faults   []*playedFault
	spoilers []effectAt
	lies     map[string][]lie
	silences []lie // no rows at all
	effects  effects

	channels []*channel
	now      state
}

// swing is one of the slow periods in which the mains move.
type swing struct{ percent, perS, phase float64 }

// burst is a short rise of the pressure.
type burst struct{ atS, factor, decayS float64 }

// newNight draws everything that chance decides. Each thing has a stream of
// chance of its own, so that adding a fault leaves the rest of the night alone.
func (l *Linac) newNight(s Scenario) (*night, error) {
	if err := s.validate(); err != nil {
		return nil, err
	}
	n := &night{Linac: l, scenario: s, lies: map[string][]lie{}, starts: math.Inf(-1)}
	n.drawWeather()
	n.drawStations()
	n.effects = effects{
		stations:   make([]stationEffect, len(l.stations)),
		structures: make([]structureEffect, len(l.structures)),
		loops:      make([]loopEffect, len(l.loops)),
	}
	n.now = newState(l)
	n.listChannels()
	n.drawStops()
	if s.plays(SetPointChange) {
		if err := n.admit(n.operatorStep(), true); err != nil {
			return nil, err
		}
	}
	for _, f := range s.Faults {
		if err := n.admit(f, false); err != nil {
			return nil, err
		}
	}
	n.sortStops()
	return n, nil
}

func (n *night) chance(name string) *rand.Rand { return stream(n.scenario.Seed, name) }

func (n *night) drawWeather() {
	r := n.chance("weather")
	for i := range n.mains {
		n.mains[i] = swing{percent: 0.06 * r.NormFloat64(), perS: 2 * math.Pi / (60 * between(r, 15, 200)), phase: 2 * math.Pi * r.Float64()}
	}
	n.gallery = newWander(r, 0.35, 3, 10)
	n.daily = between(r, 0.3, 1.2)
	n.humidity = newWander(r, 3, 3, 12)
	n.plantWater = newWander(r, 0.008, 3, 8)
	for _, name := range n.loops {
		n.cycles = append(n.cycles, newCycle(n.chance("cycle "+name)))
	}
}

func (n *night) drawStations() {
	for _, s := range n.stations {
		r := n.chance("night " + s.Name)
		n.coolers = append(n.coolers, newCycle(r))
		drive, line, pressure := newWander(r, 0.004, 4, 14), newWander(r, 0.2, 4, 14), newWander(r, 0.06, 3, 12)
		if !n.scenario.plays(DriveDrift) {
			drive, line = wander{}, wander{}
		}
		var bursts []burst
		for range r.IntN(4) {
			bursts = append(bursts, burst{atS: r.Float64() * n.scenario.Length.Seconds(), factor: between(r, 1.5, 6), decayS: between(r, 30, 150)})
		}
		if !n.scenario.plays(VacuumUnrest) {
			pressure, bursts = wander{}, nil
		}
		n.drives, n.lines, n.pressures = append(n.drives, drive), append(n.lines, line), append(n.pressures, pressure)
		n.bursts = append(n.bursts, bursts)
	}
}

// operatorStep is a change that somebody makes on purpose, well inside the night.
func (n *night) operatorStep() Fault {
	r := n.chance("operator")
	f := Fault{
		Kind:  "set_point",
		Place: n.stations[r.IntN(len(n.stations)-1)].Name,
		Start: n.scenario.Start.Add(time.Duration(between(r, 0.3, 0.8) * float64(n.scenario.Length)).Truncate(time.Second)),
	}
	sign := float64(1 - 2*r.IntN(2))
	if r.IntN(2) == 0 {
		f.Quantity, f.Size = "drive_phase", sign*round(between(r, 4, 9), 1)
	} else {
		f.Quantity, f.Size = "beam_voltage", sign*round(between(r, 0.7, 1.2), 2)
	}
	return f
}

// mainsPercent is the change of the mains at an instant.
func (n *night) mainsPercent(seconds float64) float64 {
	if !n.scenario.plays(MainsSwing) {
		return 0
	}
	sum := 0.0
	for _, m := range n.mains {
		sum += m.percent * math.Sin(m.perS*seconds+m.phase)
	}
	return sum
}

// galleryK is the change of the gallery's temperature since the log's start.
func (n *night) galleryK(seconds float64) float64 {
	if !n.scenario.plays(GallerySwing) {
		return 0
	}
	return n.gallery.at(seconds) - n.daily*math.Sin(2*math.Pi*seconds/86400)
}

// cycleK is what the regulation of a water does on its own.
func (n *night) cycleK(c cycle, seconds float64) float64 {
	if !n.scenario.plays(WaterCycles) {
		return 0
	}
	return c.at(seconds)
}
