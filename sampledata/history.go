package sampledata

import "math"

const (
	historyStepS = 30
	settledS     = 21 * 60
	firstS       = 60 * 60
	lastS        = 15 * 60
)

// history is the true course of a night, minute by minute or so.
type history struct {
	stations   [][]moment
	structures [][]moment
	waypoints  [][]moment
}

type moment struct {
	settled     bool
	detuningKHz float64
	gainMeV     float64
}

// follow runs a night without reading it.
func (n *night) follow() history {
	h := history{
		stations:   make([][]moment, len(n.stations)),
		structures: make([][]moment, len(n.structures)),
		waypoints:  make([][]moment, len(n.machine.Waypoints)),
	}
	onSince := make([]float64, len(n.stations))
	n.spinUp()
	for i := range onSince {
		onSince[i] = n.starts
	}
	for s := 0.; s <= n.scenario.Length.Seconds(); s += historyStepS {
		if s > 0 {
			n.advance(s, historyStepS)
		}
		allSettled := true
		for i := range n.stations {
			st := &n.now.stations[i]
			if !st.on || st.rise < 1 || n.stoppedWithin(i, s-historyStepS, s) {
				onSince[i] = s
			}
			settled := s-onSince[i] > settledS
			allSettled = allSettled && (settled || n.stations[i].Spare)
			h.stations[i] = append(h.stations[i], moment{settled, st.detuningKHz, real(st.gain)})
			for _, x := range n.stations[i].structures {
				q := &n.now.structures[x]
				h.structures[x] = append(h.structures[x], moment{settled, q.detuningKHz, real(q.gain)})
			}
		}
		for i, w := range n.machine.Waypoints {
			after, _ := n.machine.station(w.AfterStation)
			h.waypoints[i] = append(h.waypoints[i], moment{settled: allSettled && n.beam(), gainMeV: n.energyMeV(after)})
		}
	}
	return h
}

// stoppedWithin tells whether a station stopped between two instants, however
// shortly.
func (n *night) stoppedWithin(station int, fromS, toS float64) bool {
	for _, s := range n.stops[station] {
		if s.fromS < toS && s.toS+s.riseS > fromS {
			return true
		}
	}
	return false
}

// first and last are means over the settled moments at either end of the night,
// NaN where there is none.
func first(moments []moment, value func(moment) float64) float64 {
	return settledMean(moments, firstS/historyStepS, false, value)
}

func last(moments []moment, value func(moment) float64) float64 {
	return settledMean(moments, lastS/historyStepS, true, value)
}

func settledMean(moments []moment, count int, fromEnd bool, value func(moment) float64) float64 {
	sum, n := 0.0, 0
	for k := range moments {
		if fromEnd {
			k = len(moments) - 1 - k
		}
		if m := moments[k]; m.settled && n < count {
			sum += value(m)
			n++
		}
	}
	if n == 0 {
		return math.NaN()
	}
	return sum / float64(n)
}

func detuning(m moment) float64 { return m.detuningKHz }

func gain(m moment) float64 { return m.gainMeV }
