package ingest

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"
)

func TestCleanText(t *testing.T) {
	for text, want := range map[string]string{
		"S03 forward_power [MW]":              "S03 forward_power [MW]",
		"  S03\u00a0\tforward  power ":        "S03 forward power",
		"a\x1b[31mb\x1b[0m":                   "ab",
		"\x1b]0;title\x07x":                   "x",
		"\x1b]52;c;aGk=\x1b\\x":               "x",
		"\x1bP1;2q data \x1b\\x":              "x",
		"\u009b31mx\u009d0;t\x07y":            "xy",
		"a\x08b\x00c\x7fd":                    "abcd",
		"\x1b":                                "",
		"\x1b[":                               "",
		"\u202egnp.exe\u202c":                 "gnp.exe",
		"temp\xe9rature \xb0C":                "température °C",
		"line\nbreak":                         "line break",
		"温度 [degC]":                           "温度 [degC]",
		strings.Repeat("x", 3*shownTextLimit): strings.Repeat("x", shownTextLimit+1) + "…",
	} {
		if got := cleanText(text); got != want {
			t.Errorf("%.40q: got %.60q, want %.60q", text, got, want)
		}
	}
}

// endless returns the same bytes for ever.
type endless struct{ text string }

func (e endless) Read(p []byte) (int, error) {
	n := 0
	for n < len(p) {
		n += copy(p[n:], e.text)
	}
	return n, nil
}

func streamed(name string, r io.Reader) Input {
	return Input{Name: name, Size: -1, Open: func() (io.ReadCloser, error) { return io.NopCloser(r), nil }, once: true}
}

// Each limit ends the reading with an error that names it, and memory stays
// bounded meanwhile.
func TestLimitsAreNamed(t *testing.T) {
	header := "time"
	for i := range 300 {
		header += fmt.Sprintf(",S%03d forward_power [MW]", i)
	}
	for _, test := range []struct {
		name   string
		in     Input
		limits Limits
		want   string
	}{
		{"a line without end", streamed("a.csv", endless{"1,2,3,"}), Limits{LineBytes: 1 << 20}, "LineBytes"},
		{"a line without end behind a header", streamed("a.csv", io.MultiReader(strings.NewReader(twoColumns), endless{"1,2,3,"})), Limits{LineBytes: 1 << 20}, "LineBytes"},
		{"a quoted cell without end", streamed("a.csv", io.MultiReader(strings.NewReader(twoColumns+"\""), endless{"x"})), Limits{LineBytes: 1 << 20}, "LineBytes"},
		{"too many columns", Memory("a.csv", []byte(header+"\n")), Limits{Columns: 200}, "Columns"},
	} {
		t.Run(test.name, func(t *testing.T) {
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			_, err := Read(context.Background(), []Input{test.in}, Options{Limits: test.limits})
			runtime.ReadMemStats(&after)
			if err == nil || !strings.Contains(err.Error(), test.want) {
				t.Errorf("error %v, want the limit %s", err, test.want)
			}
			if grown := int64(after.TotalAlloc-before.TotalAlloc) >> 20; grown > 64 {
				t.Errorf("took %d MB", grown)
			}
		})
	}
}

func TestTooManyChannelsAreRefused(t *testing.T) {
	var b strings.Builder
	b.WriteString("time,place,forward_power [MW]\n")
	for i := range 300 {
		fmt.Fprintf(&b, "2026-02-03T20:00:00Z,S%03d,1\n", i)
	}
	_, f := readText(t, "night.csv", b.String(), Options{Limits: Limits{Series: 100}})
	if f.RowsKept != 100 || f.RowsRejected != 200 || !strings.Contains(f.Rejects[0].Error(), "Series") {
		t.Errorf("kept %d, refused %d: %v", f.RowsKept, f.RowsRejected, f.Rejects[0])
	}
}

// More channels than were to be seen at the start take room from the others, not
// more memory.
func TestManyChannelsShareTheCells(t *testing.T) {
	g := &grid{limit: 10_000, width: 60e9, lastAt: minTime, byName: map[channelName]int{}}
	for i := range 400 {
		c := g.channel(fmt.Sprint(i), "forward_power", false)
		for minute := range 90 {
			g.store(c, int64(minute)*60e9, heldCell(float64(i), 1))
		}
	}
	total := 0
	for _, c := range g.channels {
		total += len(c.cells)
		n := uint32(0)
		for _, cell := range c.cells {
			n += cell.Count
		}
		if n != 90 {
			t.Fatalf("%s holds %d readings of 90", c.place, n)
		}
	}
	if total > 400*cellsLeast*2 {
		t.Errorf("%d cells for a limit of %d", total, g.limit)
	}
}

