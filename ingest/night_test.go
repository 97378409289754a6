package ingest

import (
	"context"
	"encoding/csv"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/series"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestEvents(t *testing.T) {
	text := `time,S07 trip_count [1],S07 rf_on,S07 trip_reason
2026-02-03T20:00:00Z,5,on,
2026-02-03T20:00:01Z,5,on,
2026-02-03T20:00:02Z,6,off,arc at window
2026-02-03T20:00:03Z,6,off,arc at window
2026-02-03T20:00:09Z,6,1,ok
2026-02-03T20:10:00Z,8,true,ok
2026-02-03T20:10:03Z,8,true,vacuum
2026-02-03T20:20:00Z,0,true,ok
2026-02-03T20:30:00Z,1,FALSE,ok
`
	night, f := readText(t, "night.csv", text, Options{})
	want := []series.Event{
		{At: at("2026-02-03T20:00:02Z"), Kind: series.Trip, Place: "S07", Count: 1, Note: "arc at window"},
		{At: at("2026-02-03T20:00:02Z"), Kind: series.RFOff, Place: "S07", Count: 1},
		{At: at("2026-02-03T20:00:09Z"), Kind: series.RFOn, Place: "S07", Count: 1},
		{At: at("2026-02-03T20:10:00Z"), Kind: series.Trip, Place: "S07", Count: 2, Note: "vacuum"},
		{At: at("2026-02-03T20:30:00Z"), Kind: series.Trip, Place: "S07", Count: 1},
		{At: at("2026-02-03T20:30:00Z"), Kind: series.RFOff, Place: "S07", Count: 1},
	}
	if d := cmp.Diff(want, night.Events); d != "" {
		t.Errorf("events (-want +got):\n%s", d)
	}
	if !strings.Contains(strings.Join(f.Notices, "\n"), "counter of S07 fell 1 time") {
		t.Errorf("notices %q", f.Notices)
	}
	if on := night.Channel("S07", rf.RFOn).Cells[0]; on.Count != 5 || !near(on.Mean, 3.0/5, 1e-12) {
		t.Errorf("fraction on %+v", on)
	}
}

// Without a counter, each new reason is a trip.
func TestTripsByReasonAlone(t *testing.T) {
	text := "time,S07 drive_power [W],S07 trip_reason\n2026-02-03T20:00:00Z,1,\n2026-02-03T20:00:10Z,1,arc\n2026-02-03T20:00:20Z,1,arc\n2026-02-03T20:00:30Z,1,none\n2026-02-03T20:00:40Z,1,arc\n"
	night, _ := readText(t, "night.csv", text, Options{})
	if len(night.Events) != 2 || night.Events[0].Note != "arc" || night.Events[1].At != at("2026-02-03T20:00:40Z") {
		t.Errorf("events %+v", night.Events)
	}
}

// Readings that are written only when they change hold until the next one, and
// means are weighted by time: 4 of 480 minutes at 0 and the rest at 40.
func TestSparseLogIsHeld(t *testing.T) {
	text := `time,S07 forward_power [MW],A07 water_temperature [degC]
2026-02-03T20:00:00Z,40,30.0
2026-02-03T20:07:00Z,40.5,
2026-02-03T20:09:00Z,40,
2026-02-03T20:31:00Z,,30.1
2026-02-03T23:00:00Z,0,
2026-02-03T23:04:00Z,40,
2026-02-04T03:59:00Z,,30.2
2026-02-04T04:00:00Z,41,30.3
`
	night, f := readText(t, "night.csv", text, Options{})
	power := night.Channel("S07", rf.ForwardPower)
	if got, want := f.Columns[0].Mean, (40*(480-2-4)+40.5*2)/480.0; !near(got, want, 1e-4) {
		t.Errorf("mean %v, want %v", got, want)
	}
	if night.Cells != 481 || power.Cells[300].Mean != 40 || power.Cells[182].Mean != 0 || power.Cells[182].Count != 60 {
		t.Errorf("%d cells, at 5 h %+v, in the trip %+v", night.Cells, power.Cells[300], power.Cells[182])
	}
	if !strings.Contains(strings.Join(f.Notices, "\n"), "longest silence") {
		t.Errorf("notices %q", f.Notices)
	}
	night, _ = readText(t, "night.csv", text, Options{HoldFor: time.Hour})
	if c := night.Channel("S07", rf.ForwardPower).Cells; c[60].Count == 0 || c[90].Count != 0 {
		t.Errorf("held for an hour: after 1 h %+v, after 1.5 h %+v", c[60], c[90])
	}
}

