package handover

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

const shiftLength = 8 * time.Hour

// later moves a report by so many shifts.
func later(r *review.Report, shifts int) *review.Report {
	by := time.Duration(shifts) * shiftLength
	r.From, r.To, r.CellStart = r.From.Add(by), r.To.Add(by), r.CellStart.Add(by)
	return r
}

// kept writes reports into a new book, one shift after the other, and returns
// the book as the next shift finds it.
func kept(t *testing.T, reports []*review.Report, metas ...Meta) *Book {
	t.Helper()
	dir := t.TempDir()
	for i, r := range reports {
		m := Meta{Author: fmt.Sprint("shift ", i)}
		if i < len(metas) {
			m = metas[i]
		}
		write(t, openBook(t, dir), later(r, i), m)
	}
	return openBook(t, dir)
}

// with returns a quiet night with findings.
func with(findings ...review.Finding) *review.Report {
	r := quietNight()
	r.Findings = findings
	return r
}

var (
	warm = review.Finding{Place: "S03A", Station: "S03", Cause: review.WaterDetuning, Verdict: review.Drifting, Quantity: rf.Detuning, Change: -15, Unit: "kHz"}
	sag  = review.Finding{Place: "S07", Station: "S07", Cause: review.ModulatorVoltage, Verdict: review.OutOfTolerance, Quantity: rf.BeamVoltage, Change: -2, Unit: "%"}
	set  = review.Finding{Place: "S05", Station: "S05", Cause: review.SetPoint, Verdict: review.InTolerance, Quantity: rf.BeamVoltage}
)

func TestNewGoingOnAndCleared(t *testing.T) {
	b := kept(t, []*review.Report{with(), with(warm), with(warm, sag, set), with(warm, sag)})
	now := later(with(warm, set), 4)
	h := b.Since(now)
	if h.Previous == nil || h.Previous.Name != "2026-11-25-night" || !h.Book {
		t.Fatalf("previous entry %+v", h.Previous)
	}
	if got := h.Told[0]; got.Age != 3 || got.First != "2026-11-25-morning" || got.Was != review.WaterDetuning {
		t.Errorf("going on: %+v", got)
	}
	if got := h.Told[1]; got.Age != 0 || got.Before != "" {
		t.Errorf("a changed set point is told once and is no going on: %+v", got)
	}
	if len(h.Cleared) != 1 || h.Cleared[0].Finding.Place != "S07" || h.Cleared[0].Age != 2 || h.Cleared[0].NotKnown {
		t.Errorf("cleared: %+v", h.Cleared)
	}
	text := string(written(t, func(b *bytes.Buffer) error { return Text(b, now, Meta{}, h) }))
	for _, want := range []string{"Going on: ↘ S03A: water off tune, 4th shift (first in 2026-11-25-morning)", "New: · S05: set point changed", "Cleared: S07: modulator voltage, after 2 shifts"} {
		if !strings.Contains(strings.Join(strings.Fields(text), " "), want) {
			t.Errorf("handover does not say %q", want)
		}
	}
}

func TestSilenceOfADeadStationClearsNothing(t *testing.T) {
	b := kept(t, []*review.Report{with(warm, sag)})
	dead := later(with(), 1)
	dead.Stations[6].Verdict = review.NoData
	dead.NotJudged = []review.NotJudged{{Place: "S03A", Why: "not settled"}}
	for _, gone := range b.Since(dead).Cleared {
		if !gone.NotKnown {
			t.Errorf("%s counts as cleared though nobody could look", gone.Finding.Place)
		}
	}
}

func TestAFindingThatComesBackIsNewAndSaysSo(t *testing.T) {
	b := kept(t, []*review.Report{with(warm), with()})
	got := b.Since(later(with(warm), 2)).Told[0]
	if got.Age != 0 || got.Before != "2026-11-24-night" {
		t.Errorf("%+v", got)
	}
}

func TestACauseThatBecameClearGoesOn(t *testing.T) {
	unclear := sag
	unclear.Cause, unclear.Verdict = review.Unexplained, review.Drifting
	seen := Meta{Seen: []Seen{{Key: FindingKey(unclear), Initials: "RA", Note: "looking", At: night(5, 0)}}}
	b := kept(t, []*review.Report{with(unclear)}, seen)
	h := b.Since(later(with(sag), 1))
	if got := h.Told[0]; got.Age != 1 || got.Was != review.Unexplained || len(got.Seen) != 1 || got.Seen[0].Key != FindingKey(sag) {
		t.Errorf("%+v", got)
	}
	if len(h.Cleared) != 0 {
		t.Errorf("and is cleared too: %+v", h.Cleared)
	}
	// Where both are told, they are two things.
	if got := b.Since(later(with(unclear, sag), 1)).Told[1]; got.Age != 0 {
		t.Errorf("a second finding took over the age of the first: %+v", got)
	}
}

