package series

import (
	"math"
	"math/rand/v2"
)

// noise makes records of noise, one value a minute, of which the statistics know
// nothing.
type noise struct {
	minutes int
	white   float64 // one sigma
	wander  float64 // one sigma of first-order noise
	memory  float64 // of it, minutes
	cycle   float64 // half of peak to peak
	period  float64 // minutes
	jitter  float64 // one sigma of a period, as a share; a sawtooth, else a sine
}

func (n noise) record(r *rand.Rand) (h, y []float64) {
	h, y = make([]float64, n.minutes), make([]float64, n.minutes)
	keep := 0.0
	if n.memory > 0 {
		keep = math.Exp(-1 / n.memory)
	}
	wander := n.wander * r.NormFloat64()
	for i := range y {
		h[i] = float64(i) / 60
		y[i] = wander + n.white*r.NormFloat64()
		wander = keep*wander + math.Sqrt(1-keep*keep)*n.wander*r.NormFloat64()
	}
	if n.cycle > 0 {
		n.addCycle(r, y)
	}
	return h, y
}

// addCycle adds a sine, or where the period jitters the slow rise and fast fall of
// a chiller between two thermostat points.
func (n noise) addCycle(r *rand.Rand, y []float64) {
	from := -n.period * r.Float64()
	to := from + n.period
	for i := range y {
		t := float64(i)
		for t >= to {
			from, to = to, to+n.period*(1+n.jitter*r.NormFloat64())
		}
		turn := (t - from) / (to - from)
		swing := math.Sin(2 * math.Pi * turn)
		if n.jitter > 0 {
			swing = 2*min(turn/0.7, (1-turn)/0.3) - 1
		}
		y[i] += n.cycle * swing
	}
}

func seeded() *rand.Rand { return rand.New(rand.NewPCG(1, 2)) }
