package handover

import (
	"errors"
	"fmt"
	"math"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/review"
	"dawncrest/rf/series"
)

var nan = math.NaN()

// fenland has an offset of its own, so that no test passes by reading UTC.
var fenland = time.FixedZone("Fen/Harrow", 3600)

func night(hour, minute int) time.Time {
	day := 24
	if hour < 12 {
		day = 25
	}
	return time.Date(2026, 11, day, hour, minute, 0, 0, fenland).UTC()
}

func fenPlant(stations int) *rf.Plant {
	p := &rf.Plant{Name: "Harrow Fen linac", Zone: fenland}
	for i := 1; i <= stations; i++ {
		p.Stations = append(p.Stations, rf.Station{Name: fmt.Sprintf("S%02d", i), TripsPerDay: 2})
	}
	p.Waypoints = []rf.Waypoint{{Name: "arc", AfterStation: "S04"}, {Name: "linac end", AfterStation: fmt.Sprintf("S%02d", stations)}}
	return p
}

// quietNight is a night on which nothing happened.
func quietNight() *review.Report { return quietNightOf(12) }

func quietNightOf(stations int) *review.Report {
	r := &review.Report{
		Plant: fenPlant(stations), From: night(22, 0), To: night(6, 0), Coverage: 99.98,
		Reference: review.Reference{Kind: "first settled hour", From: night(22, 0), To: night(23, 0), Settled: time.Hour},
		CellStart: night(22, 0), CellWidth: time.Minute, Cells: 480,
		Log: series.Log{Files: []series.File{{Name: "night.csv", RowsKept: 28800, Columns: []series.Column{{ColumnName: &series.ColumnName{Quantity: rf.ForwardPower}, Readings: 28800}}}}},
	}
	for i := range r.Plant.Stations {
		gain := rf.Energy(60+float64(i)) * rf.Megaelectronvolt
		s := review.StationResult{
			Station: r.Plant.Stations[i].Name, Verdict: review.InTolerance, Gain: gain, GainReference: gain + 12e3,
			PeakPowerGain: 5.1, PeakPowerGainDesign: 5.2, EnergyMultiplication: 1.71, CompressorDetuning: -1.2 * rf.Kilohertz,
			Microperveance: 1.98, EfficiencyPercent: 43.2, ReflectedPercent: 0.4, OnPercent: 100, TripsPerDay: [3]float64{0, 0, 11.1},
			Chain: "input power",
		}
		r.Stations = append(r.Stations, s)
		for _, half := range []string{"A", "B"} {
			r.Structures = append(r.Structures, review.StructureResult{
				Structure: s.Station + half, Station: s.Station, Loop: s.Station + half, Verdict: review.InTolerance,
				Detuning: -2.1 * rf.Kilohertz, DetuningLow: -5 * rf.Kilohertz, DetuningHigh: 0.8 * rf.Kilohertz,
				PhaseSlip: -0.8 * rf.Degree, EnergyLoss: 2e3, WonByWater: 2e3, WonByPhase: 1e3,
				WaterChangeK: -0.04, WaterChangeLow: -0.1, WaterChangeUp: 0.02, Advice: review.Leave, Reason: "within the drift limit",
			})
		}
	}
	r.Traces = []review.Trace{{Place: "S01", Quantity: rf.BeamVoltage, Unit: "kV", Reference: 268, Now: 268, Verdict: review.InTolerance}}
	sum := rf.Energy(0)
	for _, s := range r.Stations {
		sum += s.Gain
	}
	r.Waypoints = []review.WaypointResult{
		{Waypoint: "arc", AfterStation: "S04", Verdict: review.InTolerance, Required: 240e6, Budget: 246e6, BudgetError: 2e6, Measured: rf.Unknown[rf.Energy](), MarginPercent: 2.5, ClosurePercent: nan, ArrivalShift: rf.Unknown[rf.Interval](), CompressionChangePercent: nan},
		{Waypoint: "linac end", AfterStation: fmt.Sprintf("S%02d", stations), Verdict: review.InTolerance, Required: sum - 12e6, Budget: sum, BudgetError: 7e6, Measured: sum - 0.6e6, MarginPercent: 1.46, ClosurePercent: 99.92, ArrivalShift: rf.Unknown[rf.Interval](), CompressionChangePercent: nan},
	}
	for i, s := range r.Stations {
		r.Waypoints[1].Without = append(r.Waypoints[1].Without, review.WithoutStation{Station: s.Station, MarginPercent: 0.9 - 0.02*float64(i), Closes: true})
	}
	return r
}

