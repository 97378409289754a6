package ingest

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/series"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"
)

const cellsHeader = "time,column,count,mean,min,max,sd\n"

// Cells that gonum makes of readings come back with the same mean, spread and
// extremes, in the native unit.
func TestCellsKeepTheirStatistics(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		readings := rapid.SliceOfN(rapid.Float64Range(20, 60), 1, 50).Draw(t, "kelvin above 273.15")
		for i := range readings {
			readings[i] += 273.15
		}
		mean, sd := stat.MeanStdDev(readings, nil)
		low, high := floats.Min(readings), floats.Max(readings)
		spread := strconv.FormatFloat(sd, 'g', -1, 64)
		if len(readings) == 1 {
			spread = "" // stddev_samp of one row is NULL
		}
		night, err := Read(t.Context(), []Input{Memory("cells.csv", []byte(cellsHeader+
			fmt.Sprintf("2026-02-03T20:00:00Z,S06B body_temperature [K],%d,%v,%v,%v,%s\n", len(readings), mean, low, high, spread)))}, Options{})
		if err != nil {
			t.Fatal(err)
		}
		c := night.Channel("S06B", rf.BodyTemperature).Cells[0]
		if int(c.Count) != len(readings) || !near(c.Mean, mean-273.15, 1e-12) || !near(c.Min, low-273.15, 1e-12) || !near(c.Max, high-273.15, 1e-12) {
			t.Fatalf("%+v, want %d readings, mean %v, %v to %v", c, len(readings), mean-273.15, low-273.15, high-273.15)
		}
		if len(readings) > 1 && math.Abs(c.StdDev()-sd) > 1e-9*sd {
			t.Fatalf("sd %v, want %v", c.StdDev(), sd)
		}
	})
}

// asCells reduces the readings of the sample hour.
func asCells(rows []sampleRow, width time.Duration, separator, mark string) string {
	type slice struct {
		at     time.Time
		column string
	}
	var order []slice
	readings := map[slice][]float64{}
	for _, row := range rows {
		for _, q := range sampleQuantities {
			key := slice{row.at.Truncate(width), row.place + " " + q}
			if readings[key] == nil {
				order = append(order, key)
			}
			v, _ := strconv.ParseFloat(row.values[q], 64)
			if q == "drive_phase [deg]" && v < 0 {
				v += 360 // shifted in the query
			}
			readings[key] = append(readings[key], v)
		}
	}
	var b strings.Builder
	b.WriteString(strings.ReplaceAll(cellsHeader, ",", separator))
	for _, key := range order {
		v := readings[key]
		mean, sd := stat.MeanStdDev(v, nil)
		line := fmt.Sprintf("%s\t%s\t%d\t%v\t%v\t%v\t%v\n", key.at.Format(time.RFC3339), key.column, len(v), mean, floats.Min(v), floats.Max(v), sd)
		b.WriteString(strings.NewReplacer("\t", separator, ".", mark, "NaN", "").Replace(line))
	}
	return b.String()
}

// The night is the same as from the raw log in cells as wide, however the cells
// are written.
func TestCellsAgreeWithRawLog(t *testing.T) {
	rows := sampleHour()
	minute := asCells(rows, time.Minute, ",", ".")
	head, body, _ := strings.Cut(minute, "\n")
	lines := strings.Split(strings.TrimSuffix(body, "\n"), "\n")
	var byColumn []string
	for start := range 9 {
		for i := start; i < len(lines); i += 9 {
			byColumn = append(byColumn, lines[i])
		}
	}
	for _, test := range []struct {
		name, text string
		force      Force
		width      time.Duration
		merged     int
	}{
		{name: "in order of time", text: minute, width: time.Minute},
		{name: "forced", text: minute, force: Force{Layout: LayoutCells}, width: time.Minute},
		{name: "one column after the other", text: head + "\n" + strings.Join(byColumn, "\n") + "\n", width: time.Minute},
		{name: "decimal comma", text: asCells(rows, time.Minute, ";", ","), width: time.Minute},
		{name: "tab", text: asCells(rows, time.Minute, "\t", "."), width: time.Minute},
		{name: "capitals, blanks, tag for column", text: strings.Replace(minute, "time,column,count,mean,min,max,sd", " Time , TAG,COUNT, Mean,MIN,Max , SD", 1), width: time.Minute},
		{name: "cells of half a minute", text: asCells(rows, 30*time.Second, ",", "."), width: time.Minute},
		{name: "cells of five minutes", text: asCells(rows, 5*time.Minute, ",", "."), width: 5 * time.Minute},
		{name: "every row twice", text: minute + body, width: time.Minute, merged: 540},
	} {
		t.Run(test.name, func(t *testing.T) {
			want, _ := readText(t, "wide.csv", asWide(rows), Options{CellWidth: test.width})
			got, f := readText(t, "cells.csv", test.text, Options{Force: test.force})
			if f.Layout != LayoutCells || f.RowsRejected != 0 || f.RowsMerged != test.merged || got.Width != test.width {
				t.Fatalf("layout %s, cells of %v, %d refused, %d merged: %v", f.Layout, got.Width, f.RowsRejected, f.RowsMerged, f.Rejects)
			}
			close := cmp.Comparer(func(a, b float64) bool { return math.Abs(a-b) <= 1e-9*max(math.Abs(a), math.Abs(b), 1) })
			lastLeftOut := cmp.FilterPath(func(p cmp.Path) bool { return p.Last().String() == ".Last" }, cmp.Ignore())
			if d := cmp.Diff(channelsOf(want), channelsOf(got), close, lastLeftOut); d != "" {
				t.Errorf("channels differ (-wide +cells):\n%.2000s", d)
			}
			if trips := got.EventsAt("S01", series.Trip); len(trips) != 2 || trips[0].At != at("2026-02-03T20:25:00Z") {
				t.Errorf("trips %v", trips)
			}
		})
	}
}

