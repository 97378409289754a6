package ingest

import (
	"time"

	"dawncrest/rf"
)

// cellStep is the span of a counter or a state over one cell of a cells log.
type cellStep struct {
	signal    int32
	at        int64
	low, high float64
}

// takeCell notes a counter or a state of which only the extremes in a cell are
// known. A counter that rose between them, or since the cell before, tells of
// trips somewhere in the cell; where it fell, it started again, and what it counts
// from there on shows in the cells that follow. A state counts as on where it was
// so throughout.
func (e *events) takeCell(channel int, sig *signal, s cellStep, width time.Duration) {
	last, known := e.state[channel]
	if known && s.at < last.at {
		return
	}
	before := len(e.list)
	if sig.info.Form == rf.State {
		on := 0.0
		if s.low > 0 {
			on = 1
		}
		e.take(channel, sig, change{s.signal, s.at, on})
	} else {
		began := known && s.low < last.value || !known && s.low == 0
		e.take(channel, sig, change{s.signal, s.at, s.low})
		if !began {
			e.take(channel, sig, change{s.signal, s.at, s.high})
		}
	}
	for i := before; i < len(e.list); i++ {
		e.list[i].Within = width
	}
}
