package ingest

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"dawncrest/rf/series"
)

// samePart fails where a span that was read again is not what reading all and
// keeping only that span gives.
func samePart(t *testing.T, inputs []Input, o Options, part *series.Night, from, to time.Time) {
	t.Helper()
	o.From, o.To, o.CellWidth, o.Parts = from, to, part.Width, nil
	want, err := Read(context.Background(), inputs, o)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(want, part, aboutEqual, cmpopts.IgnoreFields(series.Night{}, "Log")); d != "" {
		t.Fatalf("%s to %s in cells of %s (-read whole +part):\n%.3000s", from.Format(time.RFC3339), to.Format(time.RFC3339), part.Width, d)
	}
}

// Spans that are read again from wherever they stand come to what the whole log has
// there, whatever is wrong with it and however it is packed.
func TestPartsAreThoseOfTheWhole(t *testing.T) {
	type storing func(t *testing.T, text string) string
	stored := map[string]storing{
		"plain":           func(_ *testing.T, s string) string { return s },
		"byte-order mark": func(_ *testing.T, s string) string { return "\ufeff" + s },
		"gzip":            func(t *testing.T, s string) string { return string(gzipped(t, []byte(s))) },
		"UTF-16":          func(_ *testing.T, s string) string { return utf16le(s) },
		"NUL bytes between the lines": func(_ *testing.T, s string) string {
			middle := strings.IndexByte(s[len(s)/3:], '\n') + len(s)/3 + 1
			return s[:middle] + strings.Repeat("\x00", 4096) + s[middle:]
		},
	}
	for _, layout := range []string{LayoutWide, LayoutTidy, LayoutLong, "on change", "unknown columns"} {
		for form, store := range stored {
			if layout != LayoutWide && form != "plain" && form != "gzip" {
				continue
			}
			t.Run(layout+" "+form, func(t *testing.T) {
				t.Parallel()
				random := rand.New(rand.NewPCG(11, uint64(len(layout)+len(form))))
				half := troubled(layout, 24_000, 1)
				cut := strings.LastIndexByte(half[:len(half)/2], '\n') + 1
				header := half[:strings.IndexByte(half, '\n')+1]
				dir := newLogger(t)
				dir.write("a.csv", store(t, half[:cut]))
				dir.write("b.csv", store(t, header+half[cut:]))
				inputs, _, err := Inputs([]string{dir.dir}, nil, Limits{})
				if err != nil {
					t.Fatal(err)
				}
				var parts Parts
				o := Options{Parts: &parts}
				night, err := Read(context.Background(), inputs, o)
				if err != nil {
					t.Fatal(err)
				}
				compared := 0
				var starts []time.Time
				for _, f := range parts.files {
					for _, s := range f.stretches {
						starts = append(starts, utc(s.times.first))
					}
				}
				for len(starts) < 4 {
					starts = append(starts, night.Start.Add(time.Duration(random.Int64N(int64(night.End().Sub(night.Start))))).Truncate(time.Second))
				}
				for _, from := range starts {
					to := from.Add(time.Duration(1+random.IntN(40*60)) * time.Second)
					part, err := parts.Night(context.Background(), from, to, 100+random.IntN(400))
					if err != nil {
						if strings.Contains(err.Error(), "no row from") || strings.Contains(err.Error(), "none of") {
							continue // a gap of the log
						}
						t.Fatal(err)
					}
					samePart(t, inputs, o, part, from, to)
					compared++
				}
				if compared < 2 {
					t.Errorf("only %d spans had rows", compared)
				}
			})
		}
	}
}

// seekable is a file that counts what is read of it.
type seekable struct {
	*bytes.Reader
	read *counter
}

func (s *seekable) Read(p []byte) (int, error) {
	n, err := s.Reader.Read(p)
	s.read.n.Add(int64(n))
	return n, err
}

func (s *seekable) WriteTo(io.Writer) (int64, error) { panic("counts nothing") }

func (s *seekable) Close() error { return nil }

