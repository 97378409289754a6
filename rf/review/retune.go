package review

import (
	"fmt"
	"math"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

const (
	z95           = 1.959964 // two-sided 95 % of a normal error
	mostStepK     = 0.3      // of one water step
	mostChangeK   = 1.0      // beyond which the water plant is at fault, not the tune
	widestShare   = 0.5      // half width of the interval over the value
	fleetSize     = 8        // structures that tell how far pick-ups wander
	waterSigmaK   = 0.1      // of a thermometer against the tuned temperature
	expansionRel  = 0.02     // of kHz per kelvin
	fastestLagMin = 2.0
	slowestLagMin = 20.0
)

// addDetuning adds to every structure the trace of its detuning over the night:
// absolute where its tuned phase is given, else from the reference.
func (a *analysis) addDetuning() {
	first := len(a.report.Traces)
	for _, s := range a.plant.Structures {
		t := a.trace(s.Name, rf.PhaseAdvance)
		if t == nil {
			continue
		}
		zero := t.Reference
		if rf.Known(s.TunedPhase) {
			zero = tunedPhaseNear(s, t)
		}
		if math.IsNaN(zero) {
			continue
		}
		out := make([]float64, len(t.Mean))
		for i, v := range t.Mean {
			out[i] = rf.In(s.DetuningFromSlip(rf.Phase(v-zero)*rf.Degree), rf.Kilohertz)
		}
		d := Trace{Place: s.Name, Quantity: rf.Detuning, Unit: "kHz", Derived: true, Mean: out}
		a.add(d)
	}
	onAllCores(len(a.report.Traces)-first, func(i int) { a.judge(&a.report.Traces[first+i]) })
}

// tunedPhaseNear returns the tuned phase in the turn in which the trace runs.
func tunedPhaseNear(s rf.Structure, t *Trace) float64 {
	tuned := rf.In(s.TunedPhase, rf.Degree)
	level := t.Reference
	if math.IsNaN(level) {
		level = series.Median(t.Mean)
	}
	return tuned + 360*math.Round((level-tuned)/360)
}

// retuneAll fills the table of structures and the advice for shared loops.
func (a *analysis) retuneAll() {
	wander := a.pickupWander()
	for _, s := range a.plant.Structures {
		a.report.Structures = append(a.report.Structures, a.retune(s, wander))
	}
	a.adviseLoops()
	for i := range a.report.Findings {
		if f := &a.report.Findings[i]; f.Cause == WaterDetuning || f.Cause == HeatLoad {
			f.Advice += a.waterWords(f.Place)
		}
	}
}

// waterWords says the water change of a structure or loop in numbers, or why there
// is none.
func (a *analysis) waterWords(place string) string {
	for _, r := range a.report.Structures {
		if r.Structure != place || r.Loop != place {
			continue
		}
		switch r.Advice {
		case Retune:
			return fmt.Sprintf(" %s: %s (95 %%: %s to %s).", place, signed(r.WaterChangeK, "K"), number(r.WaterChangeLow), number(r.WaterChangeUp))
		case Withheld:
			return fmt.Sprintf(" %s: withheld, %s.", place, r.Reason)
		}
	}
	for _, l := range a.report.Loops {
		if l.Loop == place {
			return fmt.Sprintf(" %s: %s.", place, l.Reason)
		}
	}
	return ""
}

// pickupWander returns one sigma of how far phase pick-ups wander in this night,
// in degrees: the scatter, over all structures, of the phase advance that no
// cause explains.
func (a *analysis) pickupWander() float64 {
	var left []float64
	limit := math.NaN()
	for _, s := range a.plant.Structures {
		o := a.observed[key{s.Name, rf.PhaseAdvance}]
		if o == nil || !s.TravellingWave() {
			continue
		}
		rest := o.change
		for _, x := range a.accepted {
			rest -= x.claims[o.key].value
		}
		left = append(left, rest, -rest)
		limit = o.limit
	}
	if len(left)/2 < fleetSize {
		return nuisanceShare * limit
	}
	return series.RobustScale(left)
}

// retune works out the detuning of one structure and what to do about it.
func (a *analysis) retune(s rf.Structure, wanderDeg float64) StructureResult {
	r := unknownStructure(s)
	r.Heat = a.calorimetry(s)
	t := a.trace(s.Name, rf.PhaseAdvance)
	if t == nil || math.IsNaN(t.Now) {
		r.Advice, r.Reason = Withheld, "too little data"
		if t != nil && t.Why != "" {
			r.Reason += ": " + t.Why
		}
		if until := a.settledAgain(s.Name); !until.IsZero() {
			r.Reason = "not settled at the log's end: until " + a.clock(until)
		}
		return r
	}
	noise := math.Hypot(zeroIfUnknown(t.Noise), zeroIfUnknown(wanderDeg))
	slip, sigma := a.slipOf(s, t, noise, &r)
	if math.IsNaN(slip) {
		r.Advice, r.Reason = Withheld, "too little data: "+t.Why
		return r
	}
	detune := func(deg float64) rf.Frequency { return s.DetuningFromSlip(rf.Phase(deg) * rf.Degree) }
	r.PhaseSlip = rf.Phase(slip) * rf.Degree
	r.Detuning, r.DetuningLow, r.DetuningHigh = detune(slip), detune(slip-z95*sigma), detune(slip+z95*sigma)
	r.WaterChangeK = s.WaterChangeK(r.Detuning, a.plant.ExpansionPerK)
	// The slope of kHz per kelvin is known to a few per cent: that widens the
	// interval of the water change and leaves that of the detuning.
	half := math.Hypot(s.WaterChangeK(detune(z95*sigma), a.plant.ExpansionPerK), z95*expansionRel*r.WaterChangeK)
	r.WaterChangeLow, r.WaterChangeUp = r.WaterChangeK-half, r.WaterChangeK+half
	r.Fit = a.waterFit(s, t)
	a.advise(s, &r)
	return r
}

func unknownStructure(s rf.Structure) StructureResult {
	hz, mev := rf.Unknown[rf.Frequency](), rf.Unknown[rf.Energy]()
	nan := math.NaN()
	return StructureResult{
		Structure: s.Name, Station: s.Station, Loop: s.Loop(),
		Detuning: hz, DetuningLow: hz, DetuningHigh: hz, PhaseSlip: rf.Unknown[rf.Phase](),
		EnergyLoss: mev, WonByWater: mev, WonByPhase: mev,
		WaterChangeK: nan, WaterChangeLow: nan, WaterChangeUp: nan,
		Advice: Leave,
		Fit: WaterFit{
			SlopeDegPerK: nan, SlopeLow: nan, SlopeHigh: nan, PhysicsDegPerK: nan, InterceptDeg: nan,
			ThermalTime: rf.Unknown[rf.Interval](), CorrelationAbs: nan,
		},
	}
}

func zeroIfUnknown(v float64) float64 {
	if math.IsNaN(v) {
		return 0
	}
	return v
}

// slipOf returns the phase slip of a structure and its sigma in degrees. The
// change since the reference counts where it alone is beyond the drift limit, or
// where no tuned phase is given: the error of the tuned phase cancels in it.
func (a *analysis) slipOf(s rf.Structure, t *Trace, noise float64, r *StructureResult) (slip, sigma float64) {
	relative, relativeSigma := t.Change+t.Stepped, noise
	if !rf.Known(s.TunedPhase) {
		r.Relative = true
		return relative, relativeSigma
	}
	changed := rf.In(s.DetuningFromSlip(rf.Phase(relative)*rf.Degree), rf.Kilohertz)
	if math.Abs(changed) > a.detuningLimit(s.Name) {
		r.Relative = true
		return relative, relativeSigma
	}
	return t.Now - tunedPhaseNear(s, t), math.Hypot(noise, rf.In(s.TunedPhaseError, rf.Degree))
}

// detuningLimit returns the drift limit of detuning in kHz.
func (a *analysis) detuningLimit(structure string) float64 {
	for _, t := range rf.TolerancesAt(a.plant.Tolerances, rf.Detuning, structure) {
		return t.DriftLimit
	}
	return math.Inf(1)
}

// advise decides between retune, leave and withheld.
func (a *analysis) advise(s rf.Structure, r *StructureResult) {
	limit := rf.Frequency(a.detuningLimit(s.Name)) * rf.Kilohertz
	beyond := math.Abs(float64(r.Detuning)) > float64(limit)
	if !beyond {
		r.Advice, r.Reason = Leave, "within its limit"
		return
	}
	if !r.Relative && !a.waterAgrees(s, r) {
		r.Advice, r.Reason = Leave, "phase alone says so and its tuned value may be off: the water is where it tuned"
		return
	}
	if why := a.withhold(s, r); why != "" {
		r.Advice, r.Reason = Withheld, why
		return
	}
	r.Advice = Retune
	r.Reason = fmt.Sprintf("move the water by %s in steps of at most %.1f K", signed(r.WaterChangeK, "K"), mostStepK)
}

// withhold returns why a structure that is off tune must not be retuned now,
// empty where nothing stands against it.
func (a *analysis) withhold(s rf.Structure, r *StructureResult) string {
	if until := a.settledAgain(s.Name); !until.IsZero() {
		return "not settled at the log's end: until " + a.clock(until)
	}
	if !a.poweredAtEnd(s.Station) {
		return "RF is off"
	}
	explainedHere := false
	for _, f := range a.report.Findings {
		why, settles := a.standsAgainst(s, f)
		if why != "" {
			return why
		}
		explainedHere = explainedHere || settles
	}
	half := float64(r.DetuningHigh-r.DetuningLow) / 2
	switch {
	case math.Abs(r.WaterChangeK) > mostChangeK:
		return "more than 1 K is a fault of the water plant, not a tune"
	case r.DetuningLow < 0 && r.DetuningHigh > 0:
		return "the interval includes zero"
	case half > widestShare*math.Abs(float64(r.Detuning)):
		return "the interval is too wide"
	case r.Relative && !explainedHere:
		return "only one witness: nothing but the phase advance says so"
	}
	return ""
}

// standsAgainst tells whether a finding forbids retuning a structure, or is the
// second witness for it.
func (a *analysis) standsAgainst(s rf.Structure, f Finding) (why string, settles bool) {
	here := f.Place == s.Name || f.Place == s.WaterLoop && s.WaterLoop != ""
	switch f.Cause {
	case CommonWater:
		return "the water of the whole machine moves", false
	case WaterDetuning, HeatLoad:
		if here && a.channel(s.Name, rf.WaterTemperature) == nil && a.channel(s.Name, rf.BodyTemperature) == nil {
			return "only one witness is logged", false
		}
		return "", here
	case RegulatingSensor, TemperatureSensor:
		if here {
			return "the thermometer is doubted", false
		}
	case CoolingFlow:
		if here {
			return "a cooling fault: repair the flow", false
		}
	case ReadingDoubted:
		if here && (f.Quantity == rf.OutputPhase || f.Quantity == rf.InputPhase || f.Quantity == rf.CavityPhase || f.Quantity == rf.ForwardPhase) {
			return "a phase pick-up is doubted", false
		}
	case CompressorDetuning:
		if f.Place == s.Station && a.plant.PhaseSampling == rf.SameTime {
			return "the compressor moved", false
		}
	case Vacuum, ReflectedPower:
		if f.Place == s.Station || here {
			return f.Cause.Words() + " on the station", false
		}
	}
	return "", false
}

// waterAgrees reports whether the inlet temperature, against the temperature that
// tunes the structure, tells the same detuning as the phase does.
func (a *analysis) waterAgrees(s rf.Structure, r *StructureResult) bool {
	t := a.trace(s.Name, rf.WaterTemperature)
	if t == nil || !rf.Known(s.TunedWater) || math.IsNaN(t.Now) {
		return false
	}
	offK := rf.Celsius(t.Now).Above(s.TunedWater)
	sigmaK := math.Hypot(waterSigmaK, (r.WaterChangeUp-r.WaterChangeLow)/2/z95)
	return math.Abs(offK) > waterSigmaK*z95 && math.Abs(offK+r.WaterChangeK) < z95*sigmaK && offK*r.WaterChangeK < 0
}

// waterFit fits phase advance against the inlet water after the body's lag.
func (a *analysis) waterFit(s rf.Structure, advance *Trace) WaterFit {
	fit := unknownStructure(s).Fit
	fit.PhysicsDegPerK = rf.In(s.SlipPerKelvin(a.plant.ExpansionPerK), rf.Degree)
	water := a.trace(s.Name, rf.WaterTemperature)
	if water == nil {
		return fit
	}
	settled := make([]float64, len(advance.Mean))
	for i, v := range advance.Mean {
		settled[i] = v
		if !advance.Settled[i] {
			settled[i] = math.NaN()
		}
	}
	step := a.night.Width.Hours()
	low, high := fastestLagMin/60, slowestLagMin/60
	if rf.Known(s.ThermalTime) {
		low = float64(s.ThermalTime) / 3600
		high = low
	}
	lag := series.FitLag(water.Mean, settled, step, low, high)
	fit.SlopeDegPerK, fit.SlopeLow, fit.SlopeHigh = lag.Slope, lag.Low, lag.High
	fit.InterceptDeg, fit.Cells = lag.Intercept, lag.Used
	fit.CorrelationAbs = math.Abs(lag.Correlation)
	fit.ThermalTime = rf.Interval(lag.TauH * 3600)
	fit.ThermalTimeFit = !rf.Known(s.ThermalTime)
	fit.LaggedDegC = series.LowPass(water.Mean, step, lag.TauH)
	return fit
}

// adviseLoops gives one advice to structures that share a loop: the step that is
// best for their energy, and what it leaves at each.
func (a *analysis) adviseLoops() {
	members := map[string][]int{}
	var loops []string
	for i, r := range a.report.Structures {
		if s, _ := a.plant.Structure(r.Structure); s.WaterLoop == "" {
			continue
		}
		if members[r.Loop] == nil {
			loops = append(loops, r.Loop)
		}
		members[r.Loop] = append(members[r.Loop], i)
	}
	for _, loop := range loops {
		a.report.Loops = append(a.report.Loops, a.adviseLoop(loop, members[loop]))
	}
}

func (a *analysis) adviseLoop(loop string, members []int) LoopResult {
	l := LoopResult{Loop: loop, WaterChangeK: math.NaN(), Advice: Leave, Reason: "within its limit"}
	var weight, sum float64
	retune := false
	for _, i := range members {
		r := &a.report.Structures[i]
		l.Structures = append(l.Structures, r.Structure)
		if r.Advice == Withheld && l.Advice != Withheld {
			l.Advice, l.Reason = Withheld, r.Structure+": "+r.Reason
		}
		retune = retune || r.Advice == Retune
		if s, ok := a.plant.Structure(r.Structure); ok && rf.Known(r.WaterChangeK) {
			w := a.gainWeight(s)
			weight += w
			sum += w * r.WaterChangeK
		}
	}
	if weight > 0 {
		l.WaterChangeK = sum / weight
	}
	if retune && l.Advice != Withheld {
		l.Advice, l.Reason = Retune, fmt.Sprintf("one step for the loop: %s, at most %.1f K at a time", signed(l.WaterChangeK, "K"), mostStepK)
	}
	for _, i := range members {
		r := &a.report.Structures[i]
		s, _ := a.plant.Structure(r.Structure)
		left := r.Detuning + rf.Frequency(s.FrequencySlope(a.plant.ExpansionPerK)*l.WaterChangeK)
		l.Remaining = append(l.Remaining, left)
		if r.Advice == Retune && l.Advice == Withheld {
			r.Advice, r.Reason = Withheld, "shares a loop: "+l.Reason
		}
	}
	return l
}

// gainWeight is the share of energy that hangs on a structure's tune.
func (a *analysis) gainWeight(s rf.Structure) float64 {
	station, _ := a.plant.Station(s.Station)
	return float64(s.NoLoadGain(station.RatedPower * rf.Power(s.PowerShare)))
}

// cyclePeriod returns the period of a cycle seen in the readings, zero where none
// stands out.
func cyclePeriod(h, y []float64) time.Duration {
	c := series.DominantCycle(h, y)
	if math.IsNaN(c.PeriodH) {
		return 0
	}
	return time.Duration(c.PeriodH * float64(time.Hour))
}
