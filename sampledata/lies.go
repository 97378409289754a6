package sampledata

import "math"

// lie is what a fault does to one reading while the machine itself is well.
type lie struct {
	fault *playedFault
	how   func(value, grown float64) float64
	stuck bool
	gap   bool
	toS   float64 // a stuck reading or a gap ends here
}

func channelKey(place, quantity string) string { return place + " " + quantity }

func (n *night) lieAbout(f *playedFault, l lie) {
	l.fault = f
	key := channelKey(f.Place, f.Quantity)
	n.lies[key] = append(n.lies[key], l)
}

func beginAdded(n *night, f *playedFault) error {
	n.lieAbout(f, lie{how: func(v, grown float64) float64 { return v + grown*f.Size }})
	return nil
}

func beginDoubted(n *night, f *playedFault) error {
	if quantities[f.Quantity].angle {
		return beginAdded(n, f)
	}
	n.lieAbout(f, lie{how: func(v, grown float64) float64 { return v * (1 + grown*f.Size/100) }})
	return nil
}

func beginStuck(n *night, f *playedFault) error {
	toS := math.Inf(1)
	if f.Size > 0 {
		toS = f.fromS + 3600*f.Size
	}
	n.lieAbout(f, lie{stuck: true, toS: toS})
	return nil
}

func beginGap(n *night, f *playedFault) error {
	gap := lie{gap: true, toS: f.fromS + 60*f.Size}
	switch {
	case f.Place == "machine" && f.Quantity == "":
		gap.fault = f
		n.silences = append(n.silences, gap)
	case f.Quantity != "":
		n.lieAbout(f, gap)
	default:
		gap.fault = f
		for _, c := range n.channels {
			if c.Place == f.Place {
				key := channelKey(c.Place, c.Quantity)
				n.lies[key] = append(n.lies[key], gap)
			}
		}
	}
	return nil
}

func (l *lie) active(seconds float64) bool { return seconds >= l.fault.fromS && seconds < l.toS }
