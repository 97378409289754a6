package tui

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/handover"
	"dawncrest/rf/review"
	"dawncrest/rf/series"
	"dawncrest/tui/chart"
)

// data is what every page reads. The root model owns it.
type data struct {
	report    *review.Report
	places    places
	zone      *time.Location
	demo      bool
	window    window
	closeUp   closeUp // what the window shows where its cells are not the report's
	awaited   bool    // a close-up is being read
	filter    string  // empty: every row
	station   string  // the one picked
	finding   int     // the one picked, in the report's order
	seen      []handover.Seen
	history   handover.History // what the shift book knows; zero: there is none
	notes     []string
	preview   []string // of the handover, line by line
	forms     []string // in which it can be written
	writeHint string   // how it is written where it cannot from here
	following Following
	outcome   string // of the last thing asked for: a handover written, a mark set
}

// keeps reports whether a row with these words passes the filter.
func (d data) keeps(words ...string) bool {
	if d.filter == "" {
		return true
	}
	all := strings.ToLower(strings.Join(words, " "))
	return strings.Contains(all, strings.ToLower(d.filter))
}

// clock writes an instant as the hour of the day at the plant, or as the day
// where it lies more than a day from the log's end.
func (d data) clock(t time.Time) string {
	if !t.IsZero() && d.report.To.Sub(t).Abs() > 24*time.Hour {
		return t.In(d.zone).Format("2 Jan")
	}
	return clock(t, d.zone)
}

// moment writes an instant as the hour of the day, with the day in front in a
// log of more than one.
func (d data) moment(t time.Time) string {
	if d.report.To.Sub(d.report.From) > 24*time.Hour {
		return t.In(d.zone).Format("2 Jan 15:04")
	}
	return clock(t, d.zone)
}

// instant writes a time as moment does, to the second in a short window.
func (d data) instant(t time.Time) string {
	if from, to := d.window.times(); to.Sub(from) >= chart.ToTheSecond {
		return d.moment(t)
	}
	return d.moment(t) + t.In(d.zone).Format(":05")
}

// seenOf returns the last mark on a finding.
func (d data) seenOf(f review.Finding) (handover.Seen, bool) {
	for _, s := range slices.Backward(d.seen) {
		if s.Key == keyOf(f) {
			return s, true
		}
	}
	return handover.Seen{}, false
}

// toldOf says since which entry of the shift book a finding is known, or that it
// is new; empty where there is no book.
func (d data) toldOf(finding int) string {
	if !d.history.Book || finding < 0 || finding >= len(d.history.Told) {
		return ""
	}
	if t := d.history.Told[finding]; t.Age > 0 {
		return "since " + t.First
	}
	return "new"
}

// keyOf names a finding across nights.
func keyOf(f review.Finding) string { return handover.FindingKey(f) }

// places is the report sorted by place, worked out once while loading.
type places struct {
	traces     map[string][]*review.Trace // in the order of the power chain
	worst      map[string]*review.Trace   // of a station with its structures
	structures map[string][]string        // of a station
	findings   map[string][]int           // of a station, in the report's order
	coverage   map[string]float64         // percent of cells with a reading
	columns    []series.Column            // of all files, the same ones together
	rows       []review.StationResult     // stations in beam order, then every other place that has readings
}

func sortPlaces(r *review.Report) places {
	p := places{
		traces: map[string][]*review.Trace{}, worst: map[string]*review.Trace{},
		structures: map[string][]string{}, findings: map[string][]int{}, coverage: map[string]float64{}, columns: r.Log.Columns(),
	}
	order := map[rf.Quantity]int{}
	for i, info := range rf.Quantities() {
		if _, known := order[info.Name]; !known {
			order[info.Name] = i
		}
	}
	for i := range r.Traces {
		t := &r.Traces[i]
		p.traces[t.Place] = append(p.traces[t.Place], t)
	}
	for place, traces := range p.traces {
		slices.SortStableFunc(traces, func(a, b *review.Trace) int {
			return cmp.Compare(order[a.Quantity.Base()], order[b.Quantity.Base()])
		})
		p.coverage[place] = coverageOf(traces)
	}
	for _, s := range r.Structures {
		p.structures[s.Station] = append(p.structures[s.Station], s.Structure)
	}
	for i, f := range r.Findings {
		p.findings[f.Station] = append(p.findings[f.Station], i)
	}
	p.rows = append(slices.Clone(r.Stations), p.others(r)...)
	for _, s := range p.rows {
		p.worst[s.Station] = worstOf(p.chain(s.Station))
	}
	return p
}

// others returns a row for each place with readings that belongs to no station:
// structures on their own, waypoints, water loops, the machine, and every place of a log that came
// without a plant folder.
func (p places) others(r *review.Report) []review.StationResult {
	known := map[string]bool{}
	for _, s := range r.Stations {
		known[s.Station] = true
	}
	for _, s := range r.Structures {
		if known[s.Station] {
			known[s.Structure] = true
		}
	}
	var rows []review.StationResult
	unknown := rf.Unknown[rf.Energy]()
	for place, traces := range p.traces {
		if known[place] {
			continue
		}
		row := review.StationResult{Station: place, Verdict: review.NoData, Gain: unknown, GainReference: unknown}
		if worst := worstOf(traces); worst != nil {
			row.Verdict = worst.Verdict
		}
		rows = append(rows, row)
	}
	slices.SortFunc(rows, func(a, b review.StationResult) int { return cmp.Compare(a.Station, b.Station) })
	return rows
}

// chain returns the traces of a station and of the structures it feeds, from the
// modulator to the beam.
func (p places) chain(station string) []*review.Trace {
	chain := slices.Clone(p.traces[station])
	for _, s := range p.structures[station] {
		chain = append(chain, p.traces[s]...)
	}
	return chain
}

// trace returns a quantity at a place, nil where there is none.
func (p places) trace(place string, q rf.Quantity) *review.Trace {
	for _, t := range p.traces[place] {
		if t.Quantity == q {
			return t
		}
	}
	return nil
}

// worstOf returns the trace with the worst verdict; among equals the one that
// has used up most of its limit.
func worstOf(traces []*review.Trace) *review.Trace {
	var worst *review.Trace
	for _, t := range traces {
		if t.Verdict == review.NoData || t.Quantity.IsSet() {
			continue
		}
		if worst == nil || cmp.Or(cmp.Compare(t.Verdict.Rank(), worst.Verdict.Rank()), cmp.Compare(usedUp(worst), usedUp(t))) < 0 {
			worst = t
		}
	}
	return worst
}

// usedUp returns which part of its drift limit a trace has used up.
func usedUp(t *review.Trace) float64 {
	used := math.Abs(t.Judged) / math.Abs(t.DriftLimit)
	if math.IsNaN(used) || math.IsInf(used, 0) {
		return 0
	}
	return used
}

func coverageOf(traces []*review.Trace) float64 {
	present, all := 0, 0
	for _, t := range traces {
		if t.Derived || t.Quantity.IsSet() {
			continue
		}
		for _, v := range t.Mean {
			if !math.IsNaN(v) {
				present++
			}
		}
		all += len(t.Mean)
	}
	if all == 0 {
		return math.NaN()
	}
	return 100 * float64(present) / float64(all)
}
