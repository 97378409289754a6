package ingest

import (
	"bytes"
	"compress/gzip"
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/series"

	"github.com/google/go-cmp/cmp"
	"github.com/klauspost/compress/zstd"
)

// sampleNight is the same hour of readings, to be written in any layout.
type sampleRow struct {
	at     time.Time
	place  string
	values map[string]string // by quantity with unit
}

func sampleHour() []sampleRow {
	var rows []sampleRow
	for i := range 120 {
		for s := range 3 {
			rows = append(rows, sampleRow{
				at:    at("2026-02-03T20:00:00Z").Add(time.Duration(i) * 30 * time.Second),
				place: fmt.Sprintf("S%02d", s+1),
				values: map[string]string{
					"forward_power [MW]": fmt.Sprintf("%.2f", 40+float64(s)+math.Sin(float64(i))),
					"drive_phase [deg]":  fmt.Sprintf("%.1f", 170+float64(i%20)), // through 180
					"trip_count [1]":     fmt.Sprint(7 + i/50),
				},
			})
		}
	}
	return rows
}

var sampleQuantities = []string{"forward_power [MW]", "drive_phase [deg]", "trip_count [1]"}

func asWide(rows []sampleRow) string {
	var b strings.Builder
	b.WriteString("time")
	for _, place := range []string{"S01", "S02", "S03"} {
		for _, q := range sampleQuantities {
			b.WriteString("," + place + " " + q)
		}
	}
	for i, row := range rows {
		if i%3 == 0 {
			b.WriteString("\n" + row.at.Format(time.RFC3339))
		}
		for _, q := range sampleQuantities {
			b.WriteString("," + row.values[q])
		}
	}
	return b.String() + "\n"
}

func asTidy(rows []sampleRow) string {
	var b strings.Builder
	b.WriteString("time,place," + strings.Join(sampleQuantities, ",") + "\n")
	for _, row := range rows {
		b.WriteString(row.at.Format(time.RFC3339) + "," + row.place)
		for _, q := range sampleQuantities {
			b.WriteString("," + row.values[q])
		}
		b.WriteByte('\n')
	}
	return b.String()
}

func asLong(rows []sampleRow, header string, write func(at, place, quantity, unit, value string) string) string {
	var b strings.Builder
	b.WriteString(header + "\n")
	for _, row := range rows {
		for _, q := range sampleQuantities {
			name, unit := splitUnit(q)
			b.WriteString(write(row.at.Format(time.RFC3339), row.place, name, unit, row.values[q]) + "\n")
		}
	}
	return b.String()
}

// channelsOf returns the channels by name, for comparison.
func channelsOf(n *series.Night) map[string][]series.Cell {
	channels := map[string][]series.Cell{}
	for _, c := range n.Channels {
		channels[c.Place+" "+string(c.Quantity)] = c.Cells
	}
	return channels
}

// Every layout of the same readings comes to the same night.
func TestLayoutsAgree(t *testing.T) {
	rows := sampleHour()
	want, f := readText(t, "wide.csv", asWide(rows), Options{})
	if f.Layout != LayoutWide || len(want.Channels) != 9 || f.RowsKept != 120 {
		t.Fatalf("wide: layout %s, %d channels, %d rows", f.Layout, len(want.Channels), f.RowsKept)
	}
	byPlace := append([]sampleRow(nil), rows...)
	for i := range byPlace {
		byPlace[i] = rows[i%120*3+i/120]
	}
	for _, test := range []struct{ name, layout, text string }{
		{"tidy", LayoutTidy, asTidy(rows)},
		{"tidy, one place after the other", LayoutTidy, asTidy(byPlace)},
		{"tidy, units in a row of their own", LayoutTidy, strings.Replace(asTidy(rows), "time,place,forward_power [MW],drive_phase [deg],trip_count [1]\n", "time,station,forward_power,drive_phase,trip_count\n,,MW,deg,1\n", 1)},
		{"long", LayoutLong, asLong(rows, "time,place,quantity,unit,value", func(at, place, quantity, unit, value string) string {
			return strings.Join([]string{at, place, quantity, unit, value}, ",")
		})},
		{"long, unit in the quantity", LayoutLong, asLong(rows, "time,place,quantity,value", func(at, place, quantity, unit, value string) string {
			return fmt.Sprintf("%s,%s,%s [%s],%s", at, place, quantity, unit, value)
		})},
		{"long, columns", LayoutLong, asLong(rows, "time;column;value", func(at, place, quantity, unit, value string) string {
			return fmt.Sprintf("%s;%s %s [%s];%s", at, place, quantity, unit, value)
		})},
	} {
		t.Run(test.name, func(t *testing.T) {
			got, f := readText(t, "other.csv", test.text, Options{})
			if f.Layout != test.layout || f.RowsRejected+f.RowsMerged != 0 {
				t.Errorf("layout %s, refused %d, merged %d: %q", f.Layout, f.RowsRejected, f.RowsMerged, f.Rejects)
			}
			if d := cmp.Diff(channelsOf(want), channelsOf(got)); d != "" {
				t.Errorf("channels differ (-wide +this):\n%.2000s", d)
			}
			if d := cmp.Diff(want.Events, got.Events); d != "" {
				t.Errorf("events differ (-wide +this):\n%s", d)
			}
		})
	}
}

