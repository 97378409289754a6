package handover

import (
	"fmt"
	"math"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

// stepRule stands under every table that advises a water change.
const stepRule = "A step is at most 0.3 K: then wait for the lag and until it has settled, measure again, and never two loops at once. " +
	"Energy won by phase is arithmetic only: the crest is not in the log, scan it with beam."

// retuneSection tells the water advice. Structures to be left alone are counted,
// not listed.
func retuneSection(r *review.Report) section {
	if len(r.Structures) == 0 {
		return section{}
	}
	s := section{key: "retune", title: "Water and tune"}
	g := &grid{columns: columns("Structure", "Loop", ">Detuning kHz", ">95 %", ">Slip deg", ">Lost MeV", ">Won by water", ">Won by phase", ">Water change K", ">95 %", "Advice", "Reason")}
	left, largest, relative, retunes := 0, 0.0, false, false
	for _, p := range r.Structures {
		relative = relative || p.Relative
		detuning := rf.In(p.Detuning, rf.Kilohertz)
		if p.Advice == review.Leave {
			left++
			if math.Abs(detuning) > math.Abs(largest) {
				largest = detuning
			}
			continue
		}
		retunes = retunes || p.Advice == review.Retune
		loop := clean(p.Loop)
		if p.Loop == p.Structure {
			loop = "its own"
		}
		g.add(clean(p.Structure), loop, relativeMark(p)+signed(detuning, 3),
			interval(rf.In(p.DetuningLow, rf.Kilohertz), rf.In(p.DetuningHigh, rf.Kilohertz), coarse),
			signed(rf.In(p.PhaseSlip, rf.Degree), coarse), number(mev(p.EnergyLoss), coarse),
			number(mev(p.WonByWater), coarse), number(mev(p.WonByPhase), coarse),
			signed(p.WaterChangeK, coarse), interval(p.WaterChangeLow, p.WaterChangeUp, coarse), string(p.Advice), clean(p.Reason))
	}
	switch {
	case left == len(r.Structures):
		s.lead = []string{fmt.Sprintf("Leave the water of all %d structures; largest detuning %s.", left, withUnit(signed(largest, coarse), "kHz"))}
	case left > 0:
		s.lead = []string{fmt.Sprintf("Leave the water of the other %d of %d structures; largest detuning among them %s.", left, len(r.Structures), withUnit(signed(largest, coarse), "kHz"))}
	}
	if len(g.rows) > 0 {
		s.grid = g
	}
	s.bullets = loopLines(r.Loops)
	if relative && s.grid != nil {
		s.after = append(s.after, "Δ: measured from the reference, not from tune (no tuned phase is given).")
	}
	for _, l := range r.Loops {
		retunes = retunes || l.Advice == review.Retune
	}
	if retunes {
		s.after = append(s.after, stepRule)
	}
	return s
}

func relativeMark(p review.StructureResult) string {
	if p.Relative && rf.Known(p.Detuning) {
		return "Δ "
	}
	return ""
}

// loopLines tells the one step for each shared water loop that is not left.
func loopLines(loops []review.LoopResult) []string {
	var lines []string
	for _, l := range loops {
		if l.Advice == review.Leave || len(l.Structures) < 2 {
			continue
		}
		line := fmt.Sprintf("Loop %s (%s): %s", clean(l.Loop), listed(cleanAll(l.Structures), 8), l.Advice)
		if l.Advice == review.Retune {
			line += ", one step of " + withUnit(signed(l.WaterChangeK, coarse), "K") + " for all of them"
			for i, left := range l.Remaining {
				if i < len(l.Structures) {
					line += "; " + clean(l.Structures[i]) + " keeps " + withUnit(signed(rf.In(left, rf.Kilohertz), coarse), "kHz")
				}
			}
		}
		if reason := clean(l.Reason); reason != "" {
			line += ": " + reason
		}
		lines = append(lines, line)
	}
	return lines
}
