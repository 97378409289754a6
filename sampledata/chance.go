package sampledata

import (
	"hash/fnv"
	"math"
	"math/rand/v2"
)

// stream returns a source of chance of its own for a name: leaving one channel
// out, or adding a fault, changes no other channel's noise.
func stream(seed uint64, name string) *rand.Rand {
	h := fnv.New64a()
	h.Write([]byte(name))
	return rand.New(rand.NewPCG(seed, h.Sum64()))
}

// between returns a number drawn evenly from low to high.
func between(r *rand.Rand, low, high float64) float64 { return low + (high-low)*r.Float64() }

// wander is a slow, smooth change that starts at zero: three swings of unequal
// period and chance phase. The zero wander stands still.
type wander struct {
	size, perS, phase [3]float64
	start             float64
}

// newWander draws a wander whose swings add up to about the given size (one
// sigma), with periods from shortest to longest.
func newWander(r *rand.Rand, size, shortestH, longestH float64) wander {
	var w wander
	for i := range w.size {
		periodH := between(r, shortestH, longestH)
		w.size[i] = size * r.NormFloat64() * math.Sqrt(2./3)
		w.perS[i] = 2 * math.Pi / (periodH * 3600)
		w.phase[i] = 2 * math.Pi * r.Float64()
	}
	w.start = w.level(0)
	return w
}

func (w *wander) at(seconds float64) float64 {
	if w.size[0] == 0 {
		return 0
	}
	return w.level(seconds) - w.start
}

func (w *wander) level(seconds float64) float64 {
	sum := 0.0
	for i, size := range w.size {
		sum += size * math.Sin(w.perS[i]*seconds+w.phase[i])
	}
	return sum
}

// cycle is the hunting of a water regulation: a few hundredths of a kelvin at a
// period that is itself not quite steady.
type cycle struct {
	sizeK, perS, phase    float64
	unrest, unrestPerS    float64
	slowK, slowPerS, turn float64
}

func newCycle(r *rand.Rand) cycle {
	return cycle{
		sizeK: between(r, 0.012, 0.035), perS: 2 * math.Pi / (60 * between(r, 20, 40)), phase: 2 * math.Pi * r.Float64(),
		unrest: between(r, 0.2, 0.8), unrestPerS: 2 * math.Pi / (60 * between(r, 70, 160)),
		slowK: between(r, 0.003, 0.012), slowPerS: 2 * math.Pi / (3600 * between(r, 3, 9)), turn: 2 * math.Pi * r.Float64(),
	}
}

func (c cycle) at(seconds float64) float64 {
	return c.sizeK*math.Sin(c.perS*seconds+c.phase+c.unrest*math.Sin(c.unrestPerS*seconds)) +
		c.slowK*math.Sin(c.slowPerS*seconds+c.turn)
}
