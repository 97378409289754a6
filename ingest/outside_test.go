package ingest

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"dawncrest/rf/series"
)

// Files before and behind the span asked for are left out by their first and last
// rows, which is told and no failure; those of which that cannot be known are read.
func TestFilesOutsideTheSpan(t *testing.T) {
	parts := hours(wideSeconds(5*3600), 5)
	inside := Options{From: at("2026-02-03T22:10:00Z"), To: at("2026-02-03T22:50:00Z")}
	want, _ := readText(t, "c.csv", parts[2], inside)
	late := strings.TrimSuffix(parts[1], "\n")
	late = late[:strings.LastIndexByte(late, '\n')+1] + "2026-02-03T22:20:00.5Z,41.5,-12.5\n"
	for name, c := range map[string]struct {
		files   map[string]string
		notRead int
		rows    int
	}{
		"as stored":                    {map[string]string{"a.csv": parts[0], "b.csv": parts[1], "c.csv": parts[2], "d.csv": parts[3], "e.csv": parts[4]}, 4, 2400},
		"packed":                       {map[string]string{"a.csv": string(gzipped(t, []byte(parts[0]))), "c.csv": parts[2], "d.csv": string(gzipped(t, []byte(parts[3])))}, 0, 2400},
		"small":                        {map[string]string{"a.csv": twoColumns + "2026-02-03T12:00:00Z,41,-12\n", "c.csv": parts[2]}, 0, 2400},
		"a last row that lies inside":  {map[string]string{"b.csv": late, "c.csv": parts[2]}, 0, 2401},
		"a first row that lies inside": {map[string]string{"b.csv": strings.Replace(parts[0], "T20:00:00Z", "T22:30:00.5Z", 1), "c.csv": parts[2]}, 0, 2401},
	} {
		t.Run(name, func(t *testing.T) {
			l := newLogger(t)
			for file, text := range c.files {
				l.write(file, text)
			}
			inputs, _, err := Inputs([]string{l.dir}, nil, Limits{})
			if err != nil {
				t.Fatal(err)
			}
			night, err := Read(context.Background(), inputs, inside)
			if err != nil {
				t.Fatal(err)
			}
			notRead := 0
			for _, f := range night.Log.Files {
				if f.Err != nil || f.Outside != (f.RowsKept == 0) {
					t.Errorf("%+v", f)
				}
				if strings.Contains(strings.Join(f.Notices, "\n"), "not read: by its first and last rows") {
					notRead++
				}
			}
			if notRead != c.notRead || night.Log.Rows() != c.rows || len(night.Log.Files) != len(c.files) {
				t.Errorf("%d files not read, %d rows of %d files", notRead, night.Log.Rows(), len(night.Log.Files))
			}
			if c.rows != want.Log.Rows() {
				return
			}
			if d := cmp.Diff(want, night, aboutEqual, cmpopts.IgnoreFields(series.Night{}, "Log")); d != "" {
				t.Errorf("night (-of that file +of all):\n%.2000s", d)
			}
		})
	}
}

// Where no file has a row in the span, that is why nothing can be reviewed.
func TestNoFileInTheSpan(t *testing.T) {
	l := newLogger(t)
	for i, part := range hours(wideSeconds(2*3600), 2) {
		l.write(string(rune('a'+i))+".csv", part)
	}
	inputs, _, err := Inputs([]string{l.dir}, nil, Limits{})
	if err != nil {
		t.Fatal(err)
	}
	_, err = Read(context.Background(), inputs, Options{From: at("2026-02-04T22:10:00Z"), To: at("2026-02-04T22:10:00Z").Add(time.Hour)})
	if err == nil || strings.Count(err.Error(), "none of its rows lies in the span asked for") != 2 {
		t.Errorf("error %v", err)
	}
}
