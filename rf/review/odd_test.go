package review_test

import (
	"fmt"
	"math"
	"runtime/debug"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"dawncrest/rf"
	"dawncrest/rf/review"
	"dawncrest/rf/series"
)

func TestStationThatIsOffAllNight(t *testing.T) {
	b := newBench()
	b.stop("S1", 0, 9)
	r := b.review()
	wantFindings(t, r)
	if s := station(t, r, "S1"); s.Verdict != review.NoData || s.OnPercent != 0 || s.Gain != 0 {
		t.Errorf("%+v", s)
	}
}

// oddPlant draws a plant from nothing at all to the bench's, with what the reader
// would have refused as well: structures of no station, a station of no name.
func oddPlant(t *rapid.T) *rf.Plant {
	p := benchPlant()
	p.Stations = p.Stations[:rapid.IntRange(0, 3).Draw(t, "stations")]
	p.Structures = p.Structures[:rapid.IntRange(0, 5).Draw(t, "structures")]
	if rapid.Bool().Draw(t, "no tolerances") {
		p.Tolerances = nil
	}
	if rapid.Bool().Draw(t, "no zone") {
		p.Zone = nil
	}
	for i := range p.Structures {
		s := &p.Structures[i]
		s.WaterLoop = rapid.SampledFrom([]string{"", "W1", "W2", "S1"}).Draw(t, "loop")
		s.Station = rapid.SampledFrom([]string{s.Station, s.Station, "nobody", ""}).Draw(t, "station of a structure")
		s.Kind = rapid.SampledFrom([]rf.StructureKind{rf.ConstantGradient, rf.ConstantImpedance, rf.StandingWave, ""}).Draw(t, "kind")
		s.UnloadedQ, s.CouplingBeta, s.ShuntImpedanceOhm = 13000, 1, 3.5e6
		s.ThermalTime = rf.Interval(rapid.SampledFrom([]float64{math.NaN(), 6, 60, 14400}).Draw(t, "thermal time"))
		s.TunedPhase = rf.Phase(rapid.SampledFrom([]float64{math.NaN(), 0, 1e6}).Draw(t, "tuned phase"))
		s.TunedWater = rf.Celsius(rapid.SampledFrom([]float64{math.NaN(), 30}).Draw(t, "tuned water"))
		s.HeatingKPerKW = rapid.SampledFrom([]float64{math.NaN(), 0, 0.7}).Draw(t, "heating")
	}
	for i := range p.Stations {
		s := &p.Stations[i]
		s.Spare = rapid.Bool().Draw(t, "spare")
		s.WaterLoop = rapid.SampledFrom([]string{"", "W1"}).Draw(t, "loop of a compressor")
		s.DriveSaturation = rf.Power(rapid.SampledFrom([]float64{math.NaN(), 200}).Draw(t, "saturation"))
		s.PhasePushingDegPerPercent = rapid.SampledFrom([]float64{math.NaN(), 0, 6}).Draw(t, "pushing")
		s.CrestOffset = rf.Phase(rapid.SampledFrom([]float64{0, math.Pi / 2, -3}).Draw(t, "crest"))
	}
	for i := range rapid.IntRange(0, 2).Draw(t, "waypoints") {
		p.Waypoints = append(p.Waypoints, rf.Waypoint{
			Name: fmt.Sprint("E", i), AfterStation: rapid.SampledFrom([]string{"S1", "S3", "nobody"}).Draw(t, "after"),
			Required: rf.Energy(rapid.SampledFrom([]float64{0, 1e8}).Draw(t, "required")), R56M: rapid.SampledFrom([]float64{math.NaN(), -0.05}).Draw(t, "r56"),
		})
	}
	return p
}

// oddCells draws what a channel may hold: nothing, NaN, a constant, anything.
func oddCells(t *rapid.T, n int) []series.Cell {
	cells := make([]series.Cell, n)
	level := rapid.SampledFrom([]float64{0, 1, -7, 30, 267, 1e-9, 1e30, -1e30}).Draw(t, "level")
	kind := rapid.SampledFrom([]string{"empty", "not a number", "constant", "noise", "step", "one", "holes"}).Draw(t, "kind")
	at := rapid.IntRange(0, max(0, n-1)).Draw(t, "at")
	wiggle := rapid.SampledFrom([]float64{1e-6, 0.01, 1, 1000}).Draw(t, "wiggle")
	seed := rapid.Uint32().Draw(t, "seed")
	for i := range cells {
		seed = seed*1664525 + 1013904223
		noise := float64(seed)/(1<<32) - 0.5
		v := level
		switch kind {
		case "empty":
			continue
		case "not a number":
			v = math.NaN()
		case "noise":
			v *= 1 + wiggle*noise
		case "step":
			if v *= 1 + 1e-4*noise; i > at {
				v += wiggle * level
			}
		case "one":
			if i != at {
				continue
			}
		case "holes":
			if seed>>30 == 0 {
				continue
			}
			v *= 1 + 0.01*noise
		}
		cells[i] = series.Cell{Count: 1 + seed>>28, Mean: v, M2: math.Abs(v) * 1e-6, Min: v, Max: v + 1e-6*math.Abs(v), Last: v}
	}
	return cells
}

