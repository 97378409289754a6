package review

import (
	"math"
	"sort"

	"dawncrest/rf"
)

const (
	freeScore   = 9.0 // most that a reading known by its direction only adds
	leastScore  = 9.0 // a cause must explain at least three sigma squared
	commonShare = 0.6 // of the places must follow a common cause
	commonLeast = 3   // places, below which nothing is common
)

// explained is a hypothesis that was accepted.
type explained struct {
	*hypothesis
	size    float64
	score   float64
	claims  map[key]prediction // what it explains
	seed    key
	flagged []key // flagged readings that it explains
	beyond  bool  // a common cause is itself beyond the drift limit
}

// explain finds the fewest causes that account for every flagged reading: the
// common ones first, then, from the worst reading down, the hypothesis that
// explains most of all readings and contradicts least.
func (a *analysis) explain(common, local []*hypothesis) (accepted []explained, left []*observable) {
	for _, h := range common {
		if x, ok := a.tryCommon(h); ok {
			a.accept(&x)
			if h.cause == CommonPhase {
				a.commonPhaseDeg = x.size
			}
			if len(x.flagged) > 0 && x.beyond {
				accepted = merged(accepted, x)
				a.setApart(&x)
			}
		}
	}
	touching := map[key][]*hypothesis{}
	for _, h := range local {
		for k := range a.predict(h, 1) {
			touching[k] = append(touching[k], h)
		}
	}
	given := map[key]bool{}
	for {
		seed := a.worstSeed(given)
		if seed == nil {
			return accepted, left
		}
		var best explained
		for _, h := range touching[seed.key] {
			if x, ok := a.try(h, seed); ok && x.score > best.score {
				best = x
			}
		}
		if best.hypothesis == nil {
			given[seed.key] = true
			left = append(left, seed)
			continue
		}
		a.accept(&best)
		if a.stillSeed(seed) {
			given[seed.key] = true // explained in part: say no more of it twice
		}
		accepted = merged(accepted, best)
	}
}

// setApart asks for a cause of its own where the tune of a structure did not
// follow the common water, though its readings may stand still.
func (a *analysis) setApart(x *explained) {
	for k := range x.claims {
		o := a.observed[k]
		if x.cause == CommonWater && k.q == rf.PhaseAdvance && o != nil && !o.flagged && math.Abs(o.residual) > o.limit {
			o.flagged, o.apart = true, true
		}
	}
}

// merged adds a cause, or what it explains to the same cause told already.
func merged(accepted []explained, x explained) []explained {
	for i := range accepted {
		if accepted[i].cause != x.cause || accepted[i].place != x.place {
			continue
		}
		for k, p := range x.claims {
			accepted[i].claims[k] = p
		}
		accepted[i].flagged = append(accepted[i].flagged, x.flagged...)
		return accepted
	}
	return append(accepted, x)
}

// worstSeed returns the flagged reading that is furthest from explained.
func (a *analysis) worstSeed(given map[key]bool) *observable {
	var seeds []*observable
	for k, o := range a.observed {
		if o.flagged && !given[k] && a.stillSeed(o) {
			seeds = append(seeds, o)
		}
	}
	if len(seeds) == 0 {
		return nil
	}
	sort.Slice(seeds, func(i, j int) bool {
		x, y := math.Abs(seeds[i].residual)/seeds[i].sigma, math.Abs(seeds[j].residual)/seeds[j].sigma
		if x != y {
			return x > y
		}
		return less(seeds[i].key, seeds[j].key)
	})
	return seeds[0]
}

func less(a, b key) bool {
	if a.place != b.place {
		return a.place < b.place
	}
	return a.q < b.q
}

// stillSeed reports whether a flagged reading still asks for a cause.
func (a *analysis) stillSeed(o *observable) bool {
	if math.Abs(o.change) > o.limit || o.apart {
		return math.Abs(o.residual) > o.limit
	}
	return math.Abs(o.residual) > 0.5*math.Abs(o.change) // flagged by where it is heading
}

// try fits the size of a hypothesis and scores it by what it explains over all
// readings, those it says must move and those it says must not.
func (a *analysis) try(h *hypothesis, seed *observable) (explained, bool) {
	size, ok := a.fit(h, seed)
	if !ok {
		return explained{}, false
	}
	if size*h.sign < 0 || !a.allObserved(h.requires) {
		return explained{}, false
	}
	claims := a.predict(h, size)
	p, moved := claims[seed.key]
	if !moved || p.value*seed.residual <= 0 {
		return explained{}, false
	}
	x := explained{hypothesis: h, size: size, claims: claims, seed: seed.key, score: -h.penalty}
	for _, k := range a.observedAmong(claims) {
		o, p := a.observed[k], claims[k]
		before, after := o.residual/o.sigma, remaining(o.residual, p)/o.sigma
		gain := before*before - after*after
		if p.free {
			gain = math.Min(gain, freeScore)
		}
		x.score += gain
	}
	for _, k := range h.witnesses {
		if o := a.observed[k]; o != nil && !agrees(o, claims[k]) {
			return explained{}, false
		}
	}
	if o := a.observed[seed.key]; math.Abs(remaining(o.residual, p)) > math.Max(math.Abs(o.residual)/2, 2*o.sigma) {
		return explained{}, false
	}
	if !a.anyMoved(h.must, claims) {
		return explained{}, false
	}
	for _, k := range h.steady {
		o := a.observed[k]
		if o == nil {
			continue
		}
		moved := o.residual
		if k.place == rf.MachinePlace {
			moved = o.change
		}
		if math.Abs(moved) > o.limit {
			return explained{}, false
		}
	}
	for _, e := range h.effects {
		if o := a.observed[e.key]; e.witness && o != nil && !agrees(o, claims[e.key]) {
			return explained{}, false
		}
	}
	return x, x.score > leastScore
}

