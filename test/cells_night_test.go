package test

import (
	"math"
	"testing"
	"time"

	"dawncrest/ingest"
	"dawncrest/rf"
	"dawncrest/rf/review"
	"dawncrest/rf/series"
	"dawncrest/sampledata"
)

// TestNightsReducedInSQL reduces whole nights in a database and holds the review of
// the cells against the review of the raw log: the same verdicts and causes, the
// same numbers.
func TestNightsReducedInSQL(t *testing.T) {
	if raceDetector {
		t.Skip("a database in Go is too slow under the race detector; go test ./test -run TestNightsReducedInSQL runs it")
	}
	demo, err := ingest.OpenPlantFS(sampledata.PlantFS(), "demo plant")
	if err != nil {
		t.Fatal(err)
	}
	built := newMachine(t, 12, 5)
	for _, night := range []struct {
		name   string
		plant  *rf.Plant
		text   []byte
		widths []time.Duration
	}{
		{"the built-in night", demo.Plant, demoNight(t), []time.Duration{30 * time.Second, time.Minute, 5 * time.Minute}},
		{"other faults", built.plant, builtNight(t, built), []time.Duration{time.Minute}},
	} {
		db := database(t, night.text)
		for _, width := range night.widths {
			t.Run(night.name+" in cells of "+width.String(), func(t *testing.T) {
				cells := readLog(t, night.plant, "cells.csv", reduce(t, db, width), 0)
				raw := readLog(t, night.plant, "raw.csv", night.text, cells.Width)
				if f := cells.Log.Files[0]; f.Layout != ingest.LayoutCells || f.RowsRejected+f.RowsMerged > 0 || f.Step != width {
					t.Errorf("layout %s, step %v, %d rows refused: %v", f.Layout, f.Step, f.RowsRejected, f.Rejects)
				}
				if want := max(width, time.Minute); cells.Width != want {
					t.Errorf("night in cells of %v, want %v", cells.Width, want)
				}
				sameCells(t, night.plant, cells, raw)
				sameReview(t, review.Review(night.plant, cells, review.Options{}), review.Review(night.plant, raw, review.Options{}), width)
			})
		}
	}
}

func readLog(t *testing.T, plant *rf.Plant, name string, text []byte, width time.Duration) *series.Night {
	t.Helper()
	night, err := ingest.Read(background, []ingest.Input{ingest.Memory(name, text)}, ingest.Options{Plant: plant, CellWidth: width})
	if err != nil {
		t.Fatal(err)
	}
	return night
}

// sameCells compares two nights cell by cell, phases up to whole turns and only
// where RF was on throughout: the query leaves the others out. The database's own
// rounding allows nine digits.
func sameCells(t *testing.T, plant *rf.Plant, got, want *series.Night) {
	t.Helper()
	if got.Start != want.Start || got.Cells != want.Cells {
		t.Fatalf("%d cells from %v, want %d from %v", got.Cells, got.Start, want.Cells, want.Start)
	}
	wrong, compared, impossible := 0, 0, 0
	for _, c := range got.Log.Files[0].Columns {
		impossible += c.Impossible
	}
	for _, w := range want.Channels {
		g := got.Channel(w.Place, w.Quantity)
		if g == nil {
			t.Errorf("%s %s is not there", w.Place, w.Quantity)
			continue
		}
		info, _ := w.Quantity.Info()
		flag := want.Channel(stationOf(plant, w.Place), rf.RFOn)
		for i, c := range g.Cells {
			if info.Form == rf.Angle && flag != nil && flag.Cells[i].Mean < 1 {
				continue
			}
			compared++
			if sameCell(c, w.Cells[i], info.Form == rf.Angle) {
				continue
			}
			if c.Count == 0 && w.Cells[i].Count > 0 && impossible > 0 {
				impossible-- // one reading that cannot be costs the cell, where the raw log loses the reading alone
				continue
			}
			if wrong++; wrong < 10 {
				t.Errorf("%s %s cell %d: %+v, want %+v", w.Place, w.Quantity, i, c, w.Cells[i])
			}
		}
	}
	if wrong > 0 || compared < 9*len(want.Channels)*want.Cells/10 {
		t.Errorf("%d of %d cells differ", wrong, compared)
	}
}

func stationOf(plant *rf.Plant, place string) string {
	if s, ok := plant.Structure(place); ok {
		return s.Station
	}
	return place
}

