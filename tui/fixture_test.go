package tui

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/review"
	"dawncrest/rf/series"
)

// The night that the frames are drawn from: an invented linac with twelve
// stations and twenty structures, one drift of every kind, gaps, a spike and a
// few trips. Its numbers are written down, not computed: what the screens make
// of a report is tested here, not what a report makes of a night.

const fixtureCells = 720

var (
	fixtureStart = time.Date(2025, 11, 23, 18, 0, 0, 0, time.UTC)
	fixtureZone  = mustZone("Europe/London")
	nan          = math.NaN()
)

func mustZone(name string) *time.Location {
	zone, err := time.LoadLocation(name)
	if err != nil {
		panic(err)
	}
	return zone
}

func fixtureAt(cell int) time.Time {
	return fixtureStart.Add(time.Duration(cell) * time.Minute)
}

// shape bends a trace: it starts at a cell and ends in a change at the log's end.
type shape struct {
	from   int
	change float64
	step   bool
}

// fixtureTrace makes a trace of noise about a level with a cycle of the water.
func fixtureTrace(seed uint64, place string, q rf.Quantity, level, noise float64, s shape) review.Trace {
	random := rand.New(rand.NewPCG(seed, uint64(len(place))))
	info, _ := q.Info()
	limits := rf.TolerancesAt(rf.BuiltInTolerances(), q, place)
	t := review.Trace{
		Place: place, Quantity: q, Unit: info.Unit, Derived: info.Derived,
		Mean: make([]float64, fixtureCells), Min: make([]float64, fixtureCells), Max: make([]float64, fixtureCells),
		Settled: make([]bool, fixtureCells), Reference: level, NowAt: fixtureAt(fixtureCells),
		DriftLimit: nan, ActLimit: nan, Judged: nan, Verdict: review.InTolerance, CyclePeriod: 26 * time.Minute,
	}
	for i := range t.Mean {
		moved := 0.0
		if i >= s.from && s.change != 0 {
			moved = s.change
			if !s.step {
				moved *= float64(i-s.from) / float64(fixtureCells-s.from)
			}
		}
		t.Mean[i] = level + moved + noise*(random.NormFloat64()/3+math.Sin(float64(i)*2*math.Pi/26)/2)
		t.Min[i], t.Max[i] = t.Mean[i]-noise*(0.6+random.Float64()/2), t.Mean[i]+noise*(0.6+random.Float64()/2)
		t.Settled[i] = i > 25
	}
	t.Change = s.change
	t.Now = level + s.change
	if s.change != 0 && !s.step {
		t.SlopePerH = s.change / float64(fixtureCells-s.from) * 60
	}
	if len(limits) > 0 {
		l := limits[0]
		t.Basis, t.DriftLimit, t.ActLimit, t.LimitUnit = l.Basis, l.DriftLimit, l.ActLimit, l.Unit
		t.Judged = s.change
		if l.Basis == rf.Relative && level != 0 {
			t.Judged = 100 * s.change / level
		}
		switch size := math.Abs(t.Judged); {
		case size > l.ActLimit:
			t.Verdict = review.OutOfTolerance
		case size > l.DriftLimit:
			t.Verdict = review.Drifting
		}
	}
	if t.Verdict.Flagged() {
		t.Since, t.Step = fixtureAt(s.from), s.step
	}
	return t
}

func gap(t *review.Trace, from, to int) {
	for i := from; i < to; i++ {
		t.Mean[i], t.Min[i], t.Max[i], t.Settled[i] = nan, nan, nan, false
	}
}

// fixture returns the report of that night.
func fixture() *review.Report {
	r := &review.Report{
		Plant:    &rf.Plant{Name: "Harrow Fen", Zone: fixtureZone, Frequency: 2856 * rf.Megahertz},
		From:     fixtureStart,
		To:       fixtureAt(fixtureCells),
		Coverage: 98.7, CellStart: fixtureStart, CellWidth: time.Minute, Cells: fixtureCells,
		Reference: review.Reference{Kind: "first settled hour", From: fixtureAt(26), To: fixtureAt(86), Settled: 58 * time.Minute},
	}
	addStations(r)
	addStructures(r)
	addMachine(r)
	addFindings(r)
	addLog(r)
	return r
}

