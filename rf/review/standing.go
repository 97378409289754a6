package review

import (
	"fmt"
	"math"
	"sort"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

const leastStanding = 30 * time.Minute // that a reading must stand still to be told

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
	if longestOfOneValue(ch.Cells) < a.cellsFor(leastStanding) {
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

// longestOfOneValue returns the most cells in a row, empty ones left out, that
// hold one value only: a cheap look before the thorough one.
func longestOfOneValue(cells []series.Cell) int {
	longest, run, value := 0, 0, math.NaN()
	for _, c := range cells {
		switch {
		case c.Count == 0:
			continue
		case c.Min != c.Max:
			run, value = 0, math.NaN()
			continue
		case c.Min != value:
			run, value = 0, c.Min
		}
		run++
		longest = max(longest, run)
	}
	return longest
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
