package sampledata

import (
	"math"
	"math/rand/v2"
)

// Channel is one column of the log.
type Channel struct {
	Place    string
	Quantity string
	Unit     string // empty: words
	Decimals int    // -1: three significant digits
}

// Header is the column's name as the log writes it.
func (c Channel) Header() string {
	if c.Unit == "" {
		return c.Place + " " + c.Quantity
	}
	return c.Place + " " + c.Quantity + " [" + c.Unit + "]"
}

// channel is a column with what stands between the truth and its readings.
type channel struct {
	Channel
	meter
	truth   func() float64 // NaN: nothing to read
	station int            // whose RF a phase needs; -1: none
	words   bool
	gain    float64
	offset  float64
	perK    float64 // of the gallery: a cable
	share   wander
	shift   wander
	chance  *rand.Rand
	lies    []lie
	last    float64
}

// measure adds a channel. What is steady about its meter comes from the
// machine's seed, what drifts from the night's.
func (n *night) measure(place, quantity string, truth func() float64) *channel {
	m := quantities[quantity]
	key := channelKey(place, quantity)
	steady, tonight := stream(n.machine.Seed, "meter "+key), n.chance("drift "+key)
	c := &channel{
		Channel: Channel{Place: place, Quantity: quantity, Unit: m.unit, Decimals: m.decimals},
		meter:   m, truth: truth, station: -1, gain: 1, chance: n.chance("noise " + key), last: math.NaN(),
	}
	if off := m.errorShare * steady.NormFloat64(); n.scenario.plays(CouplerErrors) {
		c.gain += off
	}
	if m.driftShare > 0 && n.scenario.plays(CouplerDrift) {
		c.share = newWander(tonight, m.driftShare, 4, 14)
	}
	if m.angle && m.drift > 0 {
		c.perK = 0.12 * steady.NormFloat64()
		if n.scenario.plays(PickupDrift) {
			c.shift = newWander(tonight, m.drift, 5, 16)
		}
	}
	if !n.scenario.plays(Quantisation) {
		c.quantum = 0
		if c.Decimals >= 0 && c.noise+c.noiseShare > 0 {
			c.Decimals = 5
		}
	}
	if !n.scenario.plays(Noise) {
		c.noise, c.noiseShare = 0, 0
	}
	n.channels = append(n.channels, c)
	return c
}

// read returns the reading of a channel now, NaN where there is none.
func (c *channel) read(n *night) float64 {
	v := c.truth()
	if c.station >= 0 && !n.now.stations[c.station].on {
		v = between(c.chance, -180, 180) // a phase detector without signal
	} else {
		v = v*c.gain*(1+c.share.at(n.now.seconds)) + c.offset + c.shift.at(n.now.seconds) + c.perK*n.now.galleryK
		if c.angle && c.drift > 0 {
			v += n.effects.referenceDeg
		}
	}
	if c.noise > 0 || c.noiseShare > 0 {
		v += c.noise*c.chance.NormFloat64() + c.noiseShare*v*c.chance.NormFloat64()
	}
	for i := range c.lies {
		l := &c.lies[i]
		switch {
		case l.how != nil:
			if g := l.fault.grown(n.now.seconds); g > 0 {
				v = l.how(v, g)
			}
		case !l.active(n.now.seconds):
		case l.gap:
			return math.NaN()
		case l.stuck && !math.IsNaN(c.last):
			return c.last
		}
	}
	if c.angle && n.scenario.plays(PhaseWrap) {
		v -= 360 * math.Round(v/360)
	}
	c.last = c.steps(v)
	return c.last
}

func (c *channel) steps(v float64) float64 {
	switch {
	case c.decimals < 0 && v > 0:
		scale := math.Pow(10, 2-math.Floor(math.Log10(v)))
		return math.Round(v*scale) / scale
	case c.quantum > 0:
		return math.Round(v/c.quantum) * c.quantum
	}
	return v
}