// Rows that no readings can come to, or that cannot be told from reduced readings,
// are refused for a reason of their own.
func TestCellsRefused(t *testing.T) {
	const good = "2026-02-03T20:00:00Z,S01 forward_power [MW],10,40,39,41,0.5\n"
	for _, test := range []struct{ row, reason string }{
		{"S01 drive_power [W],10,5,6,4,1", "max below min"},
		{"S01 drive_power [W],10,7,4,6,1", "mean outside min and max"},
		{"S01 drive_power [W],10,5,4,6,-1", "sd below zero"},
		{"S01 drive_power [W],10,5,4,6,3", "sd greater than the span from min to max"},
		{"S01 drive_power [W],10,5,4,6,", "no sd in a cell of several readings"},
		{"S01 drive_power [W],10,5,4,6,few", "sd is no number"},
		{"S01 drive_power [W],1.5,5,4,6,1", "count is no whole number of readings"},
		{"S01 drive_power [W],-1,5,4,6,1", "count is no whole number of readings"},
		{"S01 drive_power [W],,5,4,6,1", "no count"},
		{"S01 drive_power [W],many,5,4,6,1", "count is no number"},
		{"S01 drive_power [W],1e12,5,4,6,1", "count is beyond a thousand million readings"},
		{"S01 drive_power [W],10,much,4,6,1", "mean is no number"},
		{"S01 drive_power [W],10,5,,6,1", "no min"},
		{"S01 drive_power [W],10,5,4,NULL,1", "no max"},
		{"S01 drive_power [W],1,5,4,6,", "one reading, and min differs from max"},
		{"S01 drive_phase [deg],10,0,-179,179,90", "a phase that runs over more than half a turn"},
		{"S01 drive_phase [rad],10,0,-3.1,3.1,2", "a phase that runs over more than half a turn"},
		{"S01 drive_power [dBm],10,50,49,51,0.5", "a mean of decibels is not the mean of the power"},
		{"S01 beam_voltage [kV],10,5,-1,6,1", "readings of both signs"},
		{"S01 trip_reason,1,1,1,1,", "trip reasons are words"},
	} {
		_, f := readText(t, "cells.csv", cellsHeader+good+"2026-02-03T20:01:00Z,"+test.row+"\n", Options{})
		if f.RowsKept != 1 || f.RowsRejected != 1 || !strings.HasPrefix(f.Reasons[0].Reason, test.reason) {
			t.Errorf("%s: %d kept, refused %v, want %q", test.row, f.RowsKept, f.Reasons, test.reason)
		}
	}
}

