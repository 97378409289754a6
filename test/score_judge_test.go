package test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/review"
	"dawncrest/sampledata"
)

// judge holds a report against the truth.
func (s *score) judge(g *game) {
	s.mu.Lock()
	defer s.mu.Unlock()
	taken := make([]bool, len(g.report.Findings))
	for _, f := range g.truth.Faults {
		if f.ByOperator {
			continue
		}
		s.fault(g, f, taken)
	}
	if g.quiet {
		s.quietNights++
		s.stationDays += len(g.machine.plant.Stations) + 1 + len(g.report.Loops)
	}
	for i, f := range g.report.Findings {
		if !taken[i] && f.Verdict.Flagged() && !ordinary(g, f) {
			if g.quiet {
				s.falseQuiet[string(f.Cause)]++
			}
			s.say(g, "FALSE %s@%s %s", f.Cause, f.Place, f.Message)
		}
	}
	s.structures(g)
}

// ordinary reports whether a finding tells a nuisance as it should be told.
func ordinary(g *game, f review.Finding) bool {
	return f.Cause == review.CommonTrip && g.scenario.With&sampledata.MainsDip != 0
}

func (s *score) say(g *game, format string, args ...any) {
	var faults []string
	for _, f := range g.truth.Faults {
		faults = append(faults, fmt.Sprintf("%s:%s@%s=%.3g/%s", f.Kind, f.Quantity, f.Place, f.Size, time.Duration(f.RampMin*float64(time.Minute)).Round(time.Minute)))
	}
	s.told = append(s.told, fmt.Sprintf("machine %d night %d leave %d [%s] ", g.machine.Seed, g.scenario.Seed, len(g.scenario.Leave), strings.Join(faults, " "))+fmt.Sprintf(format, args...))
}

func (s *score) fault(g *game, f sampledata.FaultTruth, taken []bool) {
	t := s.at(f.Kind)
	own := family(g.machine.plant, f.Place)
	right, others := 0, 0
	likely := false
	for i, told := range g.report.Findings {
		if taken[i] || !own[told.Place] || ordinary(g, told) {
			continue
		}
		switch {
		case string(told.Cause) == f.Kind && (told.Place == f.Place || sameArm(g.machine.plant, told.Place, f.Place) || f.Kind == "data_gap" || f.Kind == "stuck_reading"):
			taken[i] = true
			right++
			likely = likely || told.Likely
		case told.Verdict.Flagged() || told.Cause == review.DataGap || told.Cause == review.StuckReading:
			taken[i] = true
			others++
		}
	}
	if !beyond(f) {
		t.small++
		if right > 0 {
			t.smallFound++
		}
		if others > 0 {
			t.wrong += others
			s.say(g, "SMALL WRONG %s@%s=%.3g: %s", f.Kind, f.Place, f.Size, tellAll(g, own))
		}
		return
	}
	t.played++
	switch {
	case right > 0:
		t.found++
		t.right++
		if likely {
			t.likely++
		}
		if right+others > 1 {
			t.twice++
			s.say(g, "TWICE %s@%s=%.3g: %s", f.Kind, f.Place, f.Size, tellAll(g, own))
		}
	case others > 0:
		t.found++
		t.wrong++
		s.say(g, "WRONG %s@%s=%.3g: %s", f.Kind, f.Place, f.Size, tellAll(g, own))
	default:
		t.missed++
		s.say(g, "MISSED %s@%s=%.3g", f.Kind, f.Place, f.Size)
	}
	if *scoreDelay && right > 0 {
		t.delays = append(t.delays, delay(g, f))
	}
}

// sameArm reports whether one place is a station and the other the only structure
// that it feeds.
func sameArm(p *rf.Plant, a, b string) bool {
	for _, s := range p.Stations {
		if fed := p.StructuresOf(s.Name); len(fed) == 1 && (s.Name == a && fed[0].Name == b || s.Name == b && fed[0].Name == a) {
			return true
		}
	}
	return false
}

func tellAll(g *game, own map[string]bool) string {
	var all []string
	for _, f := range g.report.Findings {
		if own[f.Place] {
			all = append(all, fmt.Sprintf("%s@%s(%s)", f.Cause, f.Place, f.Message))
		}
	}
	return strings.Join(all, " | ")
}

