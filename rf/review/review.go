package review

import (
	"math"
	"runtime"
	"sort"
	"sync"
	"sync/atomic"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

// Options say what a review is held against.
type Options struct {
	ReferenceSpan *series.Span // nil: the first settled hour
	Levels        *Levels      // of the last accepted handover; nil: none
}

// Traces returns what was read in a span of log and what follows from it by a
// formula, as the traces of a Report, but judged by nothing: without a reference,
// limits or a verdict.
func Traces(plant *rf.Plant, night *series.Night) []Trace {
	return newAnalysis(plant, night, Options{}).report.Traces
}

// newAnalysis makes the traces of a night.
func newAnalysis(plant *rf.Plant, night *series.Night, options Options) *analysis {
	a := &analysis{
		plant: plant, night: night, options: options,
		report: &Report{
			Plant: plant, From: night.Start, To: night.End(), Log: night.Log, Events: night.Events,
			CellStart: night.Start, CellWidth: night.Width, Cells: night.Cells,
		},
		channels: map[key]*series.Channel{}, index: map[key]int{},
		settled: map[string][]bool{}, setPoints: map[string][]setPoint{},
		lagged: map[string][]float64{}, stuck: map[key]bool{}, standings: map[key]standing{}, spent: map[key]bool{},
	}
	for i := range night.Channels {
		if ch := &night.Channels[i]; anyReading(ch) {
			a.channels[key{ch.Place, ch.Quantity}] = ch
		}
	}
	a.settle()
	a.addLogged()
	a.addDerived()
	return a
}

// Review judges a night of a plant.
func Review(plant *rf.Plant, night *series.Night, options Options) *Report {
	a := newAnalysis(plant, night, options)
	a.findStanding()
	a.judgeAll()
	a.addDetuning()
	a.describeReference()

	a.findSetPoints()
	a.findStandingReadings()
	a.findGaps()
	a.findTrips()
	a.findVacuum()
	a.findHeadroom()
	a.findCauses()
	a.retuneAll()
	a.energy()
	a.askTheBeam()
	a.finish()
	return a.report
}

// settle finds what every station did and which cells of every place count.
func (a *analysis) settle() {
	all := make([]bool, a.night.Cells)
	for i := range all {
		all[i] = true
	}
	a.activity = map[string]activity{}
	a.collectSetPoints()
	for _, s := range a.plant.Stations {
		act := a.activityOf(s.Name)
		a.activity[s.Name] = act
		a.settled[s.Name] = act.settled(a.night, rf.DefaultThermalTime)
		for _, structure := range a.plant.StructuresOf(s.Name) {
			a.settled[structure.Name] = act.settled(a.night, a.thermalTime(structure))
		}
	}
	for _, ch := range a.night.Channels {
		if a.settled[ch.Place] == nil {
			a.settled[ch.Place] = all
		}
	}
	for _, w := range a.plant.Waypoints {
		a.settled[w.Name] = a.allUpstreamOn(w)
	}
}

// allUpstreamOn returns the cells in which every station before a waypoint was
// settled: the beam energy means something only then.
func (a *analysis) allUpstreamOn(w rf.Waypoint) []bool {
	settled := make([]bool, a.night.Cells)
	for i := range settled {
		settled[i] = true
	}
	for _, s := range a.plant.Stations {
		if s.Spare {
			continue
		}
		act := a.activity[s.Name]
		for i := range settled {
			settled[i] = settled[i] && act.on[i]
		}
		if s.Name == w.AfterStation {
			break
		}
	}
	return settled
}

// thermalTime returns the lag of a structure's body behind its inlet water.
func (a *analysis) thermalTime(s rf.Structure) rf.Interval {
	if rf.Known(s.ThermalTime) && s.ThermalTime > 0 {
		return s.ThermalTime
	}
	return rf.DefaultThermalTime
}

// judgeAll judges every trace; each stands for itself.
func (a *analysis) judgeAll() {
	onAllCores(len(a.report.Traces), func(i int) { a.judge(&a.report.Traces[i]) })
}

// onAllCores does n independent pieces of work. A panic in one of them is raised
// again in the caller's goroutine, where it can be caught.
func onAllCores(n int, work func(i int)) {
	var next atomic.Int64
	var wait sync.WaitGroup
	var failed atomic.Pointer[any]
	for range min(n, runtime.GOMAXPROCS(0)) {
		wait.Go(func() {
			defer func() {
				if fault := recover(); fault != nil {
					failed.Store(&fault)
				}
			}()
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				work(i)
			}
		})
	}
	wait.Wait()
	if fault := failed.Load(); fault != nil {
		panic(*fault)
	}
}