// A night cut into files, packed or not, in any order and overlapping, comes to
// the same as the whole.
func TestManyFilesComeToOneNight(t *testing.T) {
	lines := strings.SplitAfter(asWide(sampleHour()), "\n")
	header, rows := lines[0], lines[1:121]
	whole, _ := readText(t, "whole.csv", header+strings.Join(rows, ""), Options{})
	part := func(from, to int) []byte { return []byte(header + strings.Join(rows[from:to], "")) }
	two := append(gzipped(t, part(0, 30)), gzipped(t, []byte(strings.Join(rows[30:60], "")))...)
	inputs := []Input{
		Memory("c.csv", part(50, 120)),
		Memory("b.csv.zst", zstded(t, part(20, 80))),
		Memory("two members, header in the first.csv.gz", two),
	}
	night, err := Read(context.Background(), inputs, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(channelsOf(whole), channelsOf(night)); d != "" {
		t.Errorf("channels differ (-whole +parts):\n%.2000s", d)
	}
	if d := cmp.Diff(whole.Events, night.Events); d != "" {
		t.Errorf("events differ (-whole +parts):\n%s", d)
	}
	if kept, merged := night.Log.Rows(), night.Log.RowsMerged(); kept != 120 || merged != 70 {
		t.Errorf("kept %d merged %d, want 120 and 70", kept, merged)
	}
}

func gzipped(t *testing.T, data []byte) []byte {
	t.Helper()
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	z.Write(data)
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func zstded(t *testing.T, data []byte) []byte {
	t.Helper()
	z, err := zstd.NewWriter(nil)
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	return z.EncodeAll(data, nil)
}

// Packed files are told by content and not by name; one that is cut off is read as
// far as it goes.
func TestPackedFiles(t *testing.T) {
	text := []byte(wide(5000))
	for _, test := range []struct {
		name   string
		data   []byte
		kept   int
		notice string
	}{
		{"night.csv", gzipped(t, text), 5000, ""},
		{"night.csv.gz", text, 5000, ""},
		{"night.csv.gz", zstded(t, text), 5000, ""},
		{"cut.csv.gz", gzipped(t, text)[:9000], -1, "unpack"},
	} {
		_, f := readText(t, test.name, string(test.data), Options{})
		if f.Err != nil || test.kept >= 0 && f.RowsKept != test.kept || f.RowsKept == 0 {
			t.Errorf("%s: kept %d: %v", test.name, f.RowsKept, f.Err)
		}
		if !strings.Contains(strings.Join(f.Notices, "\n"), test.notice) {
			t.Errorf("%s: notices %q, want %q", test.name, f.Notices, test.notice)
		}
	}
}

func TestStandardInput(t *testing.T) {
	inputs, _, err := Inputs([]string{"-"}, strings.NewReader(asTidy(sampleHour())), Limits{})
	if err != nil {
		t.Fatal(err)
	}
	night, err := Read(context.Background(), inputs, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if f := night.Log.Files[0]; f.Name != StdinName || f.RowsKept != 360 {
		t.Errorf("%s: kept %d", f.Name, f.RowsKept)
	}
}

// columns.csv names what headings do not, and the plant settles the places.
func TestColumnsNamedByRules(t *testing.T) {
	plant := &rf.Plant{Stations: []rf.Station{{Name: "S01"}, {Name: "S02"}}, Structures: []rf.Structure{{Name: "A1", Station: "S01"}}}
	rules := []ColumnRule{
		{Column: "*_PFWD", Quantity: rf.ForwardPower, Unit: "kW", Scale: 1},
		{Column: "HV2", Place: "S02", Quantity: rf.BeamVoltage, Unit: "kV", Scale: -2, Offset: 10},
	}
	text := "time,S01_PFWD,S02_PFWD,S09_PFWD,HV2,a1 water_temperature [degC],S03 drive_power [W],S01 froward_power [MW]\n2026-02-03T20:00:00Z,38200,37100,1,-129,30,1,1\n"
	night, f := readText(t, "night.csv", text, Options{Plant: plant, Columns: rules})
	for _, want := range []struct {
		place    string
		quantity rf.Quantity
		value    float64
	}{{"S01", rf.ForwardPower, 38.2}, {"S02", rf.ForwardPower, 37.1}, {"S02", rf.BeamVoltage, 268}, {"A1", rf.WaterTemperature, 30}} {
		c := night.Channel(want.place, want.quantity)
		if c == nil || !near(c.Cells[0].Value(), want.value, 1e-12) {
			t.Errorf("%s %s: got %+v, want %v", want.place, want.quantity, c, want.value)
		}
	}
	guesses := map[string]string{}
	for _, c := range f.Columns {
		guesses[c.Header] = c.Guess
	}
	for header, want := range map[string]string{
		"S09_PFWD":               "the plant has no S09",
		"S03 drive_power [W]":    "did you mean S01?",
		"S01 froward_power [MW]": "did you mean S01 forward_power?",
	} {
		if !strings.Contains(guesses[header], want) {
			t.Errorf("%s: guess %q, want %q", header, guesses[header], want)
		}
	}
}

// With a plant, a log of which nothing is understood is an error that shows the
// way; without one its numbers are shown as they stand.
func TestLogOfWhichNothingIsUnderstood(t *testing.T) {
	text := "time,T1_degC,note\n2026-02-03 20:00:00,21.5,x\n2026-02-03 20:01:00,21.6,y\n"
	_, f := readText(t, "night.csv", text, Options{Plant: &rf.Plant{}})
	for _, part := range []string{"night.csv: line 1", `"T1_degC"`, "columns.csv"} {
		if f.Err == nil || !strings.Contains(f.Err.Error(), part) {
			t.Errorf("error %v, want %q", f.Err, part)
		}
	}
	night, f := readText(t, "night.csv", text, Options{})
	if len(night.Channels) != 1 || night.Channels[0].Quantity != "T1_degC" || night.Channels[0].Place != logPlace {
		t.Errorf("channels %+v", night.Channels)
	}
	if !strings.Contains(strings.Join(f.Notices, "\n"), "as they stand") {
		t.Errorf("notices %q", f.Notices)
	}
}

// In the tidy and long layouts the rows behind a header in the middle of a file
// follow it, also where it puts the places and values elsewhere.
func TestPartsFollowTheirHeader(t *testing.T) {
	for name, text := range map[string]string{
		"tidy": `time,place,forward_power [MW],drive_power [W]
2026-02-03T20:00:00Z,S07,41,300
2026-02-03T20:00:00Z,S08,42,310
time,drive_power [W],place,forward_power [MW]
2026-02-03T20:00:10Z,301,S07,41
2026-02-03T20:00:10Z,311,S08,42
`,
		"long": `time,place,quantity,unit,value
2026-02-03T20:00:00Z,S07,forward_power,MW,41
2026-02-03T20:00:00Z,S08,forward_power,MW,42
value,quantity,unit,place,time
41,forward_power,MW,S07,2026-02-03T20:00:10Z
42,forward_power,MW,S08,2026-02-03T20:00:10Z
`} {
		night, f := readText(t, name+".csv", text, Options{})
		for place, want := range map[string]float64{"S07": 41, "S08": 42} {
			c := night.Channel(place, rf.ForwardPower)
			if c == nil || c.Cells[0].Count != 2 || c.Cells[0].Min != want || c.Cells[0].Max != want {
				t.Errorf("%s %s: %+v, %q", name, place, c, f.Notices)
			}
		}
		if f.RowsKept != 4 || f.RowsRejected != 0 {
			t.Errorf("%s: %d rows kept, %d refused", name, f.RowsKept, f.RowsRejected)
		}
	}
}