// What holds no reading is no data; what holds one that cannot be is not used.
func TestCellsWithoutReadings(t *testing.T) {
	for _, test := range []struct {
		row                 string
		missing, impossible int
	}{
		{"S01 drive_power [W],0,,,,", 1, 0},
		{"S01 drive_power [W],0,0,0,0,0", 1, 0},
		{"S01 drive_power [W],5,NULL,NULL,NULL,NULL", 1, 0},
		{`S01 drive_power [W],5,\N,\N,\N,\N`, 1, 0},
		{"S01 body_temperature [degC],5,40,39,900,1", 0, 1},
		{"S01 forward_power [MW],10,400,39,900,300", 0, 1},
		{"S01 trip_count,3,7,7,7,0", 0, 0},
	} {
		_, f := readText(t, "cells.csv", cellsHeader+"2026-02-03T20:00:00Z,S01 beam_current [A],10,40,39,41,0.5\n2026-02-03T20:01:00Z,"+test.row+"\n", Options{})
		impossible := 0
		for _, c := range f.Columns {
			impossible += c.Impossible
		}
		if f.RowsKept != 2 || f.Missing != test.missing || impossible != test.impossible {
			t.Errorf("%s: %d kept, %d missing, %d impossible: %v", test.row, f.RowsKept, f.Missing, impossible, f.Rejects)
		}
	}
}

// Units, scales below zero and magnitudes convert every part.
func TestCellsConvert(t *testing.T) {
	rules := []ColumnRule{{Column: "PHI", Place: "S01", Quantity: rf.ForwardPhase, Unit: "deg", Scale: -1, Offset: 10}}
	night, _ := readText(t, "cells.csv", cellsHeader+
		"2026-02-03T20:00:00Z,S01 forward_power [kW],4,40000,39000,42000,1200\n"+
		"2026-02-03T20:00:00Z,S01 beam_voltage [kV],4,-280,-282,-279,1.5\n"+
		"2026-02-03T20:00:00Z,PHI,4,30,29,32,1.2\n", Options{Columns: rules})
	for _, test := range []struct {
		quantity           rf.Quantity
		mean, low, high, s float64
	}{{rf.ForwardPower, 40, 39, 42, 1.2}, {rf.BeamVoltage, 280, 279, 282, 1.5}, {rf.ForwardPhase, -20, -22, -19, 1.2}} {
		c := night.Channel("S01", test.quantity).Cells[0]
		if !near(c.Mean, test.mean, 1e-12) || !near(c.Min, test.low, 1e-12) || !near(c.Max, test.high, 1e-12) || !near(c.StdDev(), test.s, 1e-9) {
			t.Errorf("%s: %+v sd %v, want %+v", test.quantity, c, c.StdDev(), test)
		}
	}
}

// Counters and states tell of trips and of RF on and off, to the cell.
func TestCellsEvents(t *testing.T) {
	night, f := readText(t, "cells.csv", cellsHeader+
		"2026-02-03T20:00:00Z,S07 trip_count,60,5,5,5,0\n2026-02-03T20:00:00Z,S07 rf_on,60,1,1,1,0\n"+
		"2026-02-03T20:05:00Z,S07 trip_count,60,5.5,5,7,0.8\n2026-02-03T20:05:00Z,S07 rf_on,60,0.9,0,1,0.3\n"+
		"2026-02-03T20:10:00Z,S07 trip_count,60,8,8,8,0\n2026-02-03T20:10:00Z,S07 rf_on,60,1,1,1,0\n"+
		"2026-02-03T20:15:00Z,S07 trip_count,60,4,0,8,4\n"+
		"2026-02-03T20:20:00Z,S07 trip_count,60,1,1,1,0\n", Options{})
	const within = 5 * time.Minute
	want := []series.Event{
		{At: at("2026-02-03T20:05:00Z"), Kind: series.Trip, Place: "S07", Count: 2, Within: within},
		{At: at("2026-02-03T20:05:00Z"), Kind: series.RFOff, Place: "S07", Count: 1, Within: within},
		{At: at("2026-02-03T20:10:00Z"), Kind: series.Trip, Place: "S07", Count: 1, Within: within},
		{At: at("2026-02-03T20:10:00Z"), Kind: series.RFOn, Place: "S07", Count: 1, Within: within},
		{At: at("2026-02-03T20:20:00Z"), Kind: series.Trip, Place: "S07", Count: 1, Within: within},
	}
	if d := cmp.Diff(want, night.Events); d != "" {
		t.Errorf("events (-want +got):\n%s", d)
	}
	if told := strings.Join(f.Notices, "\n"); !strings.Contains(told, "cells of 5m reduced") || !strings.Contains(told, "counter of S07 fell 1 time") {
		t.Errorf("notices %q", f.Notices)
	}
	if on := night.Channel("S07", rf.RFOn).Cells[1]; on.Mean != 0.9 {
		t.Errorf("share of time on %v", on.Mean)
	}
}

