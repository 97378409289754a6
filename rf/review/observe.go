package review

import (
	"math"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

// nuisanceShare is the part of a drift limit that readings may wander without
// cause: pick-ups, cables and couplers do. One sigma.
const nuisanceShare = 0.2

// observable is the change of one trace as the causes are asked to explain it:
// in percent where physics speaks of ratios, else in the trace's own unit.
type observable struct {
	key
	change   float64
	sigma    float64 // from the trace's scatter and the nuisance share
	limit    float64 // drift limit in the same unit
	flagged  bool    // its trace is beyond tolerance or heading there
	residual float64 // what no accepted cause has explained yet
	apart    bool    // it did not follow a common cause by more than its drift limit
	percent  bool
	trace    int // into report.Traces
}

func (o *observable) isApart() bool { return o != nil && o.apart }

// inPercent tells the quantities that physics compares as ratios.
func inPercent(q rf.Quantity) bool {
	switch q {
	case rf.BeamVoltage, rf.BeamCurrent, rf.HeaterCurrent, rf.DrivePower, rf.ForwardPower, rf.ReflectedPower,
		rf.CompressedPower, rf.InputPower, rf.OutputPower, rf.WaterFlow, rf.CavityVoltage, rf.Microperveance,
		rf.Efficiency, rf.PeakPowerGain, rf.CouplerRatio, rf.BeamEnergy, rf.RepetitionRate:
		return true
	}
	return false
}

// explainable are the quantities whose changes the causes are asked to explain.
var explainable = map[rf.Quantity]bool{
	rf.BeamVoltage: true, rf.BeamCurrent: true, rf.DrivePower: true, rf.DrivePhase: true,
	rf.ForwardPower: true, rf.ForwardPhase: true, rf.CompressedPower: true, rf.CompressorTemperature: true,
	rf.Microperveance: true, rf.Efficiency: true, rf.PeakPowerGain: true, rf.CompressorPhase: true,
	rf.InputPower: true, rf.InputPhase: true, rf.OutputPower: true, rf.OutputPhase: true,
	rf.WaterTemperature: true, rf.BodyTemperature: true, rf.ReturnTemperature: true, rf.WaterFlow: true,
	rf.PhaseAdvance: true, rf.CouplerRatio: true, rf.CavityPhase: true, rf.CavityVoltage: true,
	rf.LoopTemperature: true, rf.ReferencePhase: true, rf.RepetitionRate: true, rf.ReflectedFraction: true,
}

// observe collects the changes that causes are to explain.
func (a *analysis) observe() {
	a.observed = map[key]*observable{}
	for i := range a.report.Traces {
		t := &a.report.Traces[i]
		if !explainable[t.Quantity] || math.IsNaN(t.Change) || a.stuck[key{t.Place, t.Quantity}] || a.spent[key{t.Place, t.Quantity}] {
			continue
		}
		o := &observable{key: key{t.Place, t.Quantity}, trace: i, flagged: t.Verdict.Flagged(), percent: inPercent(t.Quantity)}
		change, noise := t.Change, t.Noise
		if t.Quantity == rf.WaterTemperature {
			if lagged := a.laggedChange(t.Place); !math.IsNaN(lagged) {
				change = lagged
			}
		}
		o.limit = a.driftLimit(t.Place, t.Quantity, t.Reference)
		if o.percent {
			scale := 100 / math.Abs(t.Reference)
			change, noise, o.limit = change*scale, noise*scale, o.limit*scale
		}
		if math.IsNaN(change) || math.IsInf(change, 0) {
			continue
		}
		if math.IsInf(o.limit, 1) {
			o.limit = fallbackLimit(o.key, a.plant)
		}
		if math.IsNaN(noise) {
			noise = 0
		}
		o.change, o.residual = change, change
		o.sigma = math.Hypot(noise, nuisanceShare*o.limit)
		a.observed[o.key] = o
	}
}

// fallbackLimit gives a scale to quantities on which no limit of change is set:
// that of the quantity which moves like it.
func fallbackLimit(k key, plant *rf.Plant) float64 {
	like := map[rf.Quantity]rf.Quantity{
		rf.OutputPhase: rf.InputPhase, rf.RepetitionRate: rf.BeamCurrent, rf.LoopTemperature: rf.WaterTemperature,
	}
	q, ok := like[k.q]
	if !ok {
		q = k.q
	}
	for _, t := range rf.BuiltInTolerances() {
		if t.Quantity == q && (t.Basis == rf.Relative || t.Basis == rf.Change) {
			return t.DriftLimit
		}
	}
	return 1
}

// laggedChange returns the change of a structure's inlet water as its body feels
// it, after the thermal lag.
func (a *analysis) laggedChange(structure string) float64 {
	t := a.trace(structure, rf.WaterTemperature)
	s, ok := a.plant.Structure(structure)
	if t == nil || !ok {
		return math.NaN()
	}
	lagged := a.laggedWater(s)
	ref, now := a.referenceCells(t), a.nowCells(t)
	if a.options.Levels != nil {
		return series.Mean(pickFrom(lagged, now)) - t.Reference
	}
	return series.Mean(pickFrom(lagged, now)) - series.Mean(pickFrom(lagged, ref))
}

// laggedWater returns the inlet temperature of a structure after its thermal lag.
func (a *analysis) laggedWater(s rf.Structure) []float64 {
	if v, ok := a.lagged[s.Name]; ok {
		return v
	}
	water := a.mean(s.Name, rf.WaterTemperature)
	if water == nil {
		return nil
	}
	v := series.LowPass(water, a.night.Width.Hours(), float64(a.thermalTime(s))/3600)
	a.lagged[s.Name] = v
	return v
}

func pickFrom(v []float64, cells []int) []float64 {
	picked := make([]float64, 0, len(cells))
	for _, c := range cells {
		if c < len(v) {
			picked = append(picked, v[c])
		}
	}
	return picked
}