// busyNight is a night on which a good deal happened, with text in it that no
// form may take for its own.
func busyNight() *review.Report {
	r := quietNight()
	r.Log.Files = append(r.Log.Files,
		series.File{Name: "late <b>shift</b>.csv", RowsKept: 900, RowsRejected: 2, RowsMerged: 4, Missing: 17,
			Notices: []string{"clock stepped back by 3 s at line 412"},
			Rejects: []series.Reject{
				{Line: 17, Column: "time", Err: errors.New(`"24/11/26" is no time of any known form`)},
				{Line: 212, Err: errors.New("row ends early: 3 of 44 values")},
			}},
		series.File{Name: "lost.csv", Err: errors.New("no column is understood")})
	r.Coverage = 97.3
	r.Notices = []string{"S11 stopped from 02:10 as planned (access)"}

	r.Stations[2].Verdict = review.OutOfTolerance
	r.Stations[2].Gain -= 2.9e6
	r.Stations[2].Taken = []review.GainShare{{Cause: review.WaterDetuning, Place: "S03A", Taken: -2.4e6}, {Cause: review.ModulatorVoltage, Place: "S03", Taken: -0.31e6}}
	r.Stations[2].Remainder = -0.2e6
	r.Stations[6].Verdict = review.Drifting
	r.Stations[6].Trips, r.Stations[6].TripsPerDay = 5, [3]float64{15, 4.9, 35}
	r.Stations[6].OnPercent = 98.4
	r.Stations[10].Verdict = review.NoData
	r.Stations[10].GainHeld = true
	r.Stations[10].LastGain, r.Stations[10].Gain = r.Stations[10].Gain, rf.Unknown[rf.Energy]()
	r.Structures[4] = review.StructureResult{
		Structure: "S03A", Station: "S03", Loop: "LOOP2", Verdict: review.OutOfTolerance,
		Detuning: -31.4e3, DetuningLow: -35.2e3, DetuningHigh: -27.9e3, PhaseSlip: -11.8 * rf.Degree, EnergyLoss: 2.4e6,
		WonByWater: 2.4e6, WonByPhase: 1.1e6, WaterChangeK: -0.63, WaterChangeLow: -0.71, WaterChangeUp: -0.55,
		Advice: review.Retune, Reason: "phase advance followed the inlet water after its lag",
	}
	r.Structures[5].Loop = "LOOP2"
	r.Structures[12].Advice, r.Structures[12].Reason = review.Withheld, "not settled at the log's end: until 06:18 +01:00"
	r.Loops = []review.LoopResult{{Loop: "LOOP2", Structures: []string{"S03A", "S03B"}, WaterChangeK: -0.3, Remaining: []rf.Frequency{-16e3, 12e3}, Advice: review.Retune, Reason: "best step for both, weighted by energy"}}
	r.Waypoints[1].Verdict = review.OutOfTolerance
	r.Waypoints[1].Measured, r.Waypoints[1].MarginPercent = 770.1e6, -0.51
	r.Waypoints[1].ArrivalShift, r.Waypoints[1].ArrivalBy = 0.42*rf.Picosecond, "S03"
	r.Waypoints[1].Scaled = true
	r.Waypoints[1].Without[2] = review.WithoutStation{Station: "S03", MarginPercent: -8.2, MadeUpBy: []review.MakeUp{
		{Station: "S12", Spare: true, Power: 38e6, Gain: 61e6, Phase: -4.2 * rf.Degree, Note: "looks ready"}, {Station: "S05", Power: 41e6, Gain: 3.1e6, Phase: rf.Unknown[rf.Phase]()}}}
	r.Waypoints[1].Without[4] = review.WithoutStation{Station: "S05", MarginPercent: -8.4}

	r.Findings = []review.Finding{
		{Place: "S03A", Station: "S03", Cause: review.WaterDetuning, Verdict: review.OutOfTolerance, Quantity: rf.Detuning, Since: night(1, 20),
			Change: -31.4, Unit: "kHz", SlopePerH: -6.1, EnergyCost: 2.4e6, Beam: review.BeamMoved,
			Message:  "31 kHz too warm since 01:20 +01:00",
			Advice:   "lower the set point of LOOP2 by 0.3 K, wait until it has settled, measure again",
			Evidence: []string{"phase advance -11.8 deg at +0.62 K inlet water", "fitted slope -19.1 deg/K, physics -18.8 deg/K"}},
		{Place: "S07", Station: "S07", Cause: review.ModulatorVoltage, Likely: true, Verdict: review.Drifting, Quantity: rf.BeamVoltage, Since: night(3, 5),
			Change: -0.62, Unit: "%", SlopePerH: -0.21, ReachesAct: night(9, 40), EnergyCost: 0.55e6,
			Message: "<script>alert(1)</script> | voltage *falls*", Advice: "=HYPERLINK: look at the modulator's | charging supply",
			Evidence: []string{"power -1.6 %"}, NotLogged: []string{"forward_phase"}},
		{Place: "S11", Station: "S11", Cause: review.DataGap, Verdict: review.NoData, Since: night(2, 10), Change: nan, SlopePerH: nan, EnergyCost: rf.Unknown[rf.Energy](),
			Message: "no readings from 02:10 +01:00 on", Advice: "ask who stopped the logger\x1b[2J of S11"},
		{Place: "S05", Station: "S05", Cause: review.SetPoint, Verdict: review.InTolerance, Quantity: rf.BeamVoltage.Set(), Since: night(23, 40), Step: true,
			Change: 0.4, Unit: "kV", SlopePerH: nan, EnergyCost: rf.Unknown[rf.Energy](), Message: "set value raised from 268.0 to 268.4 kV"},
	}
	for i := range r.Findings {
		r.Findings[i].Caution = review.CautionFor(r.Findings[i].Cause)
	}
	r.NotJudged = []review.NotJudged{
		{Place: "S11A", Why: "RF off"}, {Place: "S11B", Why: "RF off"},
		{Place: "S07A", Quantity: rf.Detuning, Why: "not settled at the log's end", Until: night(6, 18)},
	}
	r.Traces = busyTraces(r)
	return r
}