func addStations(r *review.Report) {
	for i := range 12 {
		name := fmt.Sprintf("S%02d", i+1)
		gain := 96 + 3*math.Sin(float64(i)*1.7)
		if i == 0 {
			gain = 38
		}
		var voltage, power, compressed, peak, tuning, perveance shape
		result := review.StationResult{
			Station: name, Verdict: review.InTolerance, GainReference: rf.Energy(gain) * rf.Megaelectronvolt,
			PeakPowerGain: 4.61, PeakPowerGainDesign: 4.72, EnergyMultiplication: 1.71,
			CompressorDetuning: 2 * rf.Kilohertz, Microperveance: 1.98, EfficiencyPercent: 43.6, ReflectedPercent: 0.7,
			Trips: i % 3, TripsPerDay: [3]float64{float64(2 * (i % 3)), 0.3, 9}, OnPercent: 99.4, EnergyScatter: 40e3,
			Chain: "input power", PowerNow: 41 * rf.Megawatt, PowerHighest: 43 * rf.Megawatt, Remainder: 0.1e6,
		}
		lost := 0.2 * math.Sin(float64(i))
		switch name {
		case "S04":
			voltage, power, lost = shape{300, -4.1, true}, shape{300, -1.3, true}, 2.4
			result.Taken = []review.GainShare{{Cause: review.ModulatorVoltage, Place: "S04", Taken: -2.3e6}}
		case "S07":
			compressed, peak, tuning, lost = shape{360, -14, false}, shape{360, -0.34, false}, shape{360, -34, false}, 4.9
			result.CompressorDetuning, result.PeakPowerGain, result.EnergyMultiplication = -34*rf.Kilohertz, 4.27, 1.63
			result.Taken = []review.GainShare{{Cause: review.CompressorDetuning, Place: "S07", Taken: -4.8e6}}
		case "S09":
			perveance = shape{60, -0.04, false}
		case "S11":
			result.Trips, result.TripsPerDay = 17, [3]float64{34, 19.8, 54.4}
		}
		result.Gain = result.GainReference - rf.Energy(lost)*rf.Megaelectronvolt
		seed := uint64(i*100 + 1)
		traces := []review.Trace{
			fixtureTrace(seed, name, rf.BeamVoltage, 321, 0.3, voltage),
			fixtureTrace(seed+1, name, rf.BeamCurrent, 361, 0.5, shape{}),
			fixtureTrace(seed+2, name, rf.DrivePower, 310, 3, shape{}),
			fixtureTrace(seed+3, name, rf.ForwardPower, 41.2, 0.12, power),
			fixtureTrace(seed+4, name, rf.ForwardPhase, 12.4, 0.3, shape{}),
			fixtureTrace(seed+5, name, rf.ReflectedPower, 0.28, 0.02, shape{}),
			fixtureTrace(seed+6, name, rf.CompressedPower, 182, 0.7, compressed),
			fixtureTrace(seed+7, name, rf.CompressorTemperature, 38.6, 0.04, shape{}),
			fixtureTrace(seed+8, name, rf.VacuumPressure, 2.1e-8, 2e-9, shape{}),
			fixtureTrace(seed+9, name, rf.Microperveance, 1.98, 0.006, perveance),
			fixtureTrace(seed+10, name, rf.Efficiency, 43.6, 0.2, shape{}),
			fixtureTrace(seed+11, name, rf.PeakPowerGain, 4.61, 0.02, peak),
			fixtureTrace(seed+12, name, rf.EnergyMultiplication, 1.71, 0.004, shape{}),
			fixtureTrace(seed+13, name, rf.CompressorDetuning, 2, 1, tuning),
			fixtureTrace(seed+14, name, rf.EnergyGain, gain, 0.15, shape{330, -lost, false}),
		}
		switch name {
		case "S02":
			for k := range traces {
				gap(&traces[k], 200, 260)
			}
		case "S05":
			traces[3].Min[410] = 0.2 // one pulse that was lost
		case "S12":
			for k := range traces {
				gap(&traces[k], 0, fixtureCells)
				traces[k].Now, traces[k].Change, traces[k].Judged, traces[k].Reference = nan, nan, nan, nan
				traces[k].Verdict, traces[k].Why = review.NoData, "no readings"
			}
			result.Verdict, result.Gain, result.GainReference = review.NoData, rf.Energy(nan), rf.Energy(nan)
		}
		set := fixtureTrace(seed, name, rf.BeamVoltage.Set(), 321, 0, shape{})
		traces = append(traces, set)
		for _, t := range traces {
			if t.Verdict.Flagged() {
				result.Verdict = review.Worse(result.Verdict, t.Verdict)
			}
		}
		if name == "S11" {
			result.Verdict = review.OutOfTolerance
		}
		r.Traces = append(r.Traces, traces...)
		r.Stations = append(r.Stations, result)
		r.Plant.Stations = append(r.Plant.Stations, rf.Station{Name: name, PhaseFlip: 2.5e-6, TripsPerDay: 3, Spare: name == "S10"})
	}
}

