package handover

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

var update = flag.Bool("update", false, "write the golden files anew")

// golden compares got with a file of testdata.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s differs; look at it with -update and git diff. Got:\n%s", path, got)
	}
}

// written returns what a form writes.
func written(t *testing.T, write func(b *bytes.Buffer) error) []byte {
	t.Helper()
	var first, again bytes.Buffer
	if err := write(&first); err != nil {
		t.Fatal(err)
	}
	if err := write(&again); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(first.Bytes(), again.Bytes()) {
		t.Error("the same report gave other bytes the second time")
	}
	return first.Bytes()
}

func TestForms(t *testing.T) {
	nights := []struct {
		name   string
		report *review.Report
		meta   Meta
		book   History
	}{
		{"quiet", quietNight(), Meta{Written: night(6, 30), Version: "0.1.0", Author: "R. Alder"}, quietHistory()},
		{"busy", busyNight(), busyMeta, busyHistory()},
	}
	for _, n := range nights {
		t.Run(n.name, func(t *testing.T) {
			golden(t, n.name+".md", written(t, func(b *bytes.Buffer) error { return Markdown(b, n.report, n.meta, n.book) }))
			golden(t, n.name+".txt", written(t, func(b *bytes.Buffer) error { return Text(b, n.report, n.meta, n.book) }))
			golden(t, n.name+".html", written(t, func(b *bytes.Buffer) error { return HTML(b, n.report, n.meta, n.book) }))
			golden(t, n.name+".json", written(t, func(b *bytes.Buffer) error { return JSON(b, n.report) }))
			golden(t, n.name+".book.json", written(t, func(b *bytes.Buffer) error { return writeRowsJSON(b, NewEntry(n.report, n.meta, n.book)) }))
			golden(t, n.name+".lines", written(t, func(b *bytes.Buffer) error { return Lines(b, n.report, n.report.Findings) }))
		})
	}
}

func TestPlainFormsCannotDriveATerminal(t *testing.T) {
	r := busyNight()
	for name, got := range map[string][]byte{
		"text":     written(t, func(b *bytes.Buffer) error { return Text(b, r, busyMeta, History{}) }),
		"markdown": written(t, func(b *bytes.Buffer) error { return Markdown(b, r, busyMeta, History{}) }),
		"lines":    written(t, func(b *bytes.Buffer) error { return Lines(b, r, r.Findings) }),
	} {
		for _, c := range string(got) {
			if c < ' ' && c != '\n' || c >= 0x7f && c < 0xa0 {
				t.Errorf("%s writes control character %U", name, c)
			}
		}
	}
}

func TestEveryTimeCarriesItsOffset(t *testing.T) {
	r := busyNight()
	text := string(written(t, func(b *bytes.Buffer) error { return Markdown(b, r, busyMeta, History{}) }))
	for i := range text {
		if i+16 > len(text) || !strings.HasPrefix(text[i:], "2026-11-2") || text[i+13] != ':' {
			continue
		}
		if after := text[i+16:]; !strings.HasPrefix(after, " +01:00") && !strings.HasPrefix(after, "Z") {
			t.Errorf("time without offset: %q", text[i:min(len(text), i+30)])
		}
	}
}

func TestAReportOfAlmostNothingStillReads(t *testing.T) {
	bare := &review.Report{From: night(22, 0), To: night(6, 0), Coverage: nan}
	dead := quietNight()
	for i := range dead.Stations {
		dead.Stations[i] = review.StationResult{Station: dead.Stations[i].Station, Verdict: review.NoData, Gain: rf.Unknown[rf.Energy](), GainReference: rf.Unknown[rf.Energy](), TripsPerDay: [3]float64{nan, nan, nan}, OnPercent: nan}
	}
	for i := range dead.Waypoints {
		dead.Waypoints[i].Verdict, dead.Waypoints[i].MarginPercent, dead.Waypoints[i].Budget, dead.Waypoints[i].Without = review.NoData, nan, rf.Unknown[rf.Energy](), nil
	}
	for name, r := range map[string]*review.Report{"no plant": bare, "no data": dead} {
		for _, form := range []func(b *bytes.Buffer) error{
			func(b *bytes.Buffer) error { return Markdown(b, r, Meta{}, (&Book{}).Since(r)) },
			func(b *bytes.Buffer) error { return Text(b, r, Meta{}, History{}) },
			func(b *bytes.Buffer) error { return HTML(b, r, Meta{}, History{}) },
			func(b *bytes.Buffer) error { return Lines(b, r, r.Findings) },
		} {
			text := string(written(t, form))
			for _, wrong := range []string{"NaN", "Inf", "makes its energy", "0 of 0", "0001"} {
				if strings.Contains(text, wrong) {
					t.Errorf("%s: %q in\n%s", name, wrong, text)
				}
			}
		}
	}
}