// finish counts coverage, orders the findings and gives every place its verdict.
func (a *analysis) finish() {
	r := a.report
	r.Coverage = a.coverage()
	sort.SliceStable(r.Findings, func(i, j int) bool {
		x, y := r.Findings[i], r.Findings[j]
		if x.Verdict.Rank() != y.Verdict.Rank() {
			return x.Verdict.Rank() < y.Verdict.Rank()
		}
		return costOf(x) > costOf(y)
	})
	for i := range r.Stations {
		r.Stations[i].Verdict = a.placeVerdict(r.Stations[i].Station)
	}
	for i := range r.Structures {
		r.Structures[i].Verdict = a.placeVerdict(r.Structures[i].Structure)
	}
	a.collectNotJudged()
	a.tellSlowMovers()
	a.tellNoisy()
	a.tellDisagreeing()
}

func costOf(f Finding) float64 {
	if math.IsNaN(float64(f.EnergyCost)) {
		return 0
	}
	return float64(f.EnergyCost)
}

// placeVerdict is the worst finding at a place (for a station, at its structures
// too), no data where nothing there could be judged.
func (a *analysis) placeVerdict(place string) Verdict {
	judged := false
	for i := range a.report.Traces {
		t := &a.report.Traces[i]
		if (t.Place == place || a.stationOf(t.Place) == place) && t.Verdict != NoData {
			judged = true
			break
		}
	}
	worst := NoData
	if judged {
		worst = InTolerance
	}
	for _, f := range a.report.Findings {
		if f.Verdict.Flagged() && (f.Place == place || f.Station == place || a.hangsOn(place, f.Place)) {
			worst = Worse(worst, f.Verdict)
		}
	}
	return worst
}

// hangsOn reports whether a station or structure gets its water from a loop.
func (a *analysis) hangsOn(place, loop string) bool {
	for _, s := range a.plant.Structures {
		if s.WaterLoop == loop && (s.Name == place || s.Station == place) {
			return true
		}
	}
	for _, s := range a.plant.Stations {
		if s.WaterLoop == loop && s.Name == place {
			return true
		}
	}
	return false
}

// coverage returns the percent of cells that hold readings, over all channels
// and outside planned stops.
func (a *analysis) coverage() float64 {
	have, want := 0, 0
	for k, ch := range a.channels {
		planned := a.activity[a.stationOf(k.place)].planned
		for i, c := range ch.Cells {
			if len(planned) > 0 && planned[i] {
				continue
			}
			want++
			if c.Count > 0 {
				have++
			}
		}
	}
	if want == 0 {
		return 0
	}
	return 100 * float64(have) / float64(want)
}

// collectNotJudged lists what got no verdict, one line per place and reason.
func (a *analysis) collectNotJudged() {
	seen := map[string]bool{}
	for i := range a.report.Traces {
		t := &a.report.Traces[i]
		if t.Verdict != NoData || t.Why == "" || t.Why == noTolerance {
			continue
		}
		if line := t.Place + "\x00" + t.Why; !seen[line] {
			seen[line] = true
			a.report.NotJudged = append(a.report.NotJudged, NotJudged{
				Place: t.Place, Quantity: t.Quantity, Why: t.Why, Until: a.settledAgain(t.Place),
			})
		}
	}
}

// settledAgain returns when a place that is not settled at the log's end will
// have a settled quarter hour, zero where it is settled or RF is off.
func (a *analysis) settledAgain(place string) time.Time {
	settled := a.settled[place]
	act, ok := a.activity[a.stationOf(place)]
	if n := len(settled); !ok || n == 0 || settled[n-1] || !act.on[n-1] {
		return time.Time{}
	}
	thermal := rf.DefaultThermalTime
	if s, ok := a.plant.Structure(place); ok {
		thermal = a.thermalTime(s)
	}
	last := 0
	for i, off := range act.restart {
		if off {
			last = i
		}
	}
	wait := time.Duration(settleTimes*float64(thermal)) * time.Second
	return a.night.At(last + 1).Add(wait + nowSettled)
}
