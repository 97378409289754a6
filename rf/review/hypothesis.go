package review

import (
	"math"

	"dawncrest/rf"
)

// hypothesis is one thing that may have gone wrong, as the changes it would make
// to everything that is read. Its size is fitted to what was observed.
type hypothesis struct {
	cause   Cause
	place   string
	station string
	main    key // the reading that names its size
	effects []effect
	common  bool // must be seen at most of its places
	own     bool // a common cause that every station follows by its own share
	// variant distinguishes hypotheses of one cause that differ in what they move.
	variant string
	// steadied are readings that must not have moved: their silence is evidence.
	steady []key
	// needs are the witnesses of which, when not logged, the cause is only likely.
	needs []key
	// witnesses are derived readings that must be seen to move as predicted, where
	// they are known: a difference is blind to what moves both of its sides.
	witnesses []key
	// must are readings of which at least one must have moved, where any is logged.
	must []key
	// requires are readings without which the cause cannot be told apart.
	requires []key
	// sign is the only one that the size may have; 0: either.
	sign float64
	// penalty is subtracted from the score: rarer explanations must explain more.
	penalty float64
}

// effect is what a hypothesis of a given size does to one reading.
type effect struct {
	key
	of      func(size float64) float64
	share   float64 // one sigma of the model, as a share of what it predicts
	witness bool    // must be seen, where logged, for the hypothesis to stand
	free    bool    // known by its direction only
}

// moves is an effect proportional to the size.
func moves(place string, q rf.Quantity, per, share float64) effect {
	return effect{key: key{place, q}, of: func(size float64) float64 { return per * size }, share: share}
}

func (e effect) asWitness() effect {
	e.witness = true
	return e
}

// prediction is what a hypothesis says of one reading.
type prediction struct {
	value float64
	share float64
	free  bool
}

// plus is what two ways of one cause do to the same reading.
func (p prediction) plus(o prediction) prediction {
	sum := prediction{value: p.value + o.value, free: p.free || o.free}
	if sum.value != 0 {
		sum.share = math.Hypot(p.share*p.value, o.share*o.value) / math.Abs(sum.value)
	}
	return sum
}

// predict returns what a hypothesis of a size says of every reading, derived
// ones included.
func (a *analysis) predict(h *hypothesis, size float64) map[key]prediction {
	p := make(map[key]prediction, 2*len(h.effects))
	for _, e := range h.effects {
		p[e.key] = p[e.key].plus(prediction{value: e.of(size), share: e.share, free: e.free})
	}
	stations := map[string]bool{}
	for k := range p {
		if s := a.stationOf(k.place); s != "" {
			stations[s] = true
		}
	}
	for s := range stations {
		a.predictDerived(s, p)
	}
	return p
}

// predictDerived follows the derived readings of a station from the logged ones.
func (a *analysis) predictDerived(station string, p map[key]prediction) {
	at := func(place string, q rf.Quantity) prediction { return p[key{place, q}] }
	put := func(place string, q rf.Quantity, terms ...prediction) {
		var value, variance float64
		for _, t := range terms {
			value += t.value
			variance += t.value * t.share * t.value * t.share
		}
		if value == 0 && variance == 0 {
			return
		}
		share := 0.0
		if value != 0 {
			share = math.Min(1, math.Sqrt(variance)/math.Abs(value))
		}
		p[key{place, q}] = prediction{value: value, share: share}
	}
	times := func(t prediction, factor float64) prediction {
		return prediction{value: factor * t.value, share: t.share}
	}

	voltage, current := at(station, rf.BeamVoltage), at(station, rf.BeamCurrent)
	forward, compressed := at(station, rf.ForwardPower), at(station, rf.CompressedPower)
	if voltage.value != 0 && current.value != 0 && math.Abs(current.value-1.5*voltage.value) < 1e-9 {
		// On the perveance law the two cancel exactly, errors and all.
	} else {
		put(station, rf.Microperveance, current, times(voltage, -1.5))
	}
	put(station, rf.Efficiency, forward, times(voltage, -1), times(current, -1))
	cancelling(p, station, rf.PeakPowerGain, compressed, forward)

	structures := a.plant.StructuresOf(station)
	sum, n := prediction{}, 0.0
	for _, s := range structures {
		in, out := at(s.Name, rf.InputPhase), at(s.Name, rf.OutputPhase)
		if s.TravellingWave() {
			cancelling(p, s.Name, rf.PhaseAdvance, out, in)
			sum.value += in.value
			sum.share = math.Max(sum.share, in.share)
			n++
		} else {
			cancelling(p, s.Name, rf.PhaseAdvance, at(s.Name, rf.CavityPhase), at(s.Name, rf.ForwardPhase))
		}
		feed := compressed
		if a.channel(station, rf.CompressedPower) == nil {
			feed = forward
		}
		cancelling(p, s.Name, rf.CouplerRatio, at(s.Name, rf.InputPower), feed)
	}
	if n > 0 {
		sum.value /= n
		cancelling(p, station, rf.CompressorPhase, sum, at(station, rf.ForwardPhase))
	}
}

// cancelling predicts a difference of two readings that one cause moves alike:
// what they share cancels, and its model error with it.
func cancelling(p map[key]prediction, place string, q rf.Quantity, plus, minus prediction) {
	value := plus.value - minus.value
	if math.Abs(value) < 1e-9*(math.Abs(plus.value)+math.Abs(minus.value)) {
		return
	}
	p[key{place, q}] = prediction{value: value, share: math.Max(plus.share, minus.share)}
}
