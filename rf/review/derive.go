package review

import (
	"time"

	"math"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

// key names a trace.
type key struct {
	place string
	q     rf.Quantity
}

// analysis is the work in hand: what Review computes on the way to a Report.
type analysis struct {
	plant          *rf.Plant
	night          *series.Night
	options        Options
	report         *Report
	channels       map[key]*series.Channel
	index          map[key]int // into report.Traces
	activity       map[string]activity
	settled        map[string][]bool     // by place
	setPoints      map[string][]setPoint // by station
	lagged         map[string][]float64  // inlet water after the lag, by structure
	stuck          map[key]bool          // channels that stand still at the log's end
	standings      map[key]standing
	spent          map[key]bool // readings told as headroom
	observed       map[key]*observable
	accepted       []explained
	commonAt       []time.Time // when many stations tripped at once
	commonPhaseDeg float64     // turn of phase that the whole machine shares
}

// channel returns a logged channel that holds at least one reading, else nil.
func (a *analysis) channel(place string, q rf.Quantity) *series.Channel {
	return a.channels[key{place, q}]
}

// trace returns the trace of a quantity at a place, else nil. The pointer holds
// until the next trace is added.
func (a *analysis) trace(place string, q rf.Quantity) *Trace {
	if i, ok := a.index[key{place, q}]; ok {
		return &a.report.Traces[i]
	}
	return nil
}

// mean returns the cell means of a trace, nil where there is none.
func (a *analysis) mean(place string, q rf.Quantity) []float64 {
	if t := a.trace(place, q); t != nil {
		return t.Mean
	}
	return nil
}

func (a *analysis) add(t Trace) {
	if t.Min == nil {
		t.Min, t.Max = t.Mean, t.Mean
	}
	t.Settled = a.settled[t.Place]
	a.index[key{t.Place, t.Quantity}] = len(a.report.Traces)
	a.report.Traces = append(a.report.Traces, t)
}

// addLogged makes a trace of every channel that holds numbers.
func (a *analysis) addLogged() {
	for i := range a.night.Channels {
		ch := &a.night.Channels[i]
		if a.channels[key{ch.Place, ch.Quantity}] == nil {
			continue
		}
		info, known := a.info(key{ch.Place, ch.Quantity})
		if known && info.Form != rf.Level && info.Form != rf.Angle {
			continue
		}
		t := Trace{
			Place: ch.Place, Quantity: ch.Quantity, Unit: info.Unit,
			Mean: means(ch.Cells), Min: make([]float64, len(ch.Cells)), Max: make([]float64, len(ch.Cells)),
		}
		for j, c := range ch.Cells {
			t.Min[j], t.Max[j] = math.NaN(), math.NaN()
			if c.Count > 0 {
				t.Min[j], t.Max[j] = c.Min, c.Max
			}
		}
		if known && info.Form == rf.Angle {
			rejoin(&t, a.settled[t.Place])
		}
		a.add(t)
	}
}

// rejoin takes out the whole turns that a phase without RF left behind: each
// settled cell stands within half a turn of the settled one before it.
func rejoin(t *Trace, settled []bool) {
	last := math.NaN()
	for i, v := range t.Mean {
		if math.IsNaN(v) {
			continue
		}
		if turns := 360 * math.Round((v-last)/360); turns != 0 && !math.IsNaN(turns) {
			t.Mean[i] -= turns
			t.Min[i] -= turns
			t.Max[i] -= turns
		}
		if settled[i] || math.IsNaN(last) {
			last = t.Mean[i]
		}
	}
}

// addDerived makes the traces that follow from the logged ones by a formula.
func (a *analysis) addDerived() {
	for _, s := range a.plant.Stations {
		a.deriveKlystron(s)
		a.deriveCompressor(s)
	}
	for _, s := range a.plant.Structures {
		a.deriveStructure(s)
	}
}

func (a *analysis) deriveKlystron(s rf.Station) {
	voltage, current := a.mean(s.Name, rf.BeamVoltage), a.mean(s.Name, rf.BeamCurrent)
	forward, reflected := a.mean(s.Name, rf.ForwardPower), a.mean(s.Name, rf.ReflectedPower)
	a.combine(s.Name, rf.Microperveance, func(v []float64) float64 {
		return rf.MicroperveanceOf(rf.Voltage(v[0])*rf.Kilovolt, rf.Current(v[1]))
	}, voltage, current)
	a.combine(s.Name, rf.Efficiency, func(v []float64) float64 {
		return 100 * rf.EfficiencyOf(rf.Power(v[2])*rf.Megawatt, rf.Voltage(v[0])*rf.Kilovolt, rf.Current(v[1]))
	}, voltage, current, forward)
	a.combine(s.Name, rf.ReflectedFraction, func(v []float64) float64 {
		return 100 * v[1] / v[0]
	}, forward, reflected)
}

func (a *analysis) deriveCompressor(s rf.Station) {
	if !s.HasCompressor() {
		return
	}
	through := math.Pow(10, -s.WaveguideLossDB/10)
	a.combine(s.Name, rf.PeakPowerGain, func(v []float64) float64 {
		return v[1] / (v[0] * through)
	}, a.mean(s.Name, rf.ForwardPower), a.mean(s.Name, rf.CompressedPower))

	phases := [][]float64{a.mean(s.Name, rf.ForwardPhase)}
	for _, structure := range a.plant.StructuresOf(s.Name) {
		if in := a.mean(structure.Name, rf.InputPhase); in != nil && structure.TravellingWave() {
			phases = append(phases, in)
		}
	}
	if len(phases) == 1 {
		return
	}
	a.combine(s.Name, rf.CompressorPhase, func(v []float64) float64 {
		// Each input phase is unwrapped on its own, so a plain mean would be
		// off by whole turns: average about the first.
		sum := 0.0
		for _, in := range v[1:] {
			sum += math.Remainder(in-v[1], 360)
		}
		return v[1] + sum/float64(len(v)-1) - v[0]
	}, phases...)
}

func (a *analysis) deriveStructure(s rf.Structure) {
	if !s.TravellingWave() {
		a.combine(s.Name, rf.PhaseAdvance, func(v []float64) float64 { return v[1] - v[0] },
			a.mean(s.Name, rf.ForwardPhase), a.mean(s.Name, rf.CavityPhase))
		a.combine(s.Name, rf.ReflectedFraction, func(v []float64) float64 { return 100 * v[1] / v[0] },
			a.mean(s.Name, rf.ForwardPower), a.mean(s.Name, rf.ReflectedPower))
		return
	}
	a.combine(s.Name, rf.PhaseAdvance, func(v []float64) float64 { return v[1] - v[0] },
		a.mean(s.Name, rf.InputPhase), a.mean(s.Name, rf.OutputPhase))
	feed := a.mean(s.Station, rf.CompressedPower)
	if feed == nil {
		feed = a.mean(s.Station, rf.ForwardPower)
	}
	a.combine(s.Name, rf.CouplerRatio, func(v []float64) float64 { return v[1] / v[0] },
		feed, a.mean(s.Name, rf.InputPower))
}

// combine adds a derived trace, cell by cell, where every input has a reading.
// An input that was never logged makes no trace.
func (a *analysis) combine(place string, q rf.Quantity, formula func([]float64) float64, inputs ...[]float64) {
	for _, in := range inputs {
		if in == nil {
			return
		}
	}
	info, _ := q.Info()
	out := make([]float64, a.night.Cells)
	values := make([]float64, len(inputs))
	for i := range out {
		for j, in := range inputs {
			values[j] = in[i]
		}
		out[i] = formula(values)
		if math.IsInf(out[i], 0) {
			out[i] = math.NaN()
		}
	}
	t := Trace{Place: place, Quantity: q, Unit: info.Unit, Derived: true, Mean: out}
	if info.Form == rf.Angle {
		t.Min, t.Max = append([]float64(nil), out...), append([]float64(nil), out...)
		rejoin(&t, a.settled[place])
	}
	a.add(t)
}

// info describes the quantity of a channel where it stands; a place that the
// plant does not name is taken for the first kind that the quantity can stand at.
func (a *analysis) info(k key) (rf.Info, bool) {
	if kind := a.plant.KindOf(k.place); kind != 0 {
		return k.q.InfoAt(kind)
	}
	return k.q.Info()
}

// stationOf returns the station that a place belongs to, empty for loops,
// waypoints and the machine.
func (a *analysis) stationOf(place string) string {
	if s, ok := a.plant.Structure(place); ok {
		return s.Station
	}
	if _, ok := a.plant.Station(place); ok {
		return place
	}
	return ""
}