// Only the part that holds the span is read of a file as it is stored.
func TestPartReadsLittle(t *testing.T) {
	text := []byte(wideSeconds(200_000))
	var parts Parts
	if _, err := Read(context.Background(), []Input{Memory("night.csv", text)}, Options{Parts: &parts}); err != nil {
		t.Fatal(err)
	}
	read := &counter{}
	parts.files[0].input.Open = func() (io.ReadCloser, error) { return &seekable{bytes.NewReader(text), read}, nil }
	from := at("2026-02-04T12:00:00Z")
	part, err := parts.Night(context.Background(), from, from.Add(5*time.Minute), 300)
	if err != nil {
		t.Fatal(err)
	}
	if part.Width != time.Second || part.Cells != 300 {
		t.Errorf("%d cells of %s", part.Cells, part.Width)
	}
	if n := read.n.Load(); n > headSize+2*blockSize || len(text) < 10*blockSize {
		t.Errorf("%d bytes read of %d", n, len(text))
	}
}

// In the hour that runs twice, the rows of the second pass are told from those of
// the first by what stood before them, also where that is not read again.
// Common practice: clocks in Central Europe are put back from 03:00 to 02:00 on the
// last Sunday of October.
func TestPartOfTheHourThatRunsTwice(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Vienna")
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	b.WriteString("time,S01 forward_power [MW],S01 drive_power [W],S01 beam_voltage [kV]\n")
	start := at("2026-10-24T22:00:00Z")
	for i := range 5 * 3600 * 4 {
		when := start.Add(time.Duration(i) * time.Second / 4)
		fmt.Fprintf(&b, "%s,%d.5,300.25,270.125\n", when.In(zone).Format("2006-01-02 15:04:05.00"), i)
	}
	inputs := []Input{Memory("night.csv", []byte(b.String()))}
	var parts Parts
	o := Options{Parts: &parts, Zone: zone}
	if _, err := Read(context.Background(), inputs, o); err != nil {
		t.Fatal(err)
	}
	for _, from := range []time.Time{at("2026-10-25T00:40:00Z"), at("2026-10-25T01:40:00Z")} {
		part, err := parts.Night(context.Background(), from, from.Add(5*time.Minute), 300)
		if err != nil {
			t.Fatal(err)
		}
		if !part.Start.Equal(from) || part.Cells != 300 {
			t.Errorf("from %s: %d cells from %s", from, part.Cells, part.Start)
		}
		samePart(t, inputs, o, part, from, from.Add(5*time.Minute))
	}
}

// The parts of a log that is followed go on with it, also under another name.
func TestPartsOfAFollowedLog(t *testing.T) {
	text := wideSeconds(20_000)
	l := newLogger(t)
	var parts Parts
	l.write("log.csv", text[:len(text)/3])
	l.started("", Options{Parts: &parts})
	l.grow("log.csv", text, len(text)/3, 40_000)
	l.rename("log.csv", "log-before.csv")
	l.write("log.csv", "time,S01 forward_power [MW]\n2026-02-05T20:00:00Z,1\n")
	night := l.night()
	for _, back := range []time.Duration{time.Hour, 4 * time.Hour} {
		from := at("2026-02-04T00:00:00Z").Add(-back / 2)
		part, err := parts.Night(context.Background(), from, from.Add(5*time.Minute), 300)
		if err != nil {
			t.Fatal(err)
		}
		samePart(t, []Input{Memory("log.csv", []byte(text))}, Options{}, part, from, from.Add(5*time.Minute))
	}
	if n := len(parts.files[0].stretches); n > 2+len(text)/stretchBytes*2 {
		t.Errorf("%d stretches for %d bytes", n, len(text))
	}
	if night.Cells == 0 {
		t.Error("no night")
	}
}

func TestPartsOfASmallFollowedLog(t *testing.T) {
	text := wideSeconds(1200)
	l := newLogger(t)
	var parts Parts
	l.write("log.csv", text[:4000])
	l.started("", Options{Parts: &parts})
	l.grow("log.csv", text, 4000, 4000)
	from := at("2026-02-03T20:15:00Z")
	part, err := parts.Night(context.Background(), from, from.Add(time.Minute), 60)
	if err != nil {
		t.Fatal(err)
	}
	samePart(t, []Input{Memory("log.csv", []byte(text))}, Options{}, part, from, from.Add(time.Minute))
	if len(parts.files) != 0 || len(parts.young) != 1 {
		t.Errorf("%d files and %d young ones are remembered", len(parts.files), len(parts.young))
	}
}

