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
	commonTripBlur  = 2 * time.Minute  // trips known no better than this cannot be told to be common
	usualTripsPerD  = 2.0              // where neither the plant nor the other stations tell
	rareTrips       = 1e-4             // chance below which a count is more than usual
)

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
		at = append(at, instants(e)...)
	}
	return series.Distinct(at, restartWindow)
}

// instants returns when the trips of an event were: at once, or spread over the time
// within which a log that was reduced elsewhere tells of them.
func instants(e series.Event) []time.Time {
	if e.Within <= restartWindow {
		return []time.Time{e.At}
	}
	n := max(e.Count, 1)
	at := make([]time.Time, n)
	for i := range at {
		at[i] = e.At.Add(time.Duration(i) * e.Within / time.Duration(n))
	}
	return at
}

// commonTrips returns the moments at which many stations tripped within seconds,
// and tells each as one finding.
func (a *analysis) commonTrips() []time.Time {
	var trips []series.Event
	for _, e := range a.night.Events {
		if e.Kind == series.Trip && e.Within <= commonTripBlur && !isPlanned(a.plant, e.Place, e.At, e.At.Add(time.Second)) {
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
		f.Message = fmt.Sprintf("%d stations tripped within %d s at %s", len(places), int((commonTripSpan + trips[i].Within).Seconds()), a.clock(f.Since))
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
