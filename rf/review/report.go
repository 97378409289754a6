package review

import (
	"time"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

// Verdict is the judgement on one thing. There are no others.
type Verdict string

// The verdicts, from worst to none.
const (
	OutOfTolerance Verdict = "out_of_tolerance"
	Drifting       Verdict = "drifting"
	InTolerance    Verdict = "in_tolerance"
	NoData         Verdict = "no_data"
)

// Words returns the verdict as people read it.
func (v Verdict) Words() string {
	switch v {
	case OutOfTolerance:
		return "out of tolerance"
	case Drifting:
		return "drifting"
	case InTolerance:
		return "in tolerance"
	}
	return "no data"
}

// Rank orders verdicts, worst first: 0 is out of tolerance.
func (v Verdict) Rank() int {
	switch v {
	case OutOfTolerance:
		return 0
	case Drifting:
		return 1
	case NoData:
		return 2
	}
	return 3
}

// Flagged reports whether the verdict asks for attention.
func (v Verdict) Flagged() bool { return v == OutOfTolerance || v == Drifting }

// Worse returns the worse of two verdicts.
func Worse(a, b Verdict) Verdict {
	if b.Rank() < a.Rank() {
		return b
	}
	return a
}

// Report is everything the review has to say about one night.
type Report struct {
	Plant     *rf.Plant
	From, To  time.Time
	Log       series.Log
	Coverage  float64 // percent of expected readings that are there
	Reference Reference

	Stations   []StationResult
	Structures []StructureResult
	Loops      []LoopResult
	Waypoints  []WaypointResult
	Findings   []Finding // worst verdict first, then by energy cost
	NotJudged  []NotJudged
	Traces     []Trace
	Events     []series.Event // trips and edges of RF on and off, in order of time
	Notices    []string

	CellStart time.Time // grid of all traces
	CellWidth time.Duration
	Cells     int
}

// Reference says what drift was measured from.
type Reference struct {
	Kind     string // "first settled hour", "first 3 settled cells", "given span", "accepted handover"
	From, To time.Time
	Settled  time.Duration // settled time used, of the place with least
	Note     string        // what a reader must know of it; empty: nothing
}

// Trace is one logged or derived quantity over the night with its judgement.
type Trace struct {
	Place    string
	Quantity rf.Quantity
	Unit     string
	Derived  bool

	Mean    []float64 // one per cell; NaN: no reading
	Min     []float64
	Max     []float64
	Settled []bool // cells that count for drift

	Reference float64   // on the level that set-point changes have brought it to
	Stepped   float64   // by how much set-point changes moved the level
	Now       float64   // over the last settled quarter hour
	NowAt     time.Time // end of that quarter hour
	Change    float64   // now minus reference, in Unit
	Noise     float64   // one sigma of Change, from the trace's own scatter

	Basis      rf.Basis
	Judged     float64 // what is held against the limits, in LimitUnit
	DriftLimit float64
	ActLimit   float64
	LimitUnit  string

	SlopePerH   float64
	SlopeLow    float64 // 95 % interval, autocorrelation allowed for
	SlopeHigh   float64
	Since       time.Time // start of the change
	Step        bool      // the change came in one step, not as a ramp
	ReachesAct  time.Time // at this slope
	CyclePeriod time.Duration

	Verdict Verdict
	Why     string // why there is no verdict; empty: there is one
}

// ReferenceBand returns the values of the trace between which no drift is
// flagged, NaN where the limits cannot be drawn on the trace.
func (t *Trace) ReferenceBand() (low, high float64) { return t.band(t.DriftLimit) }

// ActBand returns the values of the trace beyond which it is out of tolerance.
func (t *Trace) ActBand() (low, high float64) { return t.band(t.ActLimit) }

// StationResult is what the night says about one station.
type StationResult struct {
	Station       string
	Verdict       Verdict
	Gain          rf.Energy
	GainReference rf.Energy
	GainHeld      bool      // no data now: the budget uses the last settled gain
	LastGain      rf.Energy // the last settled one
	Taken         []GainShare
	Remainder     rf.Energy // change of gain that no cause explains

	PeakPowerGain        float64
	PeakPowerGainDesign  float64
	EnergyMultiplication float64
	CompressorDetuning   rf.Frequency
	Microperveance       float64
	EfficiencyPercent    float64
	ReflectedPercent     float64

	Trips         int
	TripsPerDay   [3]float64 // rate and its exact 95 % interval
	OnPercent     float64
	EnergyScatter rf.Energy // one sigma, pulse scatter as far as the log shows it
	Chain         string    // which reading carries the gain
	PowerNow      rf.Power
	PowerHighest  rf.Power // highest settled
}

// GainCounted is the gain that the energy is added up from: the last settled one
// where the station has no data now, that of the reference where it has none at all.
func (s StationResult) GainCounted() rf.Energy {
	switch {
	case rf.Known(s.Gain):
		return s.Gain
	case rf.Known(s.LastGain):
		return s.LastGain
	}
	return s.GainReference
}

// GainShare is the part of a station's change of gain that one cause took.
type GainShare struct {
	Cause Cause
	Place string
	Taken rf.Energy // negative: lost
}

// Advice says what to do with a structure's water.
type Advice string

// The advices.
const (
	Retune   Advice = "retune"
	Leave    Advice = "leave"
	Withheld Advice = "withheld"
)

// StructureResult is what the night says about one structure.
type StructureResult struct {
	Structure string
	Station   string
	Loop      string
	Verdict   Verdict

	Detuning       rf.Frequency
	DetuningLow    rf.Frequency // 95 % interval
	DetuningHigh   rf.Frequency
	Relative       bool     // measured from the reference, not from tune
	PhaseSlip      rf.Phase // from tune, or from the reference where Relative
	EnergyLoss     rf.Energy
	WonByWater     rf.Energy
	WonByPhase     rf.Energy
	WaterChangeK   float64
	WaterChangeLow float64
	WaterChangeUp  float64
	Advice         Advice
	Reason         string

	Fit  WaterFit
	Heat Calorimetry
}

// WaterFit is phase advance against inlet temperature after the body's lag.
type WaterFit struct {
	SlopeDegPerK   float64 // fitted
	SlopeLow       float64
	SlopeHigh      float64
	PhysicsDegPerK float64 // expected
	InterceptDeg   float64
	ThermalTime    rf.Interval
	ThermalTimeFit bool // fitted, not assumed
	CorrelationAbs float64
	LaggedDegC     []float64 // one per cell, the water after the lag
	Cells          int
}

// LoopResult is the one advice for structures that share a water loop.
type LoopResult struct {
	Loop         string
	Structures   []string
	WaterChangeK float64
	Remaining    []rf.Frequency // detuning left at each structure after the step
	Advice       Advice
	Reason       string
}

// WaypointResult is the energy at one waypoint.
type WaypointResult struct {
	Waypoint                 string
	AfterStation             string
	Verdict                  Verdict
	Required                 rf.Energy
	Budget                   rf.Energy
	BudgetError              rf.Energy // one sigma, from the couplers
	Measured                 rf.Energy
	MarginPercent            float64 // of budget (or measured, where logged) over required
	ClosurePercent           float64 // measured over budget
	Scaled                   bool    // budget scaled to the beam energy of the reference
	ArrivalShift             rf.Interval
	ArrivalBy                string // station that makes most of it
	CompressionChangePercent float64
	Without                  []WithoutStation
}

// WithoutStation is the waypoint with one station lost.
type WithoutStation struct {
	Station       string
	MarginPercent float64
	Closes        bool
	MadeUpBy      []MakeUp
}

// MakeUp is a station that could carry part of the loss.
type MakeUp struct {
	Station string
	Spare   bool
	Power   rf.Power
	Gain    rf.Energy
	Phase   rf.Phase // re-phasing that the voltage change needs
	Note    string
}

// Cause names what went wrong.
type Cause string

// The causes.
const (
	WaterDetuning      Cause = "water_detuning"
	RegulatingSensor   Cause = "regulating_sensor"
	CoolingFlow        Cause = "cooling_flow"
	HeatLoad           Cause = "heat_load"
	TemperatureSensor  Cause = "temperature_sensor"
	ReadingDoubted     Cause = "reading_doubted"
	CompressorDetuning Cause = "compressor_detuning"
	ModulatorVoltage   Cause = "modulator_voltage"
	CathodeEmission    Cause = "cathode_emission"
	DrivePower         Cause = "drive_power"
	PhaseDrift         Cause = "phase_drift"
	WaveguideLoss      Cause = "waveguide_loss"
	ReflectedPower     Cause = "reflected_power"
	SetPoint           Cause = "set_point"
	TooManyTrips       Cause = "trips"
	Vacuum             Cause = "vacuum"
	StuckReading       Cause = "stuck_reading"
	DataGap            Cause = "data_gap"
	Headroom           Cause = "headroom"
	CommonWater        Cause = "common_water"
	CommonPhase        Cause = "common_phase"
	CommonVoltage      Cause = "common_voltage"
	CommonTrip         Cause = "common_trip"
	Unexplained        Cause = "unexplained"
)

// Words returns the cause as people read it.
func (c Cause) Words() string { return causeWords[c] }

// BeamNoticed says whether the beam energy moved with a finding.
type BeamNoticed string

// What the beam did.
const (
	BeamMoved    BeamNoticed = "yes"
	BeamUnmoved  BeamNoticed = "no"
	BeamNotKnown BeamNoticed = ""
)

// Finding is one thing worth saying: a root cause with its evidence.
type Finding struct {
	Place      string
	Station    string // that it belongs to; empty: machine or loop
	Cause      Cause
	Likely     bool // a witness is missing
	Verdict    Verdict
	Quantity   rf.Quantity // main witness
	Since      time.Time
	Until      time.Time // where it ended before the log did; zero: goes on
	Change     float64   // of the main witness, in Unit
	Unit       string
	SlopePerH  float64
	ReachesAct time.Time
	EnergyCost rf.Energy // positive: lost
	Beam       BeamNoticed

	Message   string   // what and since when, one line
	Advice    string   // what to do, and what not to do
	Caution   string   // where hands go on equipment
	Evidence  []string // in numbers
	NotLogged []string // witnesses that would have settled it
	Step      bool
}

// NotJudged is something that could not be judged, and why.
type NotJudged struct {
	Place    string
	Quantity rf.Quantity // empty: the place as a whole
	Why      string
	Until    time.Time // when it will be settled; zero: not known
}

// Trace returns the trace of a quantity at a place, nil where there is none.
func (r *Report) Trace(place string, q rf.Quantity) *Trace {
	for i := range r.Traces {
		if r.Traces[i].Place == place && r.Traces[i].Quantity == q {
			return &r.Traces[i]
		}
	}
	return nil
}

// At returns the start of cell i.
func (r *Report) At(i int) time.Time { return r.CellStart.Add(time.Duration(i) * r.CellWidth) }
