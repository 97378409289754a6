package sampledata

import (
	"fmt"
	"math"
	"time"
)

// Sink takes a night row by row.
type Sink interface {
	// Begin tells once what the columns are.
	Begin(channels []Channel) error
	// Row brings the readings of one instant, NaN where there is none. words is
	// nil, or has a text for each column of words. Neither may be kept.
	Row(at time.Time, values []float64, words []string) error
}

// Play plays a scenario on the machine and returns what truly happened.
func (m Machine) Play(s Scenario, sink Sink) (Truth, error) { return Prepare(m).Play(s, sink) }

// Play plays a scenario into a sink and returns what truly happened.
func (l *Linac) Play(s Scenario, sink Sink) (Truth, error) {
	n, err := l.newNight(s)
	if err != nil {
		return Truth{}, err
	}
	truth, err := l.truth(n)
	if err != nil {
		return Truth{}, err
	}
	if err := n.play(sink); err != nil {
		return Truth{}, err
	}
	return truth, nil
}

const (
	longestStepS = 10
	spinUpS      = 2 * 3600
)

func (n *night) play(sink Sink) error {
	logged := n.logged()
	header := make([]Channel, len(logged))
	for i, c := range logged {
		header[i] = c.Channel
	}
	if err := sink.Begin(header); err != nil {
		return fmt.Errorf("play: %w", err)
	}
	values, words := make([]float64, len(logged)), make([]string, len(logged))
	intervalS := n.scenario.Interval.Seconds()
	n.spinUp()
	for row := 0; ; row++ {
		at := time.Duration(row) * n.scenario.Interval
		if at > n.scenario.Length {
			return nil
		}
		if row > 0 {
			n.advance(at.Seconds(), intervalS)
		}
		if n.silent() {
			continue
		}
		said := n.readAll(logged, values, words, intervalS)
		if err := sink.Row(n.scenario.Start.Add(at), values, said); err != nil {
			return fmt.Errorf("play: %w", err)
		}
	}
}

// readAll fills one row; it returns nil words where nobody says anything.
func (n *night) readAll(logged []*channel, values []float64, words []string, sinceS float64) []string {
	said := false
	for i, c := range logged {
		if !c.words {
			values[i] = c.read(n)
			continue
		}
		values[i] = math.NaN()
		station, _ := n.machine.station(c.Place)
		_, words[i] = n.trips(station, n.now.seconds-sinceS, n.now.seconds)
		said = said || words[i] != ""
	}
	if !said {
		return nil
	}
	return words
}

// logged returns the channels that the scenario keeps, with their lies.
func (n *night) logged() []*channel {
	var kept []*channel
	for _, c := range n.channels {
		if !n.scenario.leaves(c.Place, c.Quantity) {
			c.lies = n.lies[channelKey(c.Place, c.Quantity)]
			kept = append(kept, c)
		}
	}
	return kept
}

// spinUp runs the machine up to the log's start, so that bodies are where their
// waters' past has brought them.
func (n *night) spinUp() {
	const stepS = 20
	for s := -float64(spinUpS); s <= 0; s += stepS {
		n.step(s, stepS)
	}
	n.look()
}

// advance goes on to an instant, intervalS after the last one.
func (n *night) advance(seconds, intervalS float64) {
	parts := max(1, math.Ceil(intervalS/longestStepS))
	for k := 1.; k <= parts; k++ {
		n.step(seconds-intervalS*(1-k/parts), intervalS/parts)
	}
	n.look()
}

func (n *night) silent() bool {
	for i := range n.silences {
		if n.silences[i].active(n.now.seconds) {
			return true
		}
	}
	return false
}