func TestSeenMarksGoOnWithTheirFinding(t *testing.T) {
	mark := Seen{Key: FindingKey(warm), Initials: "RA", Note: "water crew told", At: night(5, 0)}
	b := kept(t, []*review.Report{with(warm, sag), with(warm), with()}, Meta{Seen: []Seen{mark}}, Meta{Seen: []Seen{mark, {Key: FindingKey(warm), Initials: "BW", At: night(11, 0)}}})
	want := []int{1, 2, 0}
	for i, e := range b.Entries {
		if len(e.Seen) != want[i] {
			t.Errorf("%s carries %d marks, want %d: %+v", e.Name, len(e.Seen), want[i], e.Seen)
		}
	}
}

func TestTheSameNightAgainIsNotItsOwnPast(t *testing.T) {
	b := kept(t, []*review.Report{with(warm)})
	h := b.Since(with(warm))
	if h.Previous != nil || h.Told[0].Age != 0 {
		t.Errorf("a night reviewed twice: %+v", h)
	}
	other := later(with(warm), 1)
	other.Plant.Name = "another linac"
	if h := b.Since(other); h.Previous != nil {
		t.Errorf("another linac's entry is taken for this one's past")
	}
	if h := (*Book)(nil).Since(with(warm)); h.Book {
		t.Error("no book is taken for a book")
	}
}

// creepingBook holds nights on which one structure's water rises by so much
// each, under a scatter far larger than a night's step.
func creepingBook(nights int, stepK float64) (*Book, *review.Report) {
	b := &Book{}
	var r *review.Report
	for i := range nights {
		r = later(quietNight(), 3*i)
		r.Plant.Tolerances = rf.BuiltInTolerances()
		wobble := 0.05 * math.Sin(float64(i*i)) // ± 0.05 K, without a trend of its own
		r.Traces = []review.Trace{{Place: "S03A", Quantity: rf.WaterTemperature, Unit: "degC", Now: 31.5 + stepK*float64(i) + wobble}}
		if i < nights-1 {
			e := NewEntry(r, Meta{}, History{})
			e.Name = fmt.Sprint("night-", i)
			b.Entries = append(b.Entries, e)
		}
	}
	return b, r
}

func TestAWaterThatCreepsIsPlainAfterThirtyNights(t *testing.T) {
	b, r := creepingBook(30, 0.02)
	trend := b.Trend(r, "S03A", rf.WaterTemperature, 30)
	if math.Abs(trend.SlopePerDay-0.02) > 0.003 || !(trend.SlopeLow > 0.01) || !(trend.SlopeHigh < 0.03) || len(trend.Level) != 30 {
		t.Errorf("slope %.4f (%.4f to %.4f) K a day over %d nights", trend.SlopePerDay, trend.SlopeLow, trend.SlopeHigh, len(trend.Level))
	}
	h := b.Since(r)
	if !slices.ContainsFunc(h.Trends, func(t Trend) bool { return t.Place == "S03A" && t.Quantity == rf.WaterTemperature }) || len(h.Trends) != 1 {
		t.Errorf("trends told: %+v", h.Trends)
	}
	text := string(written(t, func(b *bytes.Buffer) error { return Text(b, r, Meta{}, h) }))
	if !strings.Contains(text, "S03A: inlet water temperature +0.0") {
		t.Error("the handover does not tell of it")
	}
	for name, quiet := range map[string]struct {
		nights int
		step   float64
	}{"five nights": {5, 0.02}, "no creep": {30, 0}} {
		b, r := creepingBook(quiet.nights, quiet.step)
		if got := b.Since(r).Trends; len(got) != 0 {
			t.Errorf("%s: trends told: %+v", name, got)
		}
	}
}

func TestTrendLeavesOutWhatIsNotKnown(t *testing.T) {
	b, r := creepingBook(12, 0.02)
	b.Entries[3].Structures.Water[4] = figure(nan)
	b.Entries[5].Structures.Water = nil // cut short by hand
	if got := b.Trend(r, "S03A", rf.WaterTemperature, 12); !math.IsNaN(got.Level[3]) || !math.IsNaN(got.Level[5]) || math.IsNaN(got.SlopePerDay) {
		t.Errorf("water: %v, slope %v", got.Level, got.SlopePerDay)
	}
	r.Structures[4].Relative = true
	if got := b.Trend(r, "S03A", rf.Detuning, 12); !math.IsNaN(got.Level[11]) || got.Level[4] != -2.1 {
		t.Errorf("detuning: %v", got.Level)
	}
	if got := b.Trend(r, "S04", rf.Trips, 12); got.Level[0] != 0 || got.Unit != "trips/day" {
		t.Errorf("trips: %v", got)
	}
	if got := b.Trend(r, "S99", rf.EnergyGain, 12); !math.IsNaN(got.SlopePerDay) {
		t.Errorf("a place nobody knows: %v", got)
	}
	if got := b.Trend(r, "S04", rf.EnergyGain, 3); len(got.Level) != 3 {
		t.Errorf("%d nights, want the last 3", len(got.Level))
	}
}