// Two loggers that write every second cell each are not sparse, and a gap is not
// held over.
func TestRegularLogIsNotHeld(t *testing.T) {
	var b strings.Builder
	b.WriteString("time,S07 forward_power [MW],A07 water_temperature [degC]\n")
	for i := range 240 {
		from := at("2026-02-03T20:00:00Z")
		if i >= 120 {
			from = from.Add(3 * time.Hour)
		}
		fmt.Fprintf(&b, "%s,40.%03d,\n", from.Add(time.Duration(i)*time.Minute).Format(time.RFC3339), i)
		fmt.Fprintf(&b, "%s,,30.%03d\n", from.Add(time.Duration(i)*time.Minute+30*time.Second).Format(time.RFC3339), i)
	}
	night, f := readText(t, "night.csv", b.String(), Options{})
	if c := night.Channel("S07", rf.ForwardPower).Cells; c[130].Count != 0 || c[10].Count != 1 {
		t.Errorf("in the gap %+v, before it %+v", c[130], c[10])
	}
	if f.GapCount != 1 || f.Step != 30*time.Second {
		t.Errorf("%d gaps, step %v", f.GapCount, f.Step)
	}
}

// Angles are averaged along the circle and unwrapped from cell to cell, also where
// the hour of the crossing is missing.
func TestAnglesAreUnwrapped(t *testing.T) {
	var b strings.Builder
	b.WriteString("time,S07 drive_phase [deg]\n")
	truth := func(minute float64) float64 { return 160 + minute/2 } // to 400
	for second := 0; second < 480*60; second += 10 {
		minute := float64(second) / 60
		value := ""
		if minute < 60 || minute >= 100 {
			value = fmt.Sprintf("%.3f", math.Mod(truth(minute)+180, 360)-180)
		}
		fmt.Fprintf(&b, "%s,%s\n", at("2026-02-03T20:00:00Z").Add(time.Duration(second)*time.Second).Format(time.RFC3339), value)
	}
	night, _ := readText(t, "night.csv", b.String(), Options{})
	for i, c := range night.Channels[0].Cells {
		want := truth(float64(i) + 25.0/60)
		switch gone := i >= 60 && i < 100; {
		case gone != (c.Count == 0):
			t.Fatalf("cell %d: %+v", i, c)
		case !gone && (math.Abs(c.Mean-want) > 1e-3 || c.Max-c.Min > 0.5 || c.StdDev() > 0.2):
			t.Fatalf("cell %d: %+v, want mean %v", i, c, want)
		}
	}
}

// However often the grid was made coarser, or earlier rows asked for room, each
// cell holds what the readings in it come to directly.
func TestGridAgainstDirectSums(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := &grid{limit: 500, width: 60e9, lastAt: minTime, byName: map[channelName]int{}}
		channel := g.channel("S07", rf.ForwardPower, false)
		type reading struct {
			at int64
			v  float64
		}
		var all []reading
		start := rapid.Int64Range(1e9, 2e9).Draw(t, "start")
		for range rapid.IntRange(1, 200).Draw(t, "readings") {
			r := reading{(start + rapid.Int64Range(-90_000, 90_000).Draw(t, "second")) * 1e9, rapid.Float64Range(-1e3, 1e3).Draw(t, "value")}
			all = append(all, r)
			g.store(channel, floorTo(r.at, 60e9), heldCell(r.v, 1))
		}
		cells := g.finish()[0].Cells
		if len(cells) > g.capacity {
			t.Fatalf("%d cells, room for %d", len(cells), g.capacity)
		}
		for i := range cells {
			from := g.start + int64(i)*g.width
			n, sum, low, high := 0, 0.0, math.Inf(1), math.Inf(-1)
			for _, r := range all {
				if r.at >= from && r.at < from+g.width {
					n++
					sum += r.v
					low, high = min(low, r.v), max(high, r.v)
				}
			}
			c := cells[i]
			if int(c.Count) != n || n > 0 && (math.Abs(c.Mean-sum/float64(n)) > 1e-9 || c.Min != low || c.Max != high) {
				t.Fatalf("cell %d: %+v, want %d readings with mean %v", i, c, n, sum/float64(n))
			}
		}
	})
}

// A log of five days at one row a minute is kept in wider cells, and says so.
func TestLongLogIsKeptInWiderCells(t *testing.T) {
	var b strings.Builder
	b.WriteString("time,S07 forward_power [MW]\n")
	for i := range 5 * 1440 {
		fmt.Fprintf(&b, "%s,%.2f\n", at("2026-02-03T20:00:00Z").Add(time.Duration(i)*time.Minute).Format(time.RFC3339), float64(i)/100)
	}
	night, f := readText(t, "night.csv", b.String(), Options{})
	if night.Width != 2*time.Minute || night.Cells != 5*720 || !strings.Contains(strings.Join(f.Notices, "\n"), "cells of 2m") {
		t.Errorf("%d cells of %v: %q", night.Cells, night.Width, f.Notices)
	}
	if got := night.Channels[0].Cells[100].Mean; !near(got, 2.005, 1e-12) {
		t.Errorf("cell 100 has mean %v, want 2.005", got)
	}
}