func TestReviewStandsEveryNight(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		plant := oddPlant(t)
		n := &series.Night{
			Start: time.Date(2031, 3, 4, 20, 0, 0, 0, time.UTC),
			Width: rapid.SampledFrom([]time.Duration{time.Second, time.Minute, 20 * time.Minute, 3 * time.Hour}).Draw(t, "width"),
			Cells: rapid.SampledFrom([]int{0, 1, 2, 9, 60, 150}).Draw(t, "cells"),
		}
		places := []string{rf.MachinePlace, "W1", "W2", "E0", "nowhere"}
		for _, s := range plant.Stations {
			places = append(places, s.Name)
		}
		for _, s := range plant.Structures {
			places = append(places, s.Name)
		}
		for _, place := range places {
			kind := plant.KindOf(place)
			logged, set := rapid.Uint64().Draw(t, "logged"), rapid.Uint64().Draw(t, "set")
			for i, info := range rf.Quantities() {
				if info.Derived || info.Of&kind == 0 && place != "nowhere" || logged>>i&1 == 0 {
					continue
				}
				n.Channels = append(n.Channels, series.Channel{Place: place, Quantity: info.Name, Cells: oddCells(t, n.Cells)})
				if set>>i&7 == 7 {
					n.Channels = append(n.Channels, series.Channel{Place: place, Quantity: info.Name.Set(), Cells: oddCells(t, n.Cells)})
				}
			}
		}
		for range rapid.IntRange(0, 5).Draw(t, "events") {
			n.Events = append(n.Events, series.Event{
				At:   n.Start.Add(time.Duration(rapid.IntRange(-100, 40000).Draw(t, "second")) * time.Second),
				Kind: rapid.SampledFrom([]series.EventKind{series.Trip, series.RFOff, series.RFOn}).Draw(t, "event"), Place: rapid.SampledFrom(places).Draw(t, "place"), Count: 1,
			})
		}
		var o review.Options
		switch rapid.IntRange(0, 2).Draw(t, "reference") {
		case 1:
			o.ReferenceSpan = &series.Span{From: n.Start.Add(-time.Hour), To: n.Start.Add(time.Hour)}
		case 2:
			o.Levels = &review.Levels{Values: map[string]map[rf.Quantity]float64{"S1": {rf.BeamVoltage: 0, rf.ForwardPhase: 1e9, rf.BeamVoltage.Set(): 0}}}
		}
		done := make(chan *review.Report, 1)
		fault := make(chan any, 1)
		go func() {
			defer func() {
				if f := recover(); f != nil {
					fault <- fmt.Sprintf("%v\n%s", f, debug.Stack())
				}
			}()
			done <- review.Review(plant, n, o)
		}()
		select {
		case r := <-done:
			sound(t, r)
		case f := <-fault:
			t.Fatalf("panic: %v", f)
		case <-time.After(20 * time.Second):
			t.Fatal("the review does not end")
		}
	})
}

// sound holds a report against what must be true of any.
func sound(t *rapid.T, r *review.Report) {
	for i := range r.Traces {
		tr := &r.Traces[i]
		if tr.Verdict != review.NoData && math.IsNaN(tr.Judged) {
			t.Errorf("%s %s: %s of what is not known", tr.Place, tr.Quantity, tr.Verdict)
		}
		if tr.Verdict == review.NoData && tr.Why == "" {
			t.Errorf("%s %s: no verdict and no reason", tr.Place, tr.Quantity)
		}
		if len(tr.Mean) != r.Cells || len(tr.Settled) != r.Cells {
			t.Errorf("%s %s: %d means and %d settled in %d cells", tr.Place, tr.Quantity, len(tr.Mean), len(tr.Settled), r.Cells)
		}
	}
	for _, f := range r.Findings {
		if f.Message == "" || f.Place == "" || f.Verdict == "" || f.Cause.Words() == "" {
			t.Errorf("says nothing: %+v", f)
		}
		if strings.Contains(f.Message, "NaN") || strings.Contains(f.Message, "Inf") {
			t.Errorf("message: %s", f.Message)
		}
	}
	if len(r.Stations) != len(r.Plant.Stations) || len(r.Structures) != len(r.Plant.Structures) || len(r.Waypoints) != len(r.Plant.Waypoints) {
		t.Errorf("%d stations, %d structures, %d waypoints of %d, %d, %d", len(r.Stations), len(r.Structures), len(r.Waypoints),
			len(r.Plant.Stations), len(r.Plant.Structures), len(r.Plant.Waypoints))
	}
}
