package review

import (
	"fmt"
	"sort"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

const leastGap = 10 * time.Minute // that readings must be missing to be told

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