func sameCell(got, want series.Cell, angle bool) bool {
	if got.Count != want.Count || got.Count == 0 {
		return got.Count == want.Count
	}
	turn := 0.0
	if angle {
		turn = 360 * math.Round((got.Mean-want.Mean)/360)
	}
	slack := 1e-9 * max(math.Abs(want.Min), math.Abs(want.Max), 1)
	return within(got.Mean-turn, want.Mean, slack) && within(got.Min-turn, want.Min, slack) && within(got.Max-turn, want.Max, slack) &&
		within(math.Sqrt(got.M2), math.Sqrt(want.M2), 1e-6*math.Sqrt(want.M2)+slack)
}

// sameReview compares what two reviews conclude: verdicts and causes must be the
// same, sizes of change, detuning and water changes agree to six digits, gains to
// four, energy costs to half a per cent (phases around a trip, which the query leaves
// out, weigh in them). Events of the cells are known to the cell, so what begins with
// one may be told up to two cells apart.
func sameReview(t *testing.T, got, want *review.Report, width time.Duration) {
	t.Helper()
	if len(got.Findings) != len(want.Findings) {
		t.Errorf("%d findings, want %d", len(got.Findings), len(want.Findings))
	}
	if len(want.Findings) < 5 {
		t.Errorf("only %d findings: the night tests nothing", len(want.Findings))
	}
	for _, w := range want.Findings {
		g := findingLike(got, w)
		if g == nil {
			t.Errorf("not told: %s at %s, %s: %s", w.Cause, w.Place, w.Verdict, w.Message)
			continue
		}
		if g.Verdict != w.Verdict || g.Likely != w.Likely || g.Quantity != w.Quantity {
			t.Errorf("%s at %s: %s of %s, want %s of %s", w.Cause, w.Place, g.Verdict, g.Quantity, w.Verdict, w.Quantity)
		}
		change := 0.0
		if w.Cause == review.TooManyTrips {
			change = 1 // two trips that were a restart apart may fall into cells that are not
		}
		if !alike(g.Change, w.Change, 1e-6) && !within(g.Change, w.Change, change) || !alike(float64(g.EnergyCost), float64(w.EnergyCost), 5e-3) {
			t.Errorf("%s at %s: change %v and cost %v, want %v and %v", w.Cause, w.Place, g.Change, g.EnergyCost, w.Change, w.EnergyCost)
		}
		if d := g.Since.Sub(w.Since).Abs(); d > 2*width {
			t.Errorf("%s at %s: since %v, want %v", w.Cause, w.Place, g.Since, w.Since)
		}
	}
	for i, w := range want.Stations {
		g := got.Stations[i]
		if g.Verdict != w.Verdict || !alike(float64(g.Gain), float64(w.Gain), 1e-4) || !alike(g.OnPercent, w.OnPercent, 1e-6) || math.Abs(float64(g.Trips-w.Trips)) > 1 {
			t.Errorf("station %s: %s, %v, on %v, %d trips, want %s, %v, %v, %d", w.Station, g.Verdict, g.Gain, g.OnPercent, g.Trips, w.Verdict, w.Gain, w.OnPercent, w.Trips)
		}
	}
	for i, w := range want.Structures {
		g := got.Structures[i]
		if g.Verdict != w.Verdict || g.Advice != w.Advice || !alike(float64(g.Detuning), float64(w.Detuning), 1e-6) || !alike(g.WaterChangeK, w.WaterChangeK, 1e-6) {
			t.Errorf("structure %s: %s, %s, detuning %v, water %v, want %s, %s, %v, %v", w.Structure, g.Verdict, g.Advice, g.Detuning, g.WaterChangeK, w.Verdict, w.Advice, w.Detuning, w.WaterChangeK)
		}
	}
	for i, w := range want.Waypoints {
		if g := got.Waypoints[i]; g.Verdict != w.Verdict || !alike(g.MarginPercent, w.MarginPercent, 1e-4) {
			t.Errorf("waypoint %s: %s, %v %%, want %s, %v %%", w.Waypoint, g.Verdict, g.MarginPercent, w.Verdict, w.MarginPercent)
		}
	}
}

func findingLike(r *review.Report, like review.Finding) *review.Finding {
	for i, f := range r.Findings {
		if f.Cause == like.Cause && f.Place == like.Place && f.Quantity == like.Quantity {
			return &r.Findings[i]
		}
	}
	return nil
}

// alike reports whether two figures agree, or are both unknown.
func alike(got, want, rel float64) bool {
	return near(got, want, rel) || math.IsNaN(got) && math.IsNaN(want) || within(got, want, 1e-9)
}