// observedAmong returns the readings that a prediction speaks of, in one order
// always: sums over them, and ties between causes, must not depend on chance.
func (a *analysis) observedAmong(p map[key]prediction) []key {
	keys := make([]key, 0, len(p))
	for k := range p {
		if a.observed[k] != nil {
			keys = append(keys, k)
		}
	}
	sort.Slice(keys, func(i, j int) bool { return less(keys[i], keys[j]) })
	return keys
}

// anyMoved reports whether one of the readings moved as claimed, or none is
// logged.
func (a *analysis) anyMoved(must []key, claims map[key]prediction) bool {
	logged := false
	for _, k := range must {
		if a.observed[k] != nil {
			logged = true
			// What belongs to the whole machine moves for every place at once, and
			// is taken out of the residuals by the first that claims it.
			o := a.observed[k]
			if claims[k].value != 0 || k.place == rf.MachinePlace && math.Abs(o.change) > 2*o.sigma {
				return true
			}
		}
	}
	return !logged
}

func (a *analysis) allObserved(keys []key) bool {
	for _, k := range keys {
		if a.observed[k] == nil {
			return false
		}
	}
	return true
}

// fit returns the size of a hypothesis that fits the residuals best.
func (a *analysis) fit(h *hypothesis, seed *observable) (float64, bool) {
	unit := a.predict(h, 1)[seed.key].value
	if unit == 0 || math.IsNaN(unit) {
		return 0, false
	}
	size := seed.residual / unit
	for range 4 {
		now, near := a.predict(h, size), a.predict(h, size*1.01)
		var num, den float64
		for _, k := range a.observedAmong(now) {
			o, p := a.observed[k], now[k]
			slope := (near[k].value - p.value) / (0.01 * size)
			variance := o.sigma*o.sigma + p.share*p.value*p.share*p.value
			num += slope * (o.residual - p.value) / variance
			den += slope * slope / variance
		}
		if den == 0 || math.IsNaN(num/den) {
			return 0, false
		}
		size += num / den
		if size == 0 || math.IsNaN(size) || math.IsInf(size, 0) {
			return 0, false
		}
	}
	return size, true
}

// remaining is what a prediction leaves of a residual, its own model error
// forgiven.
func remaining(residual float64, p prediction) float64 {
	off := residual - p.value
	slack := 2 * p.share * math.Abs(p.value)
	if math.Abs(off) <= slack {
		return 0
	}
	return math.Copysign(math.Abs(off)-slack, off)
}

// agrees reports whether a witness moved as predicted: not too far off, and at
// least a good part of the way.
func agrees(o *observable, p prediction) bool {
	if math.Abs(p.value) < 2*o.sigma {
		return true // too small to be seen
	}
	return math.Abs(remaining(o.residual, p)) < math.Max(3*o.sigma, 0.4*math.Abs(p.value)) && o.residual*p.value > 0
}

// accept takes what a cause explains out of the residuals.
func (a *analysis) accept(x *explained) {
	for k, p := range x.claims {
		o := a.observed[k]
		if o == nil {
			continue
		}
		was := a.stillSeed(o)
		o.residual = remaining(o.residual, p)
		if o.flagged && was && !a.stillSeed(o) {
			x.flagged = append(x.flagged, k)
		}
	}
	sort.Slice(x.flagged, func(i, j int) bool { return less(x.flagged[i], x.flagged[j]) })
}

// tryCommon tries a hypothesis that must hold at most places at once. Its size is
// the median over the places, which a single fault cannot move.
func (a *analysis) tryCommon(h *hypothesis) (explained, bool) {
	var sizes []float64
	for _, e := range h.effects {
		o := a.observed[e.key]
		if unit := e.of(1); e.key.q == h.main.q && o != nil && unit != 0 {
			sizes = append(sizes, o.residual/unit)
		}
	}
	if len(sizes) < commonLeast {
		return explained{}, false
	}
	size := median(sizes)
	limit := math.Inf(1) // in the unit of the main reading, of which one moves it by one
	for _, e := range h.effects {
		if o := a.observed[e.key]; o != nil && e.key.q == h.main.q {
			limit = math.Min(limit, o.limit)
		}
	}
	near := 0
	for _, s := range sizes {
		if math.Abs(s-size) < limit/2 {
			near++
		}
	}
	if float64(near) < commonShare*float64(len(sizes)) {
		return explained{}, false
	}
	x := explained{hypothesis: h, size: size, claims: a.predict(h, size), seed: h.main, beyond: math.Abs(size) > limit}
	if h.own {
		a.ownShares(&x)
	}
	return x, size != 0
}

const (
	leastOwnShare = 0.3 // of a common cause, that a station which regulates well still follows
	mostOwnShare  = 1.7
)

// ownShares lets every station follow a common cause by its own share: modulators
// regulate more or less well against the mains.
func (a *analysis) ownShares(x *explained) {
	sizes := map[string]float64{}
	for _, e := range x.effects {
		o := a.observed[e.key]
		if e.key.q != x.main.q || o == nil {
			continue
		}
		if share := o.residual / e.of(x.size); share > leastOwnShare && share < mostOwnShare {
			sizes[a.stationOf(e.place)] = share * x.size
		}
	}
	for station, size := range sizes {
		for k, p := range a.predict(x.hypothesis, size) {
			if a.stationOf(k.place) == station {
				x.claims[k] = p
			}
		}
	}
}

func median(v []float64) float64 {
	s := append([]float64(nil), v...)
	sort.Float64s(s)
	n := len(s)
	return (s[(n-1)/2] + s[n/2]) / 2
}