// beyond reports whether a fault moves its main witness beyond 1.5 times its
// drift limit.
func beyond(f sampledata.FaultTruth) bool {
	limit := limitSize[f.Kind]
	if f.Kind == "reading_doubted" {
		limit = doubtLimit[f.Quantity]
	}
	if f.Kind == "stuck_reading" || f.Kind == "headroom" || f.Kind == "common_trip" || f.Kind == "data_gap" {
		return math.Abs(f.Size) >= limit || f.Size == 0
	}
	if f.Kind == "set_point" && f.Quantity == "drive_phase" {
		limit = 3
	}
	if f.Kind == "set_point" && f.Quantity == "drive_power" {
		limit = 5
	}
	return math.Abs(f.Size) >= 1.5*limit
}

// delay finds how long after its start a fault is told, by ever shorter nights.
func delay(g *game, f sampledata.FaultTruth) float64 {
	low, high := 0.0, g.night.End().Sub(f.Start).Hours()
	for high-low > 0.25 {
		mid := (low + high) / 2
		if toldBy(g, f, f.Start.Add(time.Duration(mid*float64(time.Hour)))) {
			high = mid
		} else {
			low = mid
		}
	}
	return high
}

func toldBy(g *game, f sampledata.FaultTruth, end time.Time) bool {
	short := *g.night
	short.Cells = min(short.Cells, short.Index(end))
	short.Channels = slices.Clone(short.Channels)
	for i := range short.Channels {
		short.Channels[i].Cells = short.Channels[i].Cells[:short.Cells]
	}
	short.Events = nil
	for _, e := range g.night.Events {
		if e.At.Before(end) {
			short.Events = append(short.Events, e)
		}
	}
	for _, told := range review.Review(g.machine.plant, &short, review.Options{}).Findings {
		if string(told.Cause) == f.Kind && told.Place == f.Place {
			return true
		}
	}
	return false
}

// structures holds intervals and advice against the truth.
func (s *score) structures(g *game) {
	truth := map[string]sampledata.StructureTruth{}
	for _, t := range g.truth.Structures {
		truth[t.Structure] = t
	}
	for _, r := range g.report.Structures {
		t := truth[r.Structure]
		if t.LastDetuning == nil || t.FirstDetuning == nil || t.WaterChangeK == nil || !rf.Known(r.Detuning) || doubted(g, r.Structure) {
			continue
		}
		isKHz, isK := *t.LastDetuning, *t.WaterChangeK
		if r.Relative {
			isK *= (isKHz - *t.FirstDetuning) / isKHz
			isKHz -= *t.FirstDetuning
		}
		count := &s.inAbsolute
		if r.Relative {
			count = &s.inRelative
		}
		count[1]++
		if *scoreSigma {
			sigma := rf.In(r.DetuningHigh-r.DetuningLow, rf.Kilohertz) / 2 / 1.96
			fmt.Printf("SIGMA rel=%v %s err %.2f sigma %.2f true %.2f faults %d\n", r.Relative, r.Structure, rf.In(r.Detuning, rf.Kilohertz)-isKHz, sigma, isKHz, len(g.truth.Faults))
		}
		if low, high := rf.In(r.DetuningLow, rf.Kilohertz), rf.In(r.DetuningHigh, rf.Kilohertz); isKHz >= low && isKHz <= high {
			count[0]++
		}
		if r.Advice != review.Retune {
			continue
		}
		s.waterError = append(s.waterError, r.WaterChangeK-isK)
		if isK >= r.WaterChangeLow && isK <= r.WaterChangeUp {
			s.waterIn++
		}
		if r.WaterChangeK*isK < 0 {
			s.wrongWay++
			s.say(g, "WRONG WAY %s advised %.3f true %.3f", r.Structure, r.WaterChangeK, isK)
		}
	}
}

// doubted reports whether a fault of the scenario falsifies the phases of a
// structure: its detuning then is withheld, not measured.
func doubted(g *game, structure string) bool {
	for _, f := range g.truth.Faults {
		if f.Place == structure && (f.Quantity == "output_phase" || f.Quantity == "input_phase") {
			return true
		}
	}
	return false
}