func TestCellsHeadersAndOptions(t *testing.T) {
	const row = "2026-02-03T20:00:00Z,S01 forward_power [MW],10,40,39,41,0.5"
	_, f := readText(t, "cells.csv", "time,column,count,mean,min,max\n2026-02-03T20:00:00Z,S01 forward_power [MW],10,40,39,41\n", Options{})
	if f.Err == nil || !strings.Contains(f.Err.Error(), "lacks sd") {
		t.Errorf("without sd: %v", f.Err)
	}
	_, f = readText(t, "wide.csv", asWide(sampleHour()), Options{Force: Force{Layout: LayoutCells}})
	if f.Err == nil || !strings.Contains(f.Err.Error(), "lacks column, count, mean, min, max, sd") {
		t.Errorf("a wide log forced: %v", f.Err)
	}
	_, f = readText(t, "cells.csv", cellsHeader+row+"\n", Options{Force: Force{Sparse: SparseYes}})
	if f.Err == nil || !strings.Contains(f.Err.Error(), "written on change") {
		t.Errorf("on change: %v", f.Err)
	}
	_, f = readText(t, "cells.csv", "time,column,count,mean,min,max,sd,host\n"+row+",a\n", Options{})
	if f.Err != nil || !strings.Contains(strings.Join(f.Notices, "\n"), `no part of a cell, not used: "host"`) {
		t.Errorf("further column: %v, %q", f.Err, f.Notices)
	}
	night, f := readText(t, "cells.csv", asCells(sampleHour(), 5*time.Minute, ",", "."), Options{CellWidth: time.Minute})
	if night.Width != 5*time.Minute || !strings.Contains(strings.Join(f.Notices, "\n"), "those of this log are 5m wide") {
		t.Errorf("cells of %v, %q", night.Width, f.Notices)
	}
}

// FuzzCells reads any rows under the header of a cells log: each is kept, refused
// or merged, and what is kept is a cell that readings can come to.
func FuzzCells(f *testing.F) {
	f.Add("2026-02-03T20:00:00Z,S01 forward_power [MW],10,40,39,41,0.5\n")
	f.Add("2026-02-03T20:00:00Z,S01 drive_phase [rad],3,1,-1,2,0.5\n2026-02-03T20:05:00Z,S01 rf_on,3,0.5,0,1,0.5\n")
	f.Add("1770148800,S01 trip_count,4000000000,1,0,1,0.1\n1770148860,S01 vacuum_pressure [mbar],1,1e-8,1e-8,1e-8,\\N\n")
	f.Fuzz(func(t *testing.T, rows string) {
		if len(rows) > 20_000 {
			return
		}
		night, file := readText(t, "cells.csv", cellsHeader+rows, Options{Force: Force{Layout: LayoutCells}})
		if file.Err != nil && strings.Contains(file.Err.Error(), "a fault of this program") {
			t.Fatal(file.Err)
		}
		if night == nil {
			return
		}
		for _, ch := range night.Channels {
			for _, c := range ch.Cells {
				slack := rounding * max(math.Abs(c.Min), math.Abs(c.Max)) // joined cells round
				if c.Count > 0 && !(c.Min <= c.Mean+slack && c.Mean-slack <= c.Max && c.M2 >= 0 && c.Last >= c.Min && c.Last <= c.Max) {
					t.Fatalf("%s %s: %+v", ch.Place, ch.Quantity, c)
				}
			}
		}
	})
}

// A cells log beside the raw log that it was made of counts its readings twice, and
// that is told.
func TestCellsBesideTheirRawLog(t *testing.T) {
	raw := Memory("raw.csv", []byte("time,S07 forward_power [MW],S07 drive_power [W]\n2026-02-03T20:00:00Z,38,300\n2026-02-03T20:00:30Z,38.2,301\n"))
	same := cellsHeader + "2026-02-03T20:00:00Z,S07 forward_power [MW],2,38.1,38,38.2,0.1414\n"
	for name, c := range map[string]struct {
		cells string
		told  bool
	}{
		"the same readings": {same, true},
		"other readings":    {strings.ReplaceAll(same, "S07", "S08"), false},
		"another day":       {strings.ReplaceAll(same, "02-03", "02-04"), false},
	} {
		night, err := Read(t.Context(), []Input{raw, Memory("cells.csv", []byte(c.cells))}, Options{})
		if err != nil {
			t.Fatal(err)
		}
		var said string
		for _, f := range night.Log.Files {
			said += strings.Join(f.Notices, "\n")
		}
		if told := strings.Contains(said, "stand in raw.csv too, of 1 channel, and count twice"); told != c.told {
			t.Errorf("%s: %q", name, said)
		}
	}
}
