package review

import (
	"fmt"
	"math"
	"sort"
	"strings"
	"time"

	"dawncrest/rf"
)

// finding begins a finding with all numbers not known.
func (a *analysis) finding(cause Cause, place string) Finding {
	nan := math.NaN()
	return Finding{
		Place: place, Station: a.stationOf(place), Cause: cause,
		Change: nan, SlopePerH: nan, EnergyCost: rf.Unknown[rf.Energy](),
		Caution: CautionFor(cause),
	}
}

// findCauses explains every flagged reading and tells each cause once.
func (a *analysis) findCauses() {
	a.observe()
	accepted, left := a.explain(a.commonHypotheses(), a.localHypotheses())
	a.accepted = accepted
	for i := range accepted {
		a.report.Findings = append(a.report.Findings, a.tell(&accepted[i]))
	}
	a.tellUnexplained(left)
}

// tell turns an accepted hypothesis into a finding.
func (a *analysis) tell(x *explained) Finding {
	f := a.finding(x.cause, x.place)
	main := x.main
	switch {
	case a.observed[main] != nil:
	case a.observed[x.seed] != nil:
		main = x.seed
	default:
		main = x.flagged[0] // of a common cause, which has no reading of its own
	}
	t := a.trace(main.place, main.q)
	f.Quantity, f.Unit = main.q, changeUnit(t)
	f.Change, f.SlopePerH, f.ReachesAct = t.Change, t.SlopePerH, t.ReachesAct
	f.Since, f.Step = t.Since, t.Step
	f.Verdict = InTolerance
	for _, k := range x.flagged {
		at := a.trace(k.place, k.q)
		f.Verdict = Worse(f.Verdict, at.Verdict)
		if o := a.observed[k]; o.apart {
			f.Verdict = Worse(f.Verdict, Drifting)
		}
		if f.Since.IsZero() {
			f.Since, f.Step = at.Since, at.Step
		}
		if f.ReachesAct.IsZero() {
			f.ReachesAct = at.ReachesAct
		}
	}
	if a.observed[x.seed].isApart() {
		f.Unit, f.Change = a.observedUnit(a.observed[x.seed]), a.observed[x.seed].change
		f.Evidence = append(f.Evidence, "it did not follow what the whole machine did: the change is told against the others")
	}
	f.NotLogged = a.notLogged(x)
	f.Likely = len(f.NotLogged) > 0
	f.Evidence = append(f.Evidence, a.evidence(x)...)
	f.Message = a.message(x, &f, t)
	f.Advice = adviceFor[x.cause]
	if x.cause == RegulatingSensor && a.channel(x.place, rf.WaterFlow) == nil && a.plant.KindOf(x.place)&rf.OfStructure != 0 {
		f.Advice += " The flow is not logged: look at it first, a flow that fell looks the same."
	}
	if x.cause == ReadingDoubted {
		f.Advice = fmt.Sprintf("Do not correct the station by this reading: check %s.", x.variant)
	}
	return f
}

func (a *analysis) notLogged(x *explained) []string {
	var missing []string
	for _, k := range x.needs {
		if a.channel(k.place, k.q) == nil && a.trace(k.place, k.q) == nil {
			missing = append(missing, k.place+" "+string(k.q))
		}
	}
	if x.cause == ReadingDoubted || x.cause == TemperatureSensor {
		missing = append(missing, a.noNeighbours(x)...)
	}
	sort.Strings(missing)
	return missing
}

// neighbours are the readings that stand before and after one along the chain:
// without any of them a reading cannot be doubted, only questioned.
var neighbours = map[rf.Quantity][]rf.Quantity{
	rf.BeamVoltage:     {rf.BeamCurrent, rf.ForwardPower},
	rf.BeamCurrent:     {rf.BeamVoltage, rf.ForwardPower},
	rf.ForwardPower:    {rf.BeamVoltage, rf.BeamCurrent},
	rf.CompressedPower: {rf.ForwardPower},
	rf.DrivePower:      {rf.ForwardPower},
	rf.DrivePhase:      {rf.ForwardPhase},
	rf.InputPower:      {rf.OutputPower},
	rf.OutputPower:     {rf.InputPower},
	rf.InputPhase:      {rf.OutputPhase},
	rf.OutputPhase:     {rf.InputPhase},
	rf.WaterFlow:       {rf.BodyTemperature},
}

