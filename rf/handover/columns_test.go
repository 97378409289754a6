package handover

import (
	"errors"
	"math"
	"strings"
	"testing"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

// Files in a row with the same columns have one table, with the figures of all of
// them; one that could not be read, or has other columns, stands apart.
func TestColumnsOfFilesTogether(t *testing.T) {
	power := &series.ColumnName{Header: "S03 forward_power [MW]", Place: "S03", Quantity: rf.ForwardPower, Unit: "MW"}
	voltage := &series.ColumnName{Header: "S03 beam_voltage [kV]", Place: "S03", Quantity: rf.BeamVoltage, Unit: "kV"}
	file := func(name string, columns ...series.Column) series.File {
		return series.File{Name: name, Layout: "wide", Columns: columns}
	}
	read := func(n int, low, mean, high float64) series.Column {
		return series.Column{ColumnName: power, Readings: n, Missing: 1, Min: low, Mean: mean, Max: high}
	}
	nothing := series.Column{ColumnName: power, Missing: 9, Min: math.NaN(), Mean: math.NaN(), Max: math.NaN()}
	var b strings.Builder
	log := series.Log{Files: []series.File{
		file("a.csv", nothing), file("b.csv", read(10, 37, 38, 39)), file("c.csv", read(30, 36, 42, 43)),
		{Name: "d.csv", Err: errors.New("d.csv: no such file")},
		file("e.csv", read(5, 40, 41, 42)),
		file("f.csv", series.Column{ColumnName: voltage, Readings: 7, Min: 270, Mean: 271, Max: 272}),
	}}
	if err := ColumnsText(&b, log); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	if n := strings.Count(text, "forward_power  "); n != 2 || strings.Count(text, "column ") != 3 || strings.Count(text, "together") != 1 {
		t.Errorf("%d tables of power:\n%s", n, text)
	}
	// 40 readings of mean (10 x 38 + 30 x 42)/40 = 41, 11 missing.
	_, after, _ := strings.Cut(text, "the columns of these 3 files together")
	for line := range strings.Lines(after) {
		if strings.HasPrefix(line, power.Header) {
			if got := strings.Join(strings.Fields(line)[6:], " "); got != "40 11 36.000 41.000 43.000" {
				t.Errorf("together %q", got)
			}
			break
		}
	}
}