func TestZstdThatUnpacksOutOfProportion(t *testing.T) {
	if testing.Short() {
		t.Skip("unpacks 256 MiB")
	}
	packed := zstded(t, []byte(twoColumns+strings.Repeat("2026-02-03T20:00:00Z,1,2\n", (unpackFree+1<<20)/25)))
	_, f := readText(t, "bomb.csv.zst", string(packed), Options{})
	if !strings.Contains(strings.Join(f.Notices, "\n"), "UnpackRatio") {
		t.Errorf("notices %q, error %v", f.Notices, f.Err)
	}
}

func TestInputs(t *testing.T) {
	dir := t.TempDir()
	write := func(path, text string) string {
		t.Helper()
		path = filepath.Join(dir, path)
		if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		return path
	}
	a := write("logs/a.csv", wide(1))
	write("logs/deep/b.tsv.gz", "")
	write("logs/deep/c.TXT", "")
	write("logs/photo.jpg", "")
	write("logs/.hidden.csv", "")
	write("logs/plant/plant.toml", "")
	write("logs/plant/stations.csv", "")
	write("other/readme.md", "")
	if err := os.Symlink(filepath.Join(dir, "logs"), filepath.Join(dir, "logs/deep/loop")); err != nil {
		t.Skip(err)
	}
	os.Symlink(a, filepath.Join(dir, "logs/again.csv"))
	pipe := filepath.Join(dir, "pipe.csv")
	if err := syscall.Mkfifo(pipe, 0o666); err != nil {
		t.Skip(err)
	}
	for _, test := range []struct {
		name  string
		paths []string
		found string // base names
		lost  string // parts of the errors
	}{
		{"a folder", []string{"logs"}, "a.csv b.tsv.gz c.TXT", ""},
		{"a file twice, and its folder", []string{"logs/a.csv", "logs/again.csv", "logs"}, "a.csv b.tsv.gz c.TXT", ""},
		{"one missing among others", []string{"logs/a.csv", "nowhere.csv"}, "a.csv", "no such file"},
		{"a pipe among others", []string{"logs/a.csv", "pipe.csv"}, "a.csv", "is a pipe"},
		{"a folder of other things", []string{"logs/a.csv", "other"}, "a.csv", "no log in this folder"},
		{"nothing readable", []string{"nowhere.csv", "other"}, "", "no such file|no log in this folder"},
	} {
		t.Run(test.name, func(t *testing.T) {
			var paths []string
			for _, path := range test.paths {
				paths = append(paths, filepath.Join(dir, path))
			}
			inputs, lost, err := Inputs(paths, nil, Limits{})
			var found []string
			for _, in := range inputs {
				found = append(found, filepath.Base(in.Name))
			}
			if got := strings.Join(found, " "); got != test.found {
				t.Errorf("found %q, want %q", got, test.found)
			}
			var errs []string
			for _, f := range lost {
				errs = append(errs, f.Err.Error())
			}
			for _, part := range strings.Split(test.lost, "|") {
				if !strings.Contains(strings.Join(errs, "\n"), part) {
					t.Errorf("errors %q, want %q", errs, part)
				}
			}
			if (err != nil) != (test.found == "") {
				t.Errorf("error %v", err)
			}
		})
	}
	if _, _, err := Inputs([]string{"/dev/null"}, nil, Limits{}); err == nil || !strings.Contains(err.Error(), "is a device") {
		t.Errorf("a device: %v", err)
	}
}