func (a *analysis) noNeighbours(x *explained) []string {
	var missing []string
	for _, q := range neighbours[x.main.q] {
		if a.channel(x.place, q) == nil {
			missing = append(missing, x.place+" "+string(q))
		}
	}
	return missing
}

const mostEvidence = 6

// evidence lists what moved as the cause says and what stood still as it must,
// the strongest first.
func (a *analysis) evidence(x *explained) []string {
	type line struct {
		text   string
		weight float64
	}
	var lines []line
	for k, p := range x.claims {
		o := a.observed[k]
		if o == nil || math.Abs(p.value) < o.sigma || x.common && o.change*p.value < followShare*p.value*p.value {
			continue // too small to be seen; or a place that did not follow
		}
		unit := a.observedUnit(o)
		lines = append(lines, line{
			fmt.Sprintf("%s moved by %s, %s expected", a.title(k), signed(o.change, unit), signed(p.value, unit)),
			math.Abs(p.value) / o.sigma,
		})
	}
	sort.Slice(lines, func(i, j int) bool {
		if lines[i].weight != lines[j].weight {
			return lines[i].weight > lines[j].weight
		}
		return lines[i].text < lines[j].text
	})
	var texts []string
	for _, l := range lines[:min(len(lines), mostEvidence)] {
		texts = append(texts, l.text)
	}
	for _, k := range a.mustBeSteady(x) {
		if o := a.observed[k]; o != nil {
			texts = append(texts, fmt.Sprintf("%s moved by %s only", a.title(k), signed(o.change, a.observedUnit(o))))
		}
	}
	return texts
}

// mustBeSteady are the readings whose silence is evidence.
func (a *analysis) mustBeSteady(x *explained) []key {
	keys := append([]key(nil), x.steady...)
	if x.cause == ReadingDoubted {
		for _, q := range neighbours[x.main.q] {
			keys = append(keys, key{x.place, q})
		}
	}
	return keys
}

func (a *analysis) title(k key) string {
	info, _ := k.q.Info()
	return k.place + " " + info.Title
}

func (a *analysis) observedUnit(o *observable) string {
	if o.percent {
		return "%"
	}
	return changeUnit(&a.report.Traces[o.trace])
}

// message says in one line what is wrong, how much and since when.
func (a *analysis) message(x *explained, f *Finding, t *Trace) string {
	var b strings.Builder
	switch x.cause {
	case WaterDetuning, CommonWater, RegulatingSensor:
		fmt.Fprintf(&b, "%s: %s K too %s", x.cause.Words(), number(math.Abs(x.size)), warmOrCold(x.size))
	case ReadingDoubted:
		fmt.Fprintf(&b, "%s doubted: moved by %s alone", x.variant, a.changeOf(t))
	case CompressorDetuning:
		fmt.Fprintf(&b, "%s: %s, phase behind it %s", x.cause.Words(), signed(x.size, "kHz"), a.changeOf(t))
	default:
		fmt.Fprintf(&b, "%s: %s %s", x.cause.Words(), a.title(key{"", t.Quantity})[1:], a.changeOf(t))
	}
	if !f.Since.IsZero() {
		manner := "growing"
		if f.Step {
			manner = "in one step"
		}
		fmt.Fprintf(&b, " since %s, %s", a.clock(f.Since), manner)
	}
	if !f.ReachesAct.IsZero() && f.Verdict != OutOfTolerance {
		fmt.Fprintf(&b, ", meets the act limit at %s", a.clock(f.ReachesAct))
	}
	return b.String()
}

func warmOrCold(kelvin float64) string {
	if kelvin > 0 {
		return "warm"
	}
	return "cold"
}

// changeOf is the change of a trace as its tolerance counts it.
func (a *analysis) changeOf(t *Trace) string {
	if inPercent(t.Quantity) {
		return signed(100*t.Change/math.Abs(t.Reference), "%")
	}
	return signed(t.Change, changeUnit(t))
}

// changeUnit is the unit of a change of the trace: a temperature changes by
// kelvin.
func changeUnit(t *Trace) string {
	if t.Unit == "degC" {
		return "K"
	}
	return t.Unit
}

