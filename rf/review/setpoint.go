package review

import (
	"fmt"
	"math"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

// setPoint is a change of a set value in one step: a person's doing.
type setPoint struct {
	station string
	q       rf.Quantity // what was set
	cell    int         // in which it happened
	amount  float64     // native unit
	logged  bool        // its set value is logged and moved
}

// adjustable are the quantities that people set, and by which readings follow.
var adjustable = []rf.Quantity{rf.BeamVoltage, rf.DrivePower, rf.DrivePhase}

const (
	setStepShare = 0.2 // of the drift limit: a smaller move of a set value is ignored
	stepSide     = 10  // cells on either side that a step of a reading is seen from
	stepNear     = 3   // cells on either side that RF must be on for it
	followShare  = 0.4 // of what must follow a step, at least
	stepSharp    = 0.8 // share of an unlogged step that must happen within two cells
)

// collectSetPoints finds the set-point changes of all stations. Steps that nobody
// logged and that many stations took at the same time are no person's doing.
func (a *analysis) collectSetPoints() {
	together := map[int]int{}
	for _, s := range a.plant.Stations {
		on, _, _ := a.powered(s.Name)
		a.setPoints[s.Name] = a.setPointsOf(s.Name, on)
		for _, p := range a.setPoints[s.Name] {
			together[p.cell]++
		}
	}
	for name, points := range a.setPoints {
		var kept []setPoint
		for _, p := range points {
			same := together[p.cell] + together[p.cell-1] + together[p.cell+1]
			if p.logged || same < commonLeast {
				kept = append(kept, p)
			}
		}
		a.setPoints[name] = kept
	}
}

// setPointsOf finds the set-point changes of a station: in the set value where
// it is logged, else in the reading itself.
func (a *analysis) setPointsOf(station string, on []bool) []setPoint {
	var found []setPoint
	for _, q := range adjustable {
		reading := a.channel(station, q)
		if set := a.channel(station, q.Set()); set != nil {
			for _, p := range a.stepsOfSet(station, q, set) {
				if reading == nil || a.readingFollowed(reading, p) {
					found = append(found, p)
				}
			}
		} else if reading != nil {
			found = append(found, a.stepsOfReading(station, q, reading, on)...)
		}
	}
	return found
}

// readingFollowed reports whether a reading went where its set value was moved: a
// set value that nothing follows has set nothing.
func (a *analysis) readingFollowed(reading *series.Channel, p setPoint) bool {
	v := means(reading.Cells)
	moved := series.Mean(firstKnown(v[min(p.cell+1, len(v)):], stepSide)) - series.Mean(lastKnown(v[:p.cell], stepSide))
	if info, _ := p.q.InfoAt(rf.OfStation); info.Form == rf.Angle {
		moved = math.Remainder(moved, 360)
	}
	return math.IsNaN(moved) || moved/p.amount > followShare
}

// stepsOfSet returns the moves of a set value; moves in neighbouring cells are one.
func (a *analysis) stepsOfSet(station string, q rf.Quantity, set *series.Channel) []setPoint {
	var found []setPoint
	last := math.NaN()
	for i, c := range set.Cells {
		if c.Count == 0 {
			continue
		}
		if d := c.Last - last; math.Abs(d) > setStepShare*a.driftLimit(station, q, last) {
			if n := len(found); n > 0 && i-found[n-1].cell <= 2 {
				found[n-1].amount += d
				found[n-1].cell = i
			} else {
				found = append(found, setPoint{station, q, i, d, true})
			}
		}
		last = c.Last
	}
	return found
}

// stepsOfReading returns the steps of a reading that has no set value logged: the
// largest sharp one, and those that a stop hides.
func (a *analysis) stepsOfReading(station string, q rf.Quantity, reading *series.Channel, on []bool) []setPoint {
	v := means(reading.Cells)
	for i := range v {
		if !on[i] {
			v[i] = math.NaN()
		}
	}
	limit := a.driftLimit(station, q, series.Median(v))
	var found []setPoint
	info, _ := q.InfoAt(rf.OfStation)
	for _, step := range acrossStops(v, on, a.cellsFor(shortGap)) {
		if info.Form == rf.Angle {
			step.amount = math.Remainder(step.amount, 360)
		}
		if math.Abs(step.amount) > limit && a.followed(station, q, step, series.Median(v), on) {
			found = append(found, setPoint{station, q, step.cell, step.amount, false})
		}
	}
	best := sharpest(v, on)
	scatter := series.RobustScale(differences(v))
	if best.amount == 0 || math.Abs(best.amount) < limit/2 || math.Abs(best.amount) < 6*scatter {
		return found
	}
	if edge := v[best.cell+1] - v[best.cell-1]; edge/best.amount < stepSharp || !a.followed(station, q, best, series.Median(v), on) {
		return found
	}
	return append(found, setPoint{station, q, best.cell, best.amount, false})
}

// followed reports whether what must follow a step did so: without it the reading
// alone stepped, and nobody set anything. Where nothing that follows is logged, or
// it would follow by too little to be seen, the step is believed.
func (a *analysis) followed(station string, q rf.Quantity, step jump, level float64, on []bool) bool {
	follower, expected := rf.ForwardPhase, step.amount
	switch q {
	case rf.BeamVoltage:
		follower = rf.BeamCurrent
	case rf.DrivePower:
		expected = driveDegPerDB * 10 * math.Log10(1+step.amount/level)
	}
	ch := a.channel(station, follower)
	if ch == nil {
		return true
	}
	v := means(ch.Cells)
	for i := range v {
		if !on[i] {
			v[i] = math.NaN()
		}
	}
	if q == rf.BeamVoltage {
		expected = voltageCurrent * step.amount / level * series.Median(v)
	}
	// Stops lie between the two sides where the step was made behind one.
	before, after := lastKnown(v[:step.cell], stepSide), firstKnown(v[step.cell+1:], stepSide)
	moved := series.Mean(after) - series.Mean(before)
	if follower == rf.ForwardPhase {
		moved = math.Remainder(moved, 360)
	}
	if math.IsNaN(moved) || math.Abs(expected) < 4*series.RobustScale(differences(v)) {
		return true
	}
	return moved/expected > followShare
}

func firstKnown(v []float64, n int) []float64 {
	var found []float64
	for i := 0; i < len(v) && len(found) < n; i++ {
		if !math.IsNaN(v[i]) {
			found = append(found, v[i])
		}
	}
	return found
}

func lastKnown(v []float64, n int) []float64 {
	var found []float64
	for i := len(v) - 1; i >= 0 && len(found) < n; i-- {
		if !math.IsNaN(v[i]) {
			found = append(found, v[i])
		}
	}
	return found
}

// sharpest returns the largest difference between the level before a cell and the
// level after it, RF being on all the time.
func sharpest(v []float64, on []bool) jump {
	var best jump
	for i := stepSide; i+stepSide < len(v); i++ {
		if !allOn(on[i-stepNear : i+stepNear+1]) {
			continue // after a trip readings step by themselves
		}
		if d := series.Mean(v[i+1:i+1+stepSide]) - series.Mean(v[i-stepSide:i]); math.Abs(d) > math.Abs(best.amount) {
			best = jump{i, d}
		}
	}
	return best
}

// acrossStops returns, for every stop that is no mere trip, by how much the level
// after it differs from the one before. The first minutes after RF comes back
// are left out.
func acrossStops(v []float64, on []bool, skip int) []jump {
	var found []jump
	for i := 1; i < len(on); i++ {
		if on[i] || !on[i-1] {
			continue
		}
		j := i
		for j < len(on) && !on[j] {
			j++
		}
		from := j + skip
		if j-i < stepSide || i < stepSide || from+stepSide > len(v) {
			continue
		}
		before, after := series.Mean(v[i-stepSide:i]), series.Mean(v[from:from+stepSide])
		if !math.IsNaN(after - before) {
			found = append(found, jump{j, after - before})
		}
	}
	return found
}

func allOn(on []bool) bool {
	for _, v := range on {
		if !v {
			return false
		}
	}
	return true
}

func differences(v []float64) []float64 {
	d := make([]float64, 0, len(v))
	for i := 1; i < len(v); i++ {
		d = append(d, v[i]-v[i-1])
	}
	return d
}

// findSetPoints tells what people set, with the verdict in tolerance.
func (a *analysis) findSetPoints() {
	for _, s := range a.plant.Stations {
		for _, p := range a.setPoints[s.Name] {
			info, _ := p.q.InfoAt(rf.OfStation)
			at := a.night.At(p.cell)
			f := a.finding(SetPoint, s.Name)
			f.Verdict, f.Quantity, f.Since, f.Step = InTolerance, p.q, at, true
			f.Change, f.Unit = p.amount, info.Unit
			f.Message = fmt.Sprintf("%s set by %s at %s", info.Title, signed(p.amount, info.Unit), a.clock(at))
			if !p.logged {
				f.Message = fmt.Sprintf("%s stepped by %s at %s: a step that nobody logged", info.Title, signed(p.amount, info.Unit), a.clock(at))
				f.NotLogged = []string{s.Name + " " + string(p.q.Set())}
				f.Likely = true
			}
			f.Advice = "Nothing to do: drift is measured from the new level. Ask who set it if the shift book does not say."
			a.report.Findings = append(a.report.Findings, f)
		}
	}
}

// driftLimit returns the change, in the quantity's own unit, at which a level
// leaves its drift limit; infinite where no limit on change is set.
func (a *analysis) driftLimit(place string, q rf.Quantity, level float64) float64 {
	for _, t := range rf.TolerancesAt(a.plant.Tolerances, q, place) {
		switch t.Basis {
		case rf.Relative:
			return math.Abs(level) * t.DriftLimit / 100
		case rf.Change:
			return t.DriftLimit
		}
	}
	return math.Inf(1)
}