func TestRefusedRowsAreWrittenAsTheyStood(t *testing.T) {
	var out strings.Builder
	text := twoColumns + "2026-02-03T20:00:00Z,1,2\nnever,\"1\",2\n2026-02-03T20:00:02Z,1\n"
	_, f := readText(t, "night.csv", text, Options{RejectsTo: &out})
	rows, err := csv.NewReader(strings.NewReader(out.String())).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	want := [][]string{
		{"file", "line", "column", "reason", "row"},
		{"night.csv", "3", "time", `"never" is not a time`, `never,"1",2`},
		{"night.csv", "4", "", "2 cells where the header has 3", "2026-02-03T20:00:02Z,1"},
	}
	if d := cmp.Diff(want, rows); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
	if f.RowsRejected != 2 {
		t.Errorf("refused %d", f.RowsRejected)
	}
}

// fails is a writer that cannot write.
type fails struct{}

func (fails) Write([]byte) (int, error) { return 0, fmt.Errorf("disk full") }

func TestRefusedRowsThatCannotBeWrittenAreTold(t *testing.T) {
	_, f := readText(t, "night.csv", twoColumns+"2026-02-03T20:00:00Z,1,2\nnever,1,2\n", Options{RejectsTo: fails{}})
	if !strings.Contains(strings.Join(f.Notices, "\n"), "disk full") {
		t.Errorf("notices %q", f.Notices)
	}
}

// One file of many that cannot be read is told, and the others are read.
func TestOneBadFileAmongGoodOnes(t *testing.T) {
	night, err := Read(context.Background(), []Input{Memory("empty.csv", nil), Memory("good.csv", []byte(wide(9)))}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(night.Log.Files) != 2 || night.Log.Rows() != 9 {
		t.Fatalf("%d files, %d rows", len(night.Log.Files), night.Log.Rows())
	}
	for _, f := range night.Log.Files {
		if (f.Name == "empty.csv") != (f.Err != nil) {
			t.Errorf("%s: %v", f.Name, f.Err)
		}
	}
}

func TestProgressReachesTheEnd(t *testing.T) {
	var last Progress
	inputs := []Input{Memory("a.csv", []byte(wide(5000))), Memory("b.csv", gzipped(t, []byte(wide(30))))}
	if _, err := Read(context.Background(), inputs, Options{Progress: func(p Progress) { last = p }}); err != nil {
		t.Fatal(err)
	}
	if last.Bytes != last.TotalBytes || last.Rows == 0 {
		t.Errorf("%+v", last)
	}
}

// A value written before the span asked for holds into it, and one before its end
// holds to it where the log goes on; a trip before it is none of its events.
func TestSparseLogIsHeldIntoASpan(t *testing.T) {
	text := `time,channel,value
2026-02-03T20:00:00Z,S07 forward_power [MW],40
2026-02-03T20:00:03Z,S07 trip_count,3
2026-02-03T20:17:10Z,S07 trip_count,4
2026-02-03T20:20:00Z,S07 forward_power [MW],41
2026-02-03T21:13:00Z,S07 forward_power [MW],42
2026-02-03T21:20:00Z,S07 trip_count,6
2026-02-03T22:31:00Z,S07 forward_power [MW],43
2026-02-03T23:55:00Z,S07 forward_power [MW],44
`
	night, f := readText(t, "night.csv", text, Options{Force: Force{Sparse: SparseYes}, From: at("2026-02-03T21:00:00Z"), To: at("2026-02-03T22:00:00Z")})
	power := night.Channel("S07", rf.ForwardPower)
	if night.Start != at("2026-02-03T21:00:00Z") || night.Cells != 60 || power.Cells[0].Mean != 41 || power.Cells[12].Mean != 41 || power.Cells[59].Mean != 42 {
		t.Errorf("%d cells from %s, %+v", night.Cells, night.Start, power)
	}
	if len(night.Events) != 1 || night.Events[0].Count != 2 || !night.Events[0].At.Equal(at("2026-02-03T21:20:00Z")) {
		t.Errorf("events %+v", night.Events)
	}
	if f.RowsKept != 2 || f.RowsOutside != 6 {
		t.Errorf("%d rows kept, %d outside", f.RowsKept, f.RowsOutside)
	}
	night, f = readText(t, "night.csv", text, Options{Force: Force{Sparse: SparseYes}, From: at("2026-02-03T21:30:00Z"), To: at("2026-02-03T22:00:00Z")})
	if power := night.Channel("S07", rf.ForwardPower); f.Err != nil || night.Cells != 30 || power.Cells[7].Mean != 42 {
		t.Errorf("without a row in the span: %v, %+v", f.Err, power)
	}
}
