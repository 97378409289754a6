package review

import (
	"fmt"
	"math"
	"sort"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

const (
	restartWindow   = 2 * time.Minute  // trips within it are one
	commonTripSpan  = 10 * time.Second // trips of several stations within it have one cause
	commonTripShare = 0.25             // of the stations, and at least three
	usualTripsPerD  = 2.0              // where neither the plant nor the other stations tell
	rareTrips       = 1e-4             // chance below which a count is more than usual
	leastGap        = 10 * time.Minute
	leastStanding   = 30 * time.Minute
)

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

// standing is a span of cells in which a reading stood still.
type standing struct{ from, to int }

// findStanding finds the channels that stand still, and marks those that do so at
// the end of the log.
func (a *analysis) findStanding() {
	keys := a.sortedChannels()
	spans := make([]standing, len(keys))
	onAllCores(len(keys), func(i int) {
		if from, to, ok := a.standingSpan(keys[i], a.channels[keys[i]]); ok {
			spans[i] = standing{from, to}
		}
	})
	for i, k := range keys {
		if spans[i].to == 0 {
			continue
		}
		a.standings[k] = spans[i]
		if spans[i].to >= a.night.Cells-a.cellsFor(nowSettled) {
			a.stuck[k] = true
		}
	}
}

// standingSpan returns the longest span in which a live channel stands still while RF
// is on.
func (a *analysis) standingSpan(k key, ch *series.Channel) (from, to int, ok bool) {
	info, known := a.info(k)
	if !known || ch.Held || k.q.IsSet() || (info.Form != rf.Level && info.Form != rf.Angle) {
		return 0, 0, false
	}
	cells := append([]series.Cell(nil), ch.Cells...)
	if act, isStation := a.activity[a.stationOf(k.place)]; isStation {
		for i := range cells {
			if !act.on[i] {
				cells[i] = series.Cell{}
			}
		}
	}
	for _, run := range series.Stuck(cells) {
		if withReadings(cells[run.From:run.To]) >= a.cellsFor(leastStanding) && run.To-run.From > to-from {
			from, to, ok = run.From, run.To, true
		}
	}
	return from, to, ok
}

func withReadings(cells []series.Cell) int {
	n := 0
	for _, c := range cells {
		if c.Count > 0 {
			n++
		}
	}
	return n
}

// findStandingReadings tells every reading that stands still.
func (a *analysis) findStandingReadings() {
	for _, k := range a.sortedChannels() {
		still, ok := a.standings[k]
		if !ok {
			continue
		}
		from, to := still.from, still.to
		info, _ := a.info(k)
		f := a.finding(StuckReading, k.place)
		f.Verdict, f.Quantity, f.Since, f.Unit = NoData, k.q, a.night.At(from), info.Unit
		value := a.channels[k].Cells[from].Mean
		f.Message = fmt.Sprintf("%s stands still at %s since %s", info.Title, withUnit(value, info.Unit), a.clock(f.Since))
		if to < a.night.Cells-a.cellsFor(nowSettled) {
			f.Until = a.night.At(to)
			f.Message = fmt.Sprintf("%s stood still at %s from %s to %s", info.Title, withUnit(value, info.Unit), a.clock(f.Since), a.clock(f.Until))
		}
		f.Evidence = []string{fmt.Sprintf("%.0f min without any change in a reading that otherwise moves", a.night.Width.Minutes()*float64(to-from))}
		f.Advice = "Do not act on this reading. Check the sensor, its cable and the logger's channel."
		a.report.Findings = append(a.report.Findings, f)
	}
}

func (a *analysis) sortedChannels() []key {
	keys := make([]key, 0, len(a.channels))
	for k := range a.channels {
		keys = append(keys, k)
	}
	sort.Slice(keys, func(i, j int) bool { return less(keys[i], keys[j]) })
	return keys
}

// silence is a stretch of cells without readings.
type silence struct{ from, to int }

// findGaps tells where readings are missing that should be there: one finding for
// the machine where nearly everything is silent at once, else one for a place.
func (a *analysis) findGaps() {
	whole := a.wholeSilences()
	for _, s := range whole {
		a.report.Findings = append(a.report.Findings, a.gap(rf.MachinePlace, s, 0, "", "the whole log is silent"))
	}
	var spans []silence
	silent := map[silence][]key{}
	for _, k := range a.sortedChannels() {
	next:
		for _, s := range a.silences(k) {
			for _, w := range whole {
				if s.mostlyWithin(w) {
					continue next
				}
			}
			for _, other := range spans {
				if s.mostlyWithin(other) && other.mostlyWithin(s) {
					silent[other] = append(silent[other], k)
					continue next
				}
			}
			spans = append(spans, s)
			silent[s] = []key{k}
		}
	}
	sort.Slice(spans, func(i, j int) bool {
		return spans[i].from < spans[j].from || spans[i].from == spans[j].from && spans[i].to < spans[j].to
	})
	for _, s := range spans {
		a.tellGap(s, silent[s])
	}
}

// mostlyWithin reports whether at least four fifths of a silence lie in another.
func (s silence) mostlyWithin(o silence) bool {
	return 5*(min(s.to, o.to)-max(s.from, o.from)) >= 4*(s.to-s.from)
}

// wholeSilences returns the long silences of nearly all channels at once.
func (a *analysis) wholeSilences() []silence {
	cells := make([]series.Cell, a.night.Cells)
	count := make([]int, a.night.Cells)
	for _, ch := range a.channels {
		for i, c := range ch.Cells {
			if c.Count > 0 {
				count[i]++
			}
		}
	}
	for i, n := range count {
		if 10*n > len(a.channels) {
			cells[i].Count = 1
		}
	}
	return a.silencesIn(rf.MachinePlace, cells)
}

func (a *analysis) tellGap(s silence, keys []key) {
	byPlace := map[string][]key{}
	var places []string
	for _, k := range keys {
		place := k.place
		if st := a.stationOf(place); st != "" && a.wholeStationSilent(st, keys) {
			place = st
		}
		if byPlace[place] == nil {
			places = append(places, place)
		}
		byPlace[place] = append(byPlace[place], k)
	}
	sort.Strings(places)
	for _, place := range places {
		what := fmt.Sprintf("%d of its channels are silent", len(byPlace[place]))
		if len(byPlace[place]) == 1 {
			what = string(byPlace[place][0].q) + " is silent"
		}
		a.report.Findings = append(a.report.Findings, a.gap(place, s, len(byPlace[place]), byPlace[place][0].q, what))
	}
}

// wholeStationSilent reports whether all channels of a station are among keys.
func (a *analysis) wholeStationSilent(station string, keys []key) bool {
	all, silent := 0, 0
	for k := range a.channels {
		if a.stationOf(k.place) == station {
			all++
		}
	}
	for _, k := range keys {
		if a.stationOf(k.place) == station {
			silent++
		}
	}
	return silent > 0 && 10*silent >= 9*all
}

func (a *analysis) gap(place string, s silence, channels int, q rf.Quantity, what string) Finding {
	f := a.finding(DataGap, place)
	f.Verdict, f.Since = NoData, a.night.At(s.from)
	if channels == 1 {
		f.Quantity = q
	}
	minutes := a.night.Width.Minutes() * float64(s.to-s.from)
	f.Change, f.Unit = minutes, "min"
	f.Message = fmt.Sprintf("no readings for %.0f min from %s: %s", minutes, a.clock(f.Since), what)
	if s.to < a.night.Cells {
		f.Until = a.night.At(s.to)
	} else {
		f.Message = fmt.Sprintf("no readings since %s: %s", a.clock(f.Since), what)
	}
	f.Advice = "Nothing can be said for that time. Check the logger and its link; enter planned stops in planned.csv."
	return f
}

// silences returns the long silences of a channel outside planned stops. Beam
// energy may be silent while there can be no beam.
func (a *analysis) silences(k key) []silence {
	cells := a.channels[k].Cells
	if k.q == rf.BeamEnergy {
		cells = append([]series.Cell(nil), cells...)
		for i, on := range a.settled[k.place] {
			if !on {
				cells[i].Count = 1
			}
		}
	}
	return a.silencesIn(a.ownerOf(k.place), cells)
}

func (a *analysis) silencesIn(place string, cells []series.Cell) []silence {
	var found []silence
	for i := 0; i < len(cells); {
		if cells[i].Count > 0 {
			i++
			continue
		}
		j := i
		for j < len(cells) && cells[j].Count == 0 {
			j++
		}
		if j-i >= a.cellsFor(leastGap) && !isPlanned(a.plant, place, a.night.At(i), a.night.At(j)) {
			found = append(found, silence{i, j})
		}
		i = j
	}
	return found
}

func (a *analysis) ownerOf(place string) string {
	if s := a.stationOf(place); s != "" {
		return s
	}
	return place
}

// findTrips counts trips per station, finds the common ones and tells stations
// that tripped more than they usually do.
func (a *analysis) findTrips() {
	a.commonAt = a.commonTrips()
	counts := map[string]int{}
	for _, s := range a.plant.Stations {
		counts[s.Name] = len(a.ownTrips(s.Name, a.commonAt))
	}
	for _, s := range a.plant.Stations {
		a.tellTrips(s, counts)
	}
}

// ownTrips returns when a station tripped by itself: outside planned stops, apart
// from the common ones, with repeats within a restart counted once.
func (a *analysis) ownTrips(station string, common []time.Time) []time.Time {
	var at []time.Time
next:
	for _, e := range a.night.EventsAt(station, series.Trip) {
		if isPlanned(a.plant, station, e.At, e.At.Add(time.Second)) {
			continue
		}
		for _, c := range common {
			if d := e.At.Sub(c); d > -commonTripSpan && d < commonTripSpan {
				continue next
			}
		}
		at = append(at, e.At)
	}
	return series.Distinct(at, restartWindow)
}

// commonTrips returns the moments at which many stations tripped within seconds,
// and tells each as one finding.
func (a *analysis) commonTrips() []time.Time {
	var trips []series.Event
	for _, e := range a.night.Events {
		if e.Kind == series.Trip && !isPlanned(a.plant, e.Place, e.At, e.At.Add(time.Second)) {
			trips = append(trips, e)
		}
	}
	need := max(commonLeast, int(math.Ceil(commonTripShare*float64(len(a.plant.Stations)))))
	var moments []time.Time
	for i := 0; i < len(trips); {
		j, places := i, map[string]bool{}
		for j < len(trips) && trips[j].At.Sub(trips[i].At) <= commonTripSpan {
			places[trips[j].Place] = true
			j++
		}
		if len(places) < need {
			i++
			continue
		}
		f := a.finding(CommonTrip, rf.MachinePlace)
		f.Verdict, f.Quantity, f.Since, f.Step = Drifting, rf.Trips, trips[i].At, true
		f.Change, f.Unit = float64(len(places)), "1"
		f.Message = fmt.Sprintf("%d stations tripped within %d s at %s", len(places), int(commonTripSpan.Seconds()), a.clock(f.Since))
		f.Evidence = []string{"these trips are not counted against the stations"}
		f.Advice = "Ask for the mains, the timing and the common interlocks at that time before looking at single stations."
		a.report.Findings = append(a.report.Findings, f)
		moments = append(moments, trips[i].At)
		i = j
	}
	return moments
}

func (a *analysis) tellTrips(s rf.Station, counts map[string]int) {
	n := counts[s.Name]
	hours := a.night.End().Sub(a.night.Start).Hours() * a.activity[s.Name].onPercent() / 100
	usual := s.TripsPerDay
	if !rf.Known(usual) {
		usual = math.Max(usualTripsPerD, medianOthers(counts, s.Name)*24/hours)
	}
	chance := series.PoissonTail(n, usual*hours/24)
	for _, tol := range rf.TolerancesAt(a.plant.Tolerances, rf.Trips, s.Name) {
		verdict := Hold(float64(n), tol.DriftLimit, tol.ActLimit)
		if !verdict.Flagged() || chance >= rareTrips {
			continue
		}
		events := a.night.EventsAt(s.Name, series.Trip)
		low, high := series.PoissonInterval(n, 0.95)
		f := a.finding(TooManyTrips, s.Name)
		f.Verdict, f.Quantity, f.Since = verdict, rf.Trips, events[0].At
		f.Change, f.Unit = float64(n), "1"
		f.Message = fmt.Sprintf("%d trips in %.1f h of RF, first at %s", n, hours, a.clock(f.Since))
		f.Evidence = append([]string{
			fmt.Sprintf("%.1f a day, 95 %% interval %.1f to %.1f; usual %.1f", float64(n)*24/hours, low*24/hours, high*24/hours, usual),
			fmt.Sprintf("chance of so many at the usual rate %.1g", chance),
		}, reasons(events)...)
		if unevenness, p := series.Clustered(a.ownTrips(s.Name, a.commonAt), series.Span{From: a.night.Start, To: a.night.End()}); p < 0.01 {
			f.Evidence = append(f.Evidence, fmt.Sprintf("they come in clusters (unevenness %.2g, chance %.1g): the interval of the rate is then too narrow", unevenness, p))
		}
		f.Advice = "Read the trip reasons and the vacuum before RF power is raised again; let the station condition at lower power if it goes on."
		a.report.Findings = append(a.report.Findings, f)
		return
	}
}

func medianOthers(counts map[string]int, but string) float64 {
	var v []float64
	for name, n := range counts {
		if name != but {
			v = append(v, float64(n))
		}
	}
	if len(v) == 0 {
		return 0
	}
	return median(v)
}

// reasons counts the logged trip reasons, most frequent first.
func reasons(events []series.Event) []string {
	counts := map[string]int{}
	for _, e := range events {
		if e.Note != "" {
			counts[e.Note]++
		}
	}
	if len(counts) == 0 {
		return nil
	}
	names := make([]string, 0, len(counts))
	for n := range counts {
		names = append(names, n)
	}
	sort.Slice(names, func(i, j int) bool {
		if counts[names[i]] != counts[names[j]] {
			return counts[names[i]] > counts[names[j]]
		}
		return names[i] < names[j]
	})
	line := "reasons:"
	for i, n := range names {
		if i > 0 {
			line += ","
		}
		line += fmt.Sprintf(" %s %d", n, counts[n])
	}
	return []string{line}
}