func addStructures(r *review.Report) {
	for i := range 20 {
		name, feeds := fmt.Sprintf("A%02d", i+1), fmt.Sprintf("S%02d", 1+i*12/20)
		result := review.StructureResult{
			Structure: name, Station: feeds, Loop: name, Verdict: review.InTolerance,
			Detuning: rf.Frequency(3*math.Sin(float64(i))) * rf.Kilohertz, PhaseSlip: rf.Phase(-0.8*math.Sin(float64(i))) * rf.Degree,
			EnergyLoss: 0.02e6, WonByWater: 0.02e6, WonByPhase: 0.01e6, WaterChangeK: 0.06 * math.Sin(float64(i)),
			WaterChangeLow: -0.1, WaterChangeUp: 0.12, Advice: review.Leave, Reason: "within the drift limit",
		}
		var water, phase shape
		switch name {
		case "A08":
			water, phase = shape{240, 0.52, false}, shape{255, -8.9, false}
			result.Detuning, result.PhaseSlip, result.Advice, result.Reason = -25*rf.Kilohertz, -8.9*rf.Degree, review.Retune, "phase advance follows the water"
			result.WaterChangeK, result.WaterChangeLow, result.WaterChangeUp = -0.51, -0.58, -0.44
			result.EnergyLoss, result.WonByWater, result.WonByPhase, result.Verdict = 1.6e6, 1.5e6, 0.9e6, review.Drifting
		case "A15":
			water = shape{120, 0.61, true}
			result.Advice, result.Reason, result.Verdict = review.Withheld, "thermometer doubted", review.OutOfTolerance
		}
		result.DetuningLow, result.DetuningHigh = result.Detuning-4*rf.Kilohertz, result.Detuning+4*rf.Kilohertz
		if name == "A03" || name == "A04" {
			result.Loop = "W2"
		}
		seed := uint64(5000 + i*50)
		traces := []review.Trace{
			fixtureTrace(seed, name, rf.InputPower, 88, 0.4, shape{}),
			fixtureTrace(seed+1, name, rf.InputPhase, 31, 0.4, shape{}),
			fixtureTrace(seed+2, name, rf.OutputPower, 27, 0.2, shape{}),
			fixtureTrace(seed+3, name, rf.WaterTemperature, 40.2, 0.05, water),
			fixtureTrace(seed+4, name, rf.WaterFlow, 31, 0.2, shape{}),
			fixtureTrace(seed+5, name, rf.PhaseAdvance, -118, 0.5, phase),
			fixtureTrace(seed+6, name, rf.Detuning, 0, 2, shape{phase.from, phase.change * 2.8, false}),
		}
		result.Fit = fixtureFit(traces[3], traces[5])
		r.Traces = append(r.Traces, traces...)
		r.Structures = append(r.Structures, result)
		r.Plant.Structures = append(r.Plant.Structures, rf.Structure{Name: name, Station: feeds, Kind: rf.ConstantGradient})
	}
	r.Loops = []review.LoopResult{{
		Loop: "W2", Structures: []string{"A03", "A04"}, WaterChangeK: 0.03,
		Remaining: []rf.Frequency{1500, -1200}, Advice: review.Leave, Reason: "within the drift limit",
	}}
}

