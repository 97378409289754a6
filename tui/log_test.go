package tui

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

// Many files of which there is nothing to say are told as one, and their columns
// together; those with something to say stand apart.
func TestManyFilesAreToldAsOne(t *testing.T) {
	r := fixture()
	name := &series.ColumnName{Header: "S01 beam_voltage [kV]", Place: "S01", Quantity: rf.BeamVoltage, Unit: "kV"}
	r.Log.Files = nil
	for hour := range 12 {
		from := fixtureAt(60 * hour)
		r.Log.Files = append(r.Log.Files, series.File{Name: fmt.Sprintf("%02d.csv", hour), Encoding: "UTF-8", Layout: "wide", Separator: ",", Decimal: ".",
			First: from, Last: from.Add(59 * time.Minute), RowsKept: 60, Missing: 1,
			Columns: []series.Column{{ColumnName: name, Readings: 60, Min: 300 - float64(hour), Max: 310, Mean: 305}}})
	}
	r.Log.Files[7].Notices = []string{"the clock was set back"}
	r.Log.Files = append(r.Log.Files, series.File{Name: "x.csv", Outside: true}, series.File{Name: "y.csv", Outside: true})
	r.Log.Files = append(r.Log.Files, series.File{Name: "lost.csv", Err: errors.New("lost.csv: no such file")})
	frame := press(opened(r, Options{}, 120, 50), "7").View()
	for _, want := range []string{
		"7 files written alike, 18:00 to 00:59, 420 rows, from 00.csv on", "7 values missing", "07.csv: 01:00 to 01:59, 60 rows", "the clock was set back",
		"08.csv: 02:00", "11.csv: 05:00", "2 files outside the span asked for", "720 rows from 12 files.", "not read: lost.csv", "720 readings, 289.0 to 310.0",
	} {
		if !strings.Contains(frame, want) {
			t.Errorf("no %q in\n%s", want, frame)
		}
	}
	if strings.Contains(frame, "01.csv:") || strings.Count(frame, "S01 beam_voltage [kV]") != 1 {
		t.Errorf("files told one by one:\n%s", frame)
	}
}