// busyTraces draws the quantities that the findings of the busy night name.
func busyTraces(r *review.Report) []review.Trace {
	detuning := review.Trace{Place: "S03A", Quantity: rf.Detuning, Unit: "kHz", Derived: true, Reference: -0.8, Now: -31.4, Change: -30.6,
		Basis: rf.Absolute, DriftLimit: 10, ActLimit: 30, LimitUnit: "kHz", Since: night(1, 20), Verdict: review.OutOfTolerance}
	voltage := review.Trace{Place: "S07", Quantity: rf.BeamVoltage, Unit: "kV", Reference: 268.4, Now: 266.74, Change: -1.66,
		Basis: rf.Relative, DriftLimit: 0.5, ActLimit: 1.5, LimitUnit: "%", Since: night(3, 5), Verdict: review.Drifting}
	for i := range r.Cells {
		late := math.Max(0, float64(i-200)) / 280
		d := -0.8 - 30.6*late + math.Sin(float64(i)/4)
		v := 268.4 - 1.66*math.Max(0, float64(i-305))/175 + 0.1*math.Sin(float64(i)/2.7)
		low, high := v-0.15, v+0.15
		if i == 120 {
			low = 262.1 // a spike of one pulse
		}
		if i > 250 && i < 270 {
			v, low, high = nan, nan, nan
		}
		detuning.Mean = append(detuning.Mean, d)
		detuning.Min = append(detuning.Min, d-0.6)
		detuning.Max = append(detuning.Max, d+0.6)
		voltage.Mean = append(voltage.Mean, v)
		voltage.Min = append(voltage.Min, low)
		voltage.Max = append(voltage.Max, high)
	}
	return []review.Trace{detuning, voltage}
}

var busyMeta = Meta{
	Written: night(6, 30), Version: "0.1.0", Author: "R. Alder", Demo: true,
	Notes: []string{"S11 access went well; <b>cover</b> is back on.", "Ask the water crew about the chiller at 04:00."},
	Seen:  []Seen{{Key: "S03A water_detuning detuning", Initials: "RA", Note: "water crew told", At: night(5, 50)}},
}

// quietHistory is a book in which the night before was quiet too.
func quietHistory() History {
	return History{Book: true, Previous: &Entry{Name: "2026-11-24-evening", Author: "B. Withy", To: night(22, 0)}}
}

// busyHistory is a book that knows some of what the busy night found.
func busyHistory() History {
	r := busyNight()
	h := quietHistory()
	h.Previous.Notes = []string{"S07 looked at twice, nothing found."}
	for _, f := range r.Findings {
		h.Told = append(h.Told, Told{Key: FindingKey(f)})
	}
	h.Told[0].Before = "2026-11-19-night"
	h.Told[1] = Told{Key: h.Told[1].Key, Age: 2, First: "2026-11-24-morning", Was: review.Unexplained,
		Seen: []Seen{{Key: h.Told[1].Key, Initials: "BW", Note: "crew called", At: night(21, 15)}}}
	h.Cleared = []Cleared{
		{Finding: EntryFinding{Place: "S09", Cause: review.TooManyTrips}, Age: 1},
		{Finding: EntryFinding{Place: "S11", Cause: review.ReflectedPower}, Age: 4, NotKnown: true},
	}
	h.Trends = []Trend{{Place: "S08B", Quantity: rf.WaterTemperature, Unit: "K", At: make([]time.Time, 30), SlopePerDay: 0.021, SlopeLow: 0.018, SlopeHigh: 0.024}}
	h.Notices = []string{"2026-11-20-night.json is damaged and passed over: unexpected end of JSON input; write it again, or move it out of the book"}
	return h
}