// fixtureFit lags the water by eight minutes and states the slope that a
// structure of this kind has.
func fixtureFit(water, phase review.Trace) review.WaterFit {
	lagged := make([]float64, fixtureCells)
	lagged[0] = water.Mean[0]
	for i := 1; i < fixtureCells; i++ {
		lagged[i] = lagged[i-1] + (water.Mean[i]-lagged[i-1])/8
	}
	slope := -17.3
	return review.WaterFit{
		SlopeDegPerK: slope, SlopeLow: -18.6, SlopeHigh: -16, PhysicsDegPerK: -17.6, InterceptDeg: phase.Reference - slope*water.Reference,
		ThermalTime: 8 * rf.Minute, ThermalTimeFit: true, CorrelationAbs: 0.97, LaggedDegC: lagged, Cells: 680,
	}
}

func addMachine(r *review.Report) {
	r.Waypoints = []review.WaypointResult{
		{Waypoint: "chicane", AfterStation: "S03", Verdict: review.InTolerance, Required: 220e6, Budget: 226.1e6, BudgetError: 4e6,
			Measured: 225.8e6, MarginPercent: 2.64, ClosurePercent: 99.87, Scaled: true, ArrivalShift: 0.21e-12, ArrivalBy: "S02", CompressionChangePercent: 1.8},
		{Waypoint: "transfer line", AfterStation: "S12", Verdict: review.OutOfTolerance, Required: 1050e6, Budget: 1043.2e6, BudgetError: 19e6,
			Measured: 1042.6e6, MarginPercent: -0.7, ClosurePercent: 99.94, Scaled: true, CompressionChangePercent: nan},
	}
	for i := range r.Waypoints {
		w := &r.Waypoints[i]
		for _, s := range r.Stations {
			if i == 0 && s.Station > "S03" {
				continue
			}
			without := review.WithoutStation{Station: s.Station, MarginPercent: w.MarginPercent - 100*float64(s.GainReference)/float64(w.Required)}
			if math.IsNaN(without.MarginPercent) {
				without.MarginPercent = w.MarginPercent
			}
			without.Closes = without.MarginPercent >= 0
			if !without.Closes {
				without.MadeUpBy = []review.MakeUp{
					{Station: "S10", Spare: true, Power: 41 * rf.Megawatt, Gain: 95.8e6, Phase: rf.Phase(nan), Note: "ready: RF on, in tolerance"},
					{Station: "S06", Power: 43 * rf.Megawatt, Gain: 2.3e6, Phase: -3.1 * rf.Degree, Note: "up to its conditioned power"},
				}
			}
			w.Without = append(w.Without, without)
		}
	}
	for i, place := range []string{"chicane", "transfer line"} {
		level := []float64{226.3, 1050.9}[i]
		r.Traces = append(r.Traces, fixtureTrace(uint64(9000+i), place, rf.BeamEnergy, level, 0.3, shape{330, []float64{-0.5, -8.3}[i], false}))
	}
	r.Traces = append(r.Traces, fixtureTrace(9100, rf.MachinePlace, rf.GalleryTemperature, 24, 0.1, shape{}))
	for i := range 17 {
		at := fixtureAt(380 + i*i)
		r.Events = append(r.Events, series.Event{At: at, Kind: series.Trip, Place: "S11", Count: 1, Note: "reflected power"})
	}
	r.Events = append(r.Events,
		series.Event{At: fixtureAt(120), Kind: series.Trip, Place: "S02", Count: 1, Note: "vacuum"},
		series.Event{At: fixtureAt(300), Kind: series.Trip, Place: "S06", Count: 2},
	)
}