// A file that is met a second time under another name takes nothing from what is
// known of it.
func TestPartsOfAFileWithTwoNames(t *testing.T) {
	l := newLogger(t)
	l.write("a.csv", wideSeconds(4000))
	if err := os.Link(l.path("a.csv"), l.path("b.csv")); err != nil {
		t.Skip(err)
	}
	inputs, _, err := Inputs([]string{l.dir}, nil, Limits{})
	if err != nil {
		t.Fatal(err)
	}
	var parts Parts
	if _, err := Read(context.Background(), inputs, Options{Parts: &parts}); err != nil || len(inputs) != 2 {
		t.Fatal(err, inputs)
	}
	from := at("2026-02-03T20:10:00Z")
	part, err := parts.Night(context.Background(), from, from.Add(time.Minute), 60)
	if err != nil {
		t.Fatal(err)
	}
	samePart(t, inputs[:1], Options{}, part, from, from.Add(time.Minute))
}

// What can no longer be read again is said, and nothing else is taken for it.
func TestPartsThatAreGone(t *testing.T) {
	text := wideSeconds(40_000)
	read := func(l *logger) *Parts {
		parts := &Parts{}
		l.write("night.csv", text)
		inputs, _, err := Inputs([]string{l.path("night.csv")}, nil, Limits{})
		if err == nil {
			_, err = Read(context.Background(), inputs, Options{Parts: parts})
		}
		if err != nil {
			t.Fatal(err)
		}
		return parts
	}
	for name, c := range map[string]struct {
		change func(l *logger)
		want   string
	}{
		"removed":        {func(l *logger) { os.Remove(l.path("night.csv")) }, "no such file"},
		"another file":   {func(l *logger) { l.write("new", text); l.rename("new", "night.csv") }, "another file"},
		"cut":            {func(l *logger) { l.cut("night.csv", text[:1000]) }, "a shorter one"},
		"written anew":   {func(l *logger) { l.cut("night.csv", "# again\n"+text) }, "has changed"},
		"a folder now":   {func(l *logger) { os.Remove(l.path("night.csv")); os.Mkdir(l.path("night.csv"), 0o777) }, "is a folder now"},
		"never anything": {func(l *logger) {}, ""},
	} {
		l := newLogger(t)
		parts := read(l)
		c.change(l)
		from := at("2026-02-04T06:10:00Z")
		_, err := parts.Night(context.Background(), from, from.Add(time.Minute), 60)
		if c.want == "" && err != nil || c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("%s: %v", name, err)
		}
	}
	var parts Parts
	in := Input{Name: StdinName, once: true, Open: Memory("", []byte(text)).Open}
	if _, err := Read(context.Background(), []Input{in}, Options{Parts: &parts}); err != nil {
		t.Fatal(err)
	}
	if _, err := parts.Night(context.Background(), at("2026-02-03T20:10:00Z"), at("2026-02-03T20:11:00Z"), 60); err == nil || !strings.Contains(err.Error(), "second time") {
		t.Errorf("standard input: %v", err)
	}
}

// A part may be read while the log goes on.
func TestPartsWhileTheLogGoesOn(t *testing.T) {
	text := wideSeconds(24_000)
	l := newLogger(t)
	var parts Parts
	l.write("log.csv", text[:len(text)/2])
	l.started("", Options{Parts: &parts})
	failed := make(chan error, 1)
	go func() {
		from := at("2026-02-03T21:00:00Z")
		for range 40 {
			if part, err := parts.Night(context.Background(), from, from.Add(time.Minute), 60); err != nil || part.Cells != 60 {
				failed <- fmt.Errorf("%v, %v", part, err)
				return
			}
		}
		failed <- nil
	}()
	l.grow("log.csv", text, len(text)/2, 40_000)
	if err := <-failed; err != nil {
		t.Error(err)
	}
}