// tellUnexplained tells what no cause accounts for, one finding per place.
func (a *analysis) tellUnexplained(left []*observable) {
	var places []string
	at := map[string][]*observable{}
	for _, o := range left {
		place := a.ownerOf(o.place)
		if at[place] == nil {
			places = append(places, place)
		}
		at[place] = append(at[place], o)
	}
	sort.Strings(places)
	for _, place := range places {
		worst := at[place][0]
		t := &a.report.Traces[worst.trace]
		f := a.finding(Unexplained, worst.place)
		f.Verdict, f.Quantity, f.Unit = t.Verdict, t.Quantity, changeUnit(t)
		f.Change, f.SlopePerH, f.Since, f.Step, f.ReachesAct = t.Change, t.SlopePerH, t.Since, t.Step, t.ReachesAct
		f.Message = fmt.Sprintf("%s moved by %s and no cause fits", a.title(worst.key), a.changeOf(t))
		if !f.Since.IsZero() {
			f.Message += " since " + a.clock(f.Since)
		}
		for _, o := range at[place] {
			f.Evidence = append(f.Evidence, fmt.Sprintf("%s moved by %s, of which %s is not explained",
				a.title(o.key), signed(o.change, a.observedUnit(o)), signed(o.residual, a.observedUnit(o))))
		}
		f.Evidence = append(f.Evidence, "tried: "+strings.Join(a.tried(worst.key), ", "))
		f.Advice = adviceFor[Unexplained]
		a.report.Findings = append(a.report.Findings, f)
	}
	a.tellUnclaimed()
}

// tellUnclaimed tells the flagged traces that the causes are never asked about:
// heater current, pulse flatness, beam energy of the night and the like.
func (a *analysis) tellUnclaimed() {
	for i := range a.report.Traces {
		t := &a.report.Traces[i]
		if !t.Verdict.Flagged() || explainable[t.Quantity] || toldElsewhere[t.Quantity] || a.stuck[key{t.Place, t.Quantity}] {
			continue
		}
		f := a.finding(Unexplained, t.Place)
		f.Verdict, f.Quantity, f.Unit = t.Verdict, t.Quantity, changeUnit(t)
		f.Change, f.SlopePerH, f.Since, f.Step, f.ReachesAct = t.Change, t.SlopePerH, t.Since, t.Step, t.ReachesAct
		f.Message = fmt.Sprintf("%s moved by %s and no cause is known for it alone", a.title(key{t.Place, t.Quantity}), a.changeOf(t))
		f.Advice = adviceFor[Unexplained]
		a.report.Findings = append(a.report.Findings, f)
	}
}

// toldElsewhere are the traces whose verdicts other parts of the report tell.
var toldElsewhere = map[rf.Quantity]bool{
	rf.VacuumPressure: true, rf.ValveOpening: true, rf.HeaterPower: true, rf.BeamEnergy: true,
	rf.GalleryTemperature: true, rf.GalleryHumidity: true, rf.Detuning: true, rf.EnergyGain: true,
	rf.CompressorDetuning: true, rf.EnergyMultiplication: true, rf.BeamCharge: true, rf.ReflectedPower: true,
}

// tried names the causes whose witnesses were weighed for a reading.
func (a *analysis) tried(k key) []string {
	seen := map[Cause]bool{}
	var names []string
	for _, h := range a.localHypotheses() {
		if _, moves := a.predict(h, 1)[k]; moves && !seen[h.cause] {
			seen[h.cause] = true
			names = append(names, h.cause.Words())
		}
	}
	return names
}

// clock is a time of the night as people at the plant read it.
func (a *analysis) clock(t time.Time) string {
	zone := a.plant.Zone
	if zone == nil {
		zone = time.UTC
	}
	return t.In(zone).Format("15:04 MST")
}

// number keeps three significant digits.
func number(v float64) string {
	if math.IsNaN(v) {
		return "not known"
	}
	if v == 0 {
		return "0"
	}
	decimals := 2 - int(math.Floor(math.Log10(math.Abs(v))))
	if decimals > 8 || decimals < -6 {
		return fmt.Sprintf("%.2e", v)
	}
	return fmt.Sprintf("%.*f", min(max(decimals, 0), 4), v)
}

func withUnit(v float64, unit string) string {
	switch unit {
	case "", "1":
		return number(v)
	}
	return number(v) + " " + unit
}

func signed(v float64, unit string) string {
	if v > 0 {
		return "+" + withUnit(v, unit)
	}
	return withUnit(v, unit)
}
