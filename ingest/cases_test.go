package ingest

import (
	"context"
	"errors"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

// readText reads one log from memory.
func readText(t *testing.T, name, text string, o Options) (*series.Night, series.File) {
	t.Helper()
	night, err := Read(context.Background(), []Input{Memory(name, []byte(text))}, o)
	log := series.Log{}
	switch {
	case night != nil:
		log = night.Log
	case !Accounted(err, &log):
		t.Fatal(err)
	}
	if len(log.Files) != 1 {
		t.Fatalf("account of %d files", len(log.Files))
	}
	checkText(t, log.Files[0])
	return night, log.Files[0]
}

// checkText fails where anything that is shown of a file holds a control
// character.
func checkText(t *testing.T, f series.File) {
	t.Helper()
	shown := append([]string{f.Name}, f.Notices...)
	for _, r := range f.Rejects {
		shown = append(shown, r.Error(), r.Column)
	}
	for _, c := range f.Columns {
		shown = append(shown, c.Header, c.Place, string(c.Quantity), c.Unit, c.Guess)
	}
	if f.Err != nil {
		shown = append(shown, strings.Split(f.Err.Error(), "\n")...)
	}
	for _, text := range shown {
		if strings.ContainsFunc(text, func(r rune) bool { return r < ' ' || r >= 0x7f && r < 0xa0 }) {
			t.Errorf("control character in %q", text)
		}
	}
}

func near(got, want, rel float64) bool {
	return got == want || math.Abs(got-want) <= rel*math.Abs(want)
}

func at(text string) time.Time {
	t, err := time.Parse(time.RFC3339Nano, text)
	if err != nil {
		panic(err)
	}
	return t
}

// wide returns a log of one station with rows ten minutes apart.
func wide(rows int) string {
	var b strings.Builder
	b.WriteString("time,S07 forward_power [MW],S07 drive_phase [deg]\n")
	for i := range rows {
		b.WriteString(at("2026-02-03T20:00:00Z").Add(time.Duration(i) * 10 * time.Minute).Format(time.RFC3339))
		b.WriteString(",41." + strconv.Itoa(i%10) + ",-12.5\n")
	}
	return b.String()
}

const twoColumns = "time,S07 forward_power [MW],S07 drive_phase [deg]\n"

// logCases are kinds of trouble that loggers and people make, each with its
// account: every row read is kept, refused or merged.
var logCases = []struct {
	name    string
	text    string
	options Options

	kept, refused, merged, missing int
	lines                          string // of the refused rows
	first, last                    string
	notice                         string // part of one
	err                            string // part of it; empty: readable
}{
	{name: "plain", text: wide(3), kept: 3, first: "2026-02-03T20:00:00Z", last: "2026-02-03T20:20:00Z"},
	{name: "byte-order mark", text: "\ufeff" + wide(3), kept: 3},
	{name: "byte-order mark before a quoted heading", text: "\ufeff\"time\",\"S07 forward_power [MW]\"\n2026-02-03T20:00:00Z,1\n", kept: 1},
	{name: "UTF-16 with mark", text: utf16le("\ufeff" + wide(3)), kept: 3},
	{name: "UTF-16 without mark", text: utf16le(wide(3)), kept: 3, notice: "UTF-16LE"},
	{name: "Latin-1 degree sign", text: "time,S07 drive_phase [\xb0]\n2026-02-03T20:00:00Z,1\n", kept: 1, notice: "Latin-1"},
	{name: "semicolon and decimal comma", text: "time;S07 forward_power [MW]\n2026-02-03T20:00:00Z;41,5\n", kept: 1},
	{name: "tab and decimal comma", text: "time\tS07 forward_power [MW]\tS07 drive_power [W]\n2026-02-03T20:00:00Z\t41,5\t300,1\n", kept: 1},
	{name: "bar", text: strings.ReplaceAll(wide(3), ",", "|"), kept: 3},
	{name: "separator named in the first line", text: "sep=;\ntime;S07 forward_power [MW]\n2026-02-03T20:00:00Z;41,5\n", kept: 1},
	{name: "CR only", text: strings.ReplaceAll(wide(3), "\n", "\r"), kept: 3},
	{name: "CRLF", text: strings.ReplaceAll(wide(3), "\n", "\r\n"), kept: 3},
	{name: "line ends mixed", text: twoColumns + "2026-02-03T20:00:00Z,1,2\r\n2026-02-03T20:10:00Z,1,2\r2026-02-03T20:20:00Z,1,2\n", kept: 3},
	{name: "torn in a row", text: wide(3) + "2026-02-03T20:30:00Z,4", kept: 3, refused: 1, lines: "5"},
	{name: "torn in the last value", text: wide(3) + "2026-02-03T20:30:00Z,41.0,-1", kept: 3, refused: 1, lines: "5"},
	{name: "torn in the time", text: wide(3) + "2026-02-03T20:3", kept: 3, refused: 1, lines: "5"},
	{name: "NUL bytes at the end", text: wide(3) + strings.Repeat("\x00", 700), kept: 3, notice: "NUL"},
	{name: "NUL bytes in front", text: strings.Repeat("\x00", 64) + wide(3), kept: 3, notice: "NUL"},
	{name: "NUL bytes in a row", text: twoColumns + "2026-02-03T20:00:00Z,1,\x00\x002\n2026-02-03T20:10:00Z,1,2\n", kept: 1, refused: 1, lines: "2"},
	{name: "separator at the end of every line", text: "time,S07 forward_power [MW],\n2026-02-03T20:00:00Z,1,\n", kept: 1},
	{name: "separator at the end of the rows only", text: "time,S07 forward_power [MW]\n2026-02-03T20:00:00Z,1,\n", kept: 1},
	{name: "rows too short and too long", text: twoColumns + "2026-02-03T20:00:00Z,1\n2026-02-03T20:10:00Z,1,2,3\n\n,,\n2026-02-03T20:20:00Z,1,2\n", kept: 1, refused: 2, lines: "2 3"},
	{name: "a quote that is never closed", text: "time,S07 forward_power [MW],note\n2026-02-03T20:00:00Z,1,\"arc\n2026-02-03T20:10:00Z,1,ok\n2026-02-03T20:20:00Z,2,\"fine\"\n", kept: 2, refused: 1, lines: "2"},
	{name: "a quote inside a cell", text: "time,S07 forward_power [MW],note\n2026-02-03T20:00:00Z,1,hose 3\" new\n", kept: 1},
	{name: "a line end inside quotes", text: "time,S07 forward_power [MW],note\n2026-02-03T20:00:00Z,1,\"one\ntwo\"\nbad,1,x\n", kept: 1, refused: 1, lines: "4"},
	{name: "header again, columns in another order", text: twoColumns + "2026-02-03T20:00:00Z,1,2\ntime,S07 drive_phase [deg],S07 forward_power [MW]\n2026-02-03T20:10:00Z,2,1\n", kept: 2, notice: "another header at line 3"},
	{name: "header again, one more column", text: twoColumns + "2026-02-03T20:00:00Z,1,2\n" + strings.TrimSpace(twoColumns) + ",S08 forward_power [MW]\n2026-02-03T20:10:00Z,1,2,3\n", kept: 2, missing: 1},
	{name: "header again, the same", text: wide(2) + strings.SplitAfter(wide(1), "\n")[0] + "2026-02-03T21:00:00Z,1,2\n", kept: 3, notice: "header stands again"},
	{name: "station line, header, units, kind", text: "LOG,7,hall\ntime,S07 forward_power,S07 drive_phase\nTS,MW,deg\n,avg,smp\n2026-02-03T20:00:00Z,1,2\n", kept: 1},
	{name: "comments", text: "# night\n" + wide(1) + "# pause\n2026-02-03T21:00:00Z,1,2\n", kept: 2},
	{name: "header as a comment", text: "# night\n# time,S07 forward_power [MW]\n2026-02-03T20:00:00Z,1\n", kept: 1},
	{name: "untidy headings", text: "Time , s07\u00a0 Forward_Power [MW],S07 drive-phase(deg)\n2026-02-03T20:00:00Z,1,2\n", kept: 1},
	{name: "unit not stated", text: twoColumns[:len(twoColumns)-1] + ",S08 forward_power\n2026-02-03T20:00:00Z,1,2,3\n", kept: 1, notice: "not understood and ignored: 1 of 3"},
	{name: "words for nothing", text: twoColumns + "2026-02-03T20:00:00Z,NaN,---\n2026-02-03T20:10:00Z,,1.#QNAN\n2026-02-03T20:20:00Z,1,OFF\n", kept: 3, missing: 5, notice: `"OFF" 1`},
	{name: "a word of the user's own", text: twoColumns + "2026-02-03T20:00:00Z,kaputt,2\n2026-02-03T20:10:00Z,-77,2\n", options: Options{MissingWords: []string{"kaputt", "-77"}}, kept: 2, missing: 2, notice: `words for no value: "kaputt" 1`},
	{name: "not numbers", text: twoColumns + "2026-02-03T20:00:00Z,0x1p4,1_000\n2026-02-03T20:10:00Z,1e400,38.2f\n2026-02-03T20:20:00Z,4;1,3 8.2\n", kept: 3, missing: 6, notice: "not numbers"},
	{name: "physically impossible", text: twoColumns + "2026-02-03T20:00:00Z,-9999,2\n2026-02-03T20:10:00Z,9.9E+37,2\n", kept: 2, notice: "physically impossible and not used: the first is -9999 at line 2"},
	{name: "code for nothing where no range tells it", text: twoColumns + "2026-02-03T20:00:00Z,1,-9999\n", kept: 1, notice: "stand for no value"},
	{name: "thousands point, decimal comma", text: "time;S07 drive_power [W]\n2026-02-03T20:00:00Z;1.230,5\n", kept: 1},
	{name: "comma that may group thousands", text: "time;S07 drive_power [W]\n2026-02-03T20:00:00Z;1,230\n", kept: 1, notice: "every comma has three digits"},
	{name: "two copies of a row", text: wide(3) + strings.SplitAfter(wide(3), "\n")[3], kept: 3, merged: 1},
	{name: "out of order", text: twoColumns + "2026-02-03T20:00:00Z,1,2\n2026-02-03T20:20:00Z,1,2\n2026-02-03T20:10:00Z,1,2\n", kept: 3, last: "2026-02-03T20:20:00Z", notice: "out of order"},
	{name: "same time, other values", text: wide(3) + "2026-02-03T20:20:00Z,77,2\n", kept: 4, notice: "with other values"},
	{name: "epoch in ms", text: "time,S07 forward_power [MW]\n1770148800000,1\n1770149400000,2\n", kept: 2, first: "2026-02-03T20:00:00Z", last: "2026-02-03T20:10:00Z"},
	{name: "epoch unit changes", text: "time,S07 forward_power [MW]\n1770148800,1\n1770149400000,2\n", kept: 2, last: "2026-02-03T20:10:00Z", notice: "changes at line 3"},
	{name: "spreadsheet day numbers", text: "time,S07 forward_power [MW]\n46056.83333,1\n46056.84028,2\n", kept: 2, first: "2026-02-03T20:00:00Z", last: "2026-02-03T20:10:00Z", notice: "day numbers"},
	{name: "24:00 and 24:30", text: twoColumns + "2026-02-03 24:00:00,1,2\n2026-02-04 00:10:00,1,2\n2026-02-04 24:30:00,1,2\n", kept: 2, refused: 1, lines: "4", first: "2026-02-04T00:00:00Z"},
	{name: "day first by a later row", text: twoColumns + "05/06/2026 23:50:00,1,2\n06/06/2026 00:00:00,1,2\n13/06/2026 00:00:00,1,2\n", kept: 3, first: "2026-06-05T23:50:00Z"},
	{name: "day first by the step over midnight", text: twoColumns + "05/06/2026 23:50:00,1,2\n06/06/2026 00:00:00,1,2\n", kept: 2, first: "2026-06-05T23:50:00Z", last: "2026-06-06T00:00:00Z"},
	{name: "no proof of the order", text: twoColumns + "05/06/2026 22:50:00,1,2\n05/06/2026 23:00:00,1,2\n", kept: 2, first: "2026-05-06T22:50:00Z", notice: "month first"},
	{name: "order forced", text: twoColumns + "05/06/2026 22:50:00,1,2\n", options: Options{Force: Force{DateOrder: DayFirst}}, kept: 1, first: "2026-06-05T22:50:00Z"},
	{name: "time of day with a date in the name", text: "time,S07 forward_power [MW]\n23:50:00,1\n00:00:00,2\n", kept: 2, first: "2026-02-03T23:50:00Z", last: "2026-02-04T00:00:00Z", notice: "times of day"},
	{name: "date and time in two columns", text: "date,time,S07 forward_power [MW]\n2026-02-03,20:00:00,1\n", kept: 1, first: "2026-02-03T20:00:00Z"},
	{name: "clock reset", text: twoColumns + "2026-02-03T20:00:00Z,1,2\n1970-01-01T00:00:09Z,1,2\n2026-02-03T20:10:00Z,1,2\n", kept: 2, refused: 1, lines: "3"},
	{name: "clock reset in the first row", text: twoColumns + "1970-01-01T00:00:09Z,1,2\n2026-02-03T20:10:00Z,1,2\n2026-02-03T20:20:00Z,1,2\n", kept: 2, refused: 1, lines: "2"},
	{name: "fraction after comma and colon", text: strings.ReplaceAll(twoColumns, ",", ";") + "2026-02-03T20:00:00,250Z;1;2\n", kept: 1, first: "2026-02-03T20:00:00.25Z"},
	{name: "no header", text: "03/02/2026 20:00:00;1;2\n13/02/2026 20:10:00;1;2\n", kept: 2, notice: "no header line"},
	{name: "time column that is not first", text: "S07 forward_power [MW],time\n1,2026-02-03T20:00:00Z\n", kept: 1},
	{name: "escape codes", text: "time,S07 forward_power [MW]\x1b[31m,\x1b]0;x\x07S07 drive_phase [deg],note\n2026-02-03T20:00:00Z,1,2,\x1b[2J\nx\x1b[1m,1,2,3\n", kept: 1, refused: 1, lines: "3"},
	{name: "rows outside the span", text: wide(4), options: Options{From: at("2026-02-03T20:10:00Z"), To: at("2026-02-03T20:30:00Z")}, kept: 2, notice: "outside the span asked for: 2 rows"},
	{name: "a unit of the wrong kind", text: "time,S07 forward_power [degC]\n2026-02-03T20:00:00Z,1\n", err: `line 1: column 2 "S07 forward_power [degC]": degC is a unit of temperature`},
	{name: "empty", text: "", err: "empty"},
	{name: "blank lines", text: "\n\r\n \n", err: "empty"},
	{name: "byte-order mark alone", text: "\ufeff", err: "empty"},
	{name: "header alone", text: twoColumns, err: "line 1: a header and no row"},
	{name: "only rows that cannot be read", text: twoColumns + "x,1,2\n", refused: 1, lines: "2", err: "none of 1 row"},
	{name: "time alone", text: "time\n2026-02-03T20:00:00Z\n", kept: 1, err: "no value column"},
	{name: "no time", text: "S07 forward_power [MW]\n38.20\n38.21\n", refused: 2, lines: "2 3", err: "no time column"},
	{name: "not a table", text: "%PDF-1.4\n%\xe2\xe3\n1 0 obj\n<< /Type >>\nendobj\n", err: "not a"},
	{name: "binary", text: "\x7fELF\x02\x01\x01\x00\x00\x00\x00\x03\x00>\x00\x01\x00\x00\x00\x9b\x1b[2J", err: "not a"},
}

func TestLogCases(t *testing.T) {
	for _, test := range logCases {
		t.Run(test.name, func(t *testing.T) {
			_, f := readText(t, "night-2026-02-03.csv", test.text, test.options)
			if test.err == "" != (f.Err == nil) {
				t.Fatalf("error %v, want %q", f.Err, test.err)
			}
			if f.Err != nil && (!strings.Contains(f.Err.Error(), test.err) || !strings.HasPrefix(f.Err.Error(), "night-2026-02-03.csv: ")) {
				t.Errorf("error %q, want the file and %q", f.Err, test.err)
			}
			if f.RowsKept != test.kept || f.RowsRejected != test.refused || f.RowsMerged != test.merged || f.Missing != test.missing {
				t.Errorf("kept %d refused %d merged %d missing %d, want %d %d %d %d", f.RowsKept, f.RowsRejected, f.RowsMerged, f.Missing, test.kept, test.refused, test.merged, test.missing)
			}
			var lines []string
			for _, r := range f.Rejects {
				lines = append(lines, strconv.Itoa(r.Line))
			}
			if got := strings.Join(lines, " "); got != test.lines {
				t.Errorf("refused lines %q, want %q", got, test.lines)
			}
			if test.first != "" && !f.First.Equal(at(test.first)) {
				t.Errorf("first %v, want %s", f.First, test.first)
			}
			if test.last != "" && !f.Last.Equal(at(test.last)) {
				t.Errorf("last %v, want %s", f.Last, test.last)
			}
			if !strings.Contains(strings.Join(f.Notices, "\n"), test.notice) {
				t.Errorf("notices %q, want %q", f.Notices, test.notice)
			}
		})
	}
}

// utf16le writes text as UTF-16, all of it in the basic plane.
func utf16le(text string) string {
	var b strings.Builder
	for _, r := range text {
		b.WriteByte(byte(r))
		b.WriteByte(byte(r >> 8))
	}
	return b.String()
}

// The values behind some of the cases: what was read, and not only that it was.
func TestReadValues(t *testing.T) {
	for _, test := range []struct {
		name, text string
		place      string
		quantity   rf.Quantity
		want       float64
	}{
		{"decimal comma", "time;S07 forward_power [MW]\n2026-02-03T20:00:00Z;41,5\n", "S07", rf.ForwardPower, 41.5},
		{"thousands point", "time;S07 drive_power [W]\n2026-02-03T20:00:00Z;1.230,5\n", "S07", rf.DrivePower, 1230.5},
		{"three digits behind a comma", "time;S07 drive_power [W]\n2026-02-03T20:00:00Z;1,230\n", "S07", rf.DrivePower, 1.23},
		{"exponent with D", "time,S07 forward_power [MW]\n2026-02-03T20:00:00Z,3.82D+01\n", "S07", rf.ForwardPower, 38.2},
		{"exponent without a letter", "time,S07 forward_power [MW]\n2026-02-03T20:00:00Z,0.382+2\n", "S07", rf.ForwardPower, 38.2},
		{"kilowatt", "time,S07 forward_power [kW]\n2026-02-03T20:00:00Z,38200\n", "S07", rf.ForwardPower, 38.2},
		{"dBm", "time,S07 drive_power [dBm]\n2026-02-03T20:00:00Z,55\n", "S07", rf.DrivePower, 316.2277660168379},
		{"degF", "time,A07 water_temperature [degF]\n2026-02-03T20:00:00Z,86\n", "A07", rf.WaterTemperature, 30},
		{"Greek mu", "time,S07 heater_current [μA]\n2026-02-03T20:00:00Z,2e7\n", "S07", rf.HeaterCurrent, 20},
		{"micro sign", "time,S07 heater_current [µA]\n2026-02-03T20:00:00Z,2e7\n", "S07", rf.HeaterCurrent, 20},
		{"negative high voltage", "time,S07 beam_voltage [kV]\n2026-02-03T20:00:00Z,-268.4\n", "S07", rf.BeamVoltage, 268.4},
		{"current of the beam, without place", "time,gallery_temperature [degC]\n2026-02-03T20:00:00Z,21.5\n", rf.MachinePlace, rf.GalleryTemperature, 21.5},
		{"second of two equal columns", "time,S07 drive_power [W],S07 drive_power [W]\n2026-02-03T20:00:00Z,300,999\n", "S07", rf.DrivePower, 300},
		{"cells behind a header in another order", twoColumns + "2026-02-03T20:00:00Z,40,7\ntime,S07 drive_phase [deg],S07 forward_power [MW]\n2026-02-03T20:00:30Z,7,40\n", "S07", rf.ForwardPower, 40},
		{"quoted numbers", "\"time\",\"S07 drive_power [W]\"\n\"2026-02-03T20:00:00Z\",\"300.5\"\n", "S07", rf.DrivePower, 300.5},
		{"blanks around numbers", "time, S07 drive_power [W], S07 drive_phase [deg]\n2026-02-03T20:00:00Z,  300.5 , 2\n", "S07", rf.DrivePower, 300.5},
		{"first of two readings of one time", twoColumns + "2026-02-03T20:00:00Z,40,7\n2026-02-03T20:00:00Z,50,7\n", "S07", rf.ForwardPower, 40},
	} {
		t.Run(test.name, func(t *testing.T) {
			night, f := readText(t, "night.csv", test.text, Options{})
			if f.Err != nil {
				t.Fatal(f.Err)
			}
			c := night.Channel(test.place, test.quantity)
			if c == nil {
				t.Fatalf("no channel; columns %+v", f.Columns)
			}
			if got := c.Cells[0].Value(); !near(got, test.want, 1e-12) {
				t.Errorf("got %v, want %v", got, test.want)
			}
		})
	}
}

func TestReadIsCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Read(ctx, []Input{Memory("night.csv", []byte(wide(100)))}, Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
}