func TestFileThatMayNotBeRead(t *testing.T) {
	if os.Geteuid() == 0 {
		t.Skip("root may read everything")
	}
	path := filepath.Join(t.TempDir(), "night.csv")
	if err := os.WriteFile(path, []byte(wide(1)), 0); err != nil {
		t.Fatal(err)
	}
	inputs, _, err := Inputs([]string{path}, nil, Limits{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err = Read(context.Background(), inputs, Options{}); err == nil || !strings.Contains(err.Error(), "permission denied") {
		t.Errorf("error %v", err)
	}
}

// A file that is cut while it is read is told to have been longer.
func TestFileThatIsCutWhileItIsRead(t *testing.T) {
	in := Memory("night.csv", []byte(wide(3)))
	for extra, told := range map[int64]bool{0: false, 1000: true} {
		in.Size += extra
		night, err := Read(context.Background(), []Input{in}, Options{})
		if err != nil {
			t.Fatal(err)
		}
		f := night.Log.Files[0]
		if said := strings.Contains(strings.Join(f.Notices, "\n"), "cut while it was read"); said != told || f.RowsKept != 3 {
			t.Errorf("%d bytes more: %q", extra, f.Notices)
		}
		in.Size -= extra
	}
}

// A file that grows while it is read is read up to its last whole line.
func TestFileThatGrows(t *testing.T) {
	path := filepath.Join(t.TempDir(), "night.csv")
	rows := strings.SplitAfter(wide(20_000), "\n")
	if err := os.WriteFile(path, []byte(strings.Join(rows[:10_001], "")), 0o666); err != nil {
		t.Fatal(err)
	}
	inputs, _, err := Inputs([]string{path}, nil, Limits{})
	if err != nil {
		t.Fatal(err)
	}
	grown := false
	night, err := Read(context.Background(), inputs, Options{Progress: func(Progress) {
		if grown {
			return
		}
		grown = true
		f, err := os.OpenFile(path, os.O_APPEND|os.O_WRONLY, 0)
		if err != nil {
			t.Error(err)
			return
		}
		defer f.Close()
		f.WriteString(strings.Join(rows[10_001:15_001], "") + "2026-0")
	}})
	if err != nil {
		t.Fatal(err)
	}
	if f := night.Log.Files[0]; f.RowsKept < 10_000 || f.RowsKept > 15_000 || f.RowsRejected > 1 {
		t.Errorf("kept %d, refused %d", f.RowsKept, f.RowsRejected)
	}
}

// A file that does not answer is left when the reading is cancelled.
func TestFileThatDoesNotAnswer(t *testing.T) {
	r, w := io.Pipe()
	defer w.Close()
	for name, in := range map[string]io.Reader{"at once": r, "behind its first rows": io.MultiReader(strings.NewReader(wide(9000)), r)} {
		ctx, cancel := context.WithTimeout(context.Background(), 50*time.Millisecond)
		done := make(chan error, 1)
		go func() {
			_, err := Read(ctx, []Input{streamed("stalled.csv", in)}, Options{})
			done <- err
		}()
		select {
		case err := <-done:
			if err == nil {
				t.Errorf("%s: no error", name)
			}
		case <-time.After(5 * time.Second):
			t.Errorf("%s: still reading", name)
		}
		cancel()
	}
}

// panics is a file whose reading goes wrong in a way nobody thought of.
type panics struct{ after io.Reader }

func (p panics) Read(b []byte) (int, error) {
	n, err := p.after.Read(b)
	if err == io.EOF {
		panic("torn apart")
	}
	return n, err
}

func TestPanicIsAnErrorOfItsFile(t *testing.T) {
	inputs := []Input{streamed("bad.csv", panics{strings.NewReader(wide(9000))}), Memory("good.csv", []byte(wide(9)))}
	night, err := Read(context.Background(), inputs, Options{})
	if err != nil {
		t.Fatal(err)
	}
	told := false
	for _, f := range night.Log.Files {
		told = told || f.Err != nil && strings.Contains(f.Err.Error(), "a fault of this program")
		told = told || strings.Contains(strings.Join(f.Notices, "\n"), "a fault of this program")
	}
	if !told || night.Log.Rows() < 9 {
		t.Errorf("told %t, %d rows", told, night.Log.Rows())
	}
}

// Whatever stands in a log, reading it neither panics nor loses a row: each line
// is header, comment, blank, or counted.
func FuzzRead(f *testing.F) {
	for _, test := range logCases {
		f.Add(test.text)
	}
	f.Add(asTidy(sampleHour()[:30]))
	f.Add(asLong(sampleHour()[:30], "time;column;value", func(at, place, quantity, unit, value string) string {
		return fmt.Sprintf("%s;%s %s [%s];%s", at, place, quantity, unit, value)
	}))
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 20_000 {
			return
		}
		night, file := readText(t, "night-2026-02-03.csv", text, Options{})
		if file.Err != nil && strings.Contains(file.Err.Error(), "a fault of this program") {
			t.Fatal(file.Err)
		}
		counted, byReason := 0, 0
		for _, reason := range file.Reasons {
			byReason += reason.Rows
		}
		counted = file.RowsKept + file.RowsRejected + file.RowsMerged + file.RowsOutside
		lines := strings.Count(strings.ReplaceAll(text, "\r", "\n"), "\n") + 1
		if byReason != file.RowsRejected || counted > lines {
			t.Fatalf("%d rows counted in %d lines, %d refused of which %d with a reason", counted, lines, file.RowsRejected, byReason)
		}
		if night != nil && night.Cells > cellsMost {
			t.Fatalf("%d cells", night.Cells)
		}
	})
}
