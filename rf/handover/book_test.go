package handover

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

func openBook(t *testing.T, dir string) *Book {
	t.Helper()
	b, err := OpenBook(dir)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func write(t *testing.T, b *Book, r *review.Report, m Meta) string {
	t.Helper()
	name, err := b.Write(r, m, b.Since(r), false)
	if err != nil {
		t.Fatal(err)
	}
	return name
}

func TestBookKeepsAnEntry(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "not", "there yet")
	b := openBook(t, dir)
	if !b.Fresh || len(b.Notices) > 0 {
		t.Errorf("a book that is not there: %+v", b)
	}
	m := busyMeta
	m.Accepted = true
	if name := write(t, b, busyNight(), m); name != "2026-11-24-night" {
		t.Errorf("entry is named %s", name)
	}
	b = openBook(t, dir)
	if len(b.Entries) != 1 || len(b.Notices) != 0 || b.Fresh {
		t.Fatalf("%d entries, notices %q", len(b.Entries), b.Notices)
	}
	e := b.Entries[0]
	if e.Plant != "Harrow Fen linac" || !e.Accepted || len(e.Findings) != 4 || len(e.Seen) != 1 || len(e.Notes) != 2 || !e.To.Equal(night(6, 0)) {
		t.Errorf("entry came back as %+v", e)
	}
	if e.Structures.Detuning[4] != -31.4 || rf.Known(e.Stations.Gain[10]) {
		t.Errorf("levels came back as %v, %v", e.Structures.Detuning, e.Stations.Gain)
	}
	text, err := os.ReadFile(filepath.Join(dir, "2026-11-24-night.txt"))
	if err != nil || !strings.HasPrefix(string(text), "Handover of Harrow Fen linac") {
		t.Errorf("text beside it: %v, %.40q", err, text)
	}
	levels, from, err := b.Reference("Harrow Fen linac", night(23, 0).Add(24*time.Hour))
	if err != nil || from != "2026-11-24-night" || levels.Values["S07"][rf.BeamVoltage] != 266.74 {
		t.Errorf("reference %v from %q: %v", levels, from, err)
	}
	for _, none := range []struct {
		plant  string
		before time.Time
	}{{"another linac", night(23, 0).Add(24 * time.Hour)}, {"Harrow Fen linac", night(6, 0)}} {
		if levels, _, err := b.Reference(none.plant, none.before); levels != nil || err != nil {
			t.Errorf("reference for %q before %v: %v, %v", none.plant, none.before, levels, err)
		}
	}
}

func TestBookNeverOverwritesWithoutBeingTold(t *testing.T) {
	dir := t.TempDir()
	b := openBook(t, dir)
	first := write(t, b, quietNight(), Meta{Author: "first"})
	second := write(t, b, quietNight(), Meta{Author: "second"})
	if first != "2026-11-24-night" || second != "2026-11-24-night-2" {
		t.Errorf("entries %s and %s", first, second)
	}
	if _, err := b.Write(quietNight(), Meta{Author: "third"}, History{}, true); err != nil {
		t.Fatal(err)
	}
	authors := ""
	for _, e := range openBook(t, dir).Entries {
		authors += e.Author + " "
	}
	if authors != "third second " && authors != "second third " {
		t.Errorf("authors in the book: %s", authors)
	}
}

func TestManyWritersAtOnceAllEndUpWhole(t *testing.T) {
	dir := t.TempDir()
	const writers = 12
	var wg sync.WaitGroup
	names := make([]string, writers)
	errs := make([]error, writers)
	for i := range writers {
		wg.Go(func() {
			b := &Book{Dir: dir}
			names[i], errs[i] = b.Write(quietNightOf(2), Meta{Author: fmt.Sprint("writer ", i)}, History{}, false)
		})
	}
	wg.Wait()
	if err := errors.Join(errs...); err != nil {
		t.Fatal(err)
	}
	b := openBook(t, dir)
	author := map[string]string{}
	for _, e := range b.Entries {
		author[e.Name] = e.Author
		text, err := os.ReadFile(filepath.Join(dir, e.Name+textSuffix))
		if err != nil || !strings.Contains(string(text), "by "+e.Author+",") {
			t.Errorf("text and JSON of %s are of different writers: %v", e.Name, err)
		}
	}
	if len(author) != writers || len(b.Notices) > 0 {
		t.Errorf("%d entries of %d, notices %q", len(author), writers, b.Notices)
	}
	for i, name := range names {
		if want := fmt.Sprint("writer ", i); author[name] != want {
			t.Errorf("%s holds what %s wrote, want %s", name, author[name], want)
		}
	}
}

func TestDamagedEntriesAreReportedAndPassedOver(t *testing.T) {
	dir := t.TempDir()
	write(t, openBook(t, dir), quietNight(), Meta{})
	whole, err := os.ReadFile(filepath.Join(dir, "2026-11-24-night.json"))
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{
		"cut.json":     string(whole[:len(whole)/2]),
		"empty.json":   "",
		"other.json":   `{"schema":"something else"}`,
		"future.json":  strings.Replace(string(whole), EntrySchema, "dawncrest.book/9", 1),
		"nonight.json": `{"schema":"dawncrest.book/1"}`,
		"alone.txt":    "a text whose writer was killed",
		".hidden.json": "passed over in silence",
		"notes.md":     "nobody's business",
	} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Mkdir(filepath.Join(dir, "folder.json"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("/etc/hostname", filepath.Join(dir, "outside.json")); err != nil {
		t.Fatal(err)
	}
	b := openBook(t, dir)
	if len(b.Entries) != 1 || len(b.Notices) != 7 {
		t.Errorf("%d entries, %d notices:\n%s", len(b.Entries), len(b.Notices), strings.Join(b.Notices, "\n"))
	}
	for _, n := range b.Notices {
		if !strings.Contains(n, "passed over") || !strings.Contains(n, "; ") {
			t.Errorf("notice without what is done and the way out: %s", n)
		}
	}
}

func TestEntryNames(t *testing.T) {
	for _, c := range []struct{ shift, want string }{
		{"", "2026-11-24-night"},
		{"late B", "2026-11-24-late-B"},
		{"früh_2", "2026-11-24-früh_2"},
		{"-rf", "2026-11-24--rf"},
	} {
		got, err := EntryName(quietNight(), Meta{Shift: c.shift})
		if err != nil || got != c.want {
			t.Errorf("shift %q: %q, %v", c.shift, got, err)
		}
	}
	for _, shift := range []string{"../../etc/passwd", "a/b", `a\b`, "night\n", "a\x00b", "x.levels", ".", strings.Repeat("n", 41), "a:b", "\x1b[2J"} {
		if got, err := EntryName(quietNight(), Meta{Shift: shift}); err == nil || !strings.Contains(err.Error(), "use ") {
			t.Errorf("shift %q gives %q, %v", shift, got, err)
		}
	}
}

// Dates and shifts around the clock: a night belongs to the day it began on.
func TestShiftIsTheOneThatHandsOver(t *testing.T) {
	for _, c := range []struct {
		from, to time.Time
		want     string
	}{
		{night(22, 0), night(6, 0), "2026-11-24 night"},
		{night(18, 0), night(6, 0), "2026-11-24 night"},
		{night(5, 0), night(6, 0), "2026-11-24 night"},
		{night(6, 0), night(6, 0).Add(8 * time.Hour), "2026-11-25 morning"},
		{night(14, 0), night(22, 0), "2026-11-24 evening"},
		{night(6, 0).Add(-72 * time.Hour), night(6, 0), "2026-11-24 night"},
	} {
		date, shift := shiftOf(&review.Report{Plant: fenPlant(1), From: c.from, To: c.to}, Meta{})
		if got := date + " " + shift; got != c.want {
			t.Errorf("%v to %v: %s, want %s", c.from, c.to, got, c.want)
		}
	}
}

// TestWriterForTheKillTest is no test of its own: it is the process that
// TestKilledWriterLeavesTheBookWhole kills.
func TestWriterForTheKillTest(t *testing.T) {
	dir := os.Getenv("DAWNCREST_TEST_BOOK")
	if dir == "" {
		t.Skip("runs only as the writer of TestKilledWriterLeavesTheBookWhole")
	}
	b := &Book{Dir: dir}
	r := quietNightOf(12)
	fmt.Println("writing")
	for i := 0; ; i++ {
		// Every third entry is new, the others replace the same one.
		if _, err := b.Write(r, Meta{Author: fmt.Sprint("writing number ", i)}, History{}, i%3 != 0); err != nil && !strings.Contains(err.Error(), "too many") {
			t.Fatal(err)
		}
	}
}

func TestKilledWriterLeavesTheBookWhole(t *testing.T) {
	const books = 8
	kills := 25 // of each book
	if testing.Short() {
		kills = 2
	}
	// As long as a few writes take here and now, with as many writers at work.
	begun := time.Now()
	if _, err := (&Book{Dir: t.TempDir()}).Write(quietNightOf(12), Meta{}, History{}, false); err != nil {
		t.Fatal(err)
	}
	within := max(60*time.Millisecond, 2*books*time.Since(begun))
	var wg sync.WaitGroup
	var tally [books]killTally
	for i := range books {
		wg.Go(func() { tally[i] = killWriters(t, kills, within) })
	}
	wg.Wait()
	var all killTally
	for _, one := range tally {
		all.entries += one.entries
		all.amid += one.amid
	}
	if all.entries == 0 || all.amid == 0 {
		t.Errorf("%d entries, %d of %d writers killed amid a write: the test tells nothing", all.entries, all.amid, books*kills)
	}
	t.Logf("%d entries whole; %d of %d writers were killed amid a write", all.entries, all.amid, books*kills)
}

type killTally struct{ entries, amid int }

// killWriters lets one writer after the other write into a book, kills each at
// random, and looks at the book after each.
func killWriters(t *testing.T, kills int, within time.Duration) (tally killTally) {
	dir := t.TempDir()
	for range kills {
		if err := killOneWriter(dir, within); err != nil {
			t.Error(err)
			return tally
		}
		left, err := filepath.Glob(filepath.Join(dir, tempPrefix+"*"))
		if err != nil {
			t.Error(err)
		}
		if len(left) > 0 {
			tally.amid++
		}
		for _, temp := range left {
			os.Remove(temp)
		}
		b, err := OpenBook(dir)
		if err != nil {
			t.Error(err)
			return tally
		}
		if strings.Contains(strings.Join(b.Notices, "\n"), "damaged") || len(b.Entries) < tally.entries {
			t.Errorf("%d entries where there were %d, notices %q", len(b.Entries), tally.entries, b.Notices)
		}
		tally.entries = len(b.Entries)
		for _, e := range b.Entries {
			text, err := os.ReadFile(filepath.Join(dir, e.Name+textSuffix))
			if err != nil || !bytes.HasSuffix(text, []byte("controls nothing.\n")) {
				t.Errorf("text of %s is not whole: %v", e.Name, err)
			}
			if _, err := b.levels(e.Name); err != nil {
				t.Errorf("levels of %s: %v", e.Name, err)
			}
		}
	}
	return tally
}

// killOneWriter starts a writer, waits until it writes, and kills it within a time.
func killOneWriter(dir string, within time.Duration) error {
	writer := exec.Command(os.Args[0], "-test.run=^TestWriterForTheKillTest$")
	writer.Env = append(os.Environ(), "DAWNCREST_TEST_BOOK="+dir)
	out, err := writer.StdoutPipe()
	if err != nil {
		return err
	}
	if err := writer.Start(); err != nil {
		return err
	}
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil || line != "writing\n" {
		return fmt.Errorf("writer says %q: %v", line, err)
	}
	time.Sleep(rand.N(within))
	if err := writer.Process.Kill(); err != nil {
		return err
	}
	_ = writer.Wait() // says that it was killed
	return nil
}

func TestWriteFileKeepsTheModeAndTheOldFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "handover.md")
	if err := WriteFile(path, []byte("one"), false); err != nil {
		t.Fatal(err)
	}
	if err := WriteFile(path, []byte("two"), false); !errors.Is(err, fs.ErrExist) || !strings.Contains(err.Error(), path) {
		t.Errorf("second writing: %v", err)
	}
	if err := Writable(path, false); !errors.Is(err, fs.ErrExist) {
		t.Errorf("told beforehand: %v", err)
	}
	if err := Writable(path, true); err != nil {
		t.Errorf("told beforehand: %v", err)
	}
	if got, _ := os.ReadFile(path); string(got) != "one" {
		t.Errorf("file holds %q", got)
	}
	if err := os.Chmod(path, 0o640); err != nil {
		t.Fatal(err)
	}
	if err := WriteFile(path, []byte("three"), true); err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(path)
	if err != nil || info.Mode().Perm() != 0o640 {
		t.Errorf("mode after replacing: %v, %v", info.Mode(), err)
	}
	if got, _ := os.ReadFile(path); string(got) != "three" {
		t.Errorf("file holds %q", got)
	}
	if left, _ := filepath.Glob(filepath.Join(filepath.Dir(path), tempPrefix+"*")); left != nil {
		t.Errorf("left behind: %q", left)
	}
	if err := WriteFile(filepath.Join(t.TempDir(), "none", "x"), nil, false); !errors.Is(err, fs.ErrNotExist) || !strings.Contains(err.Error(), "make it") {
		t.Errorf("folder that is not there: %v", err)
	}
}

func TestSweepTakesOnlyOldTemporaryFiles(t *testing.T) {
	dir := t.TempDir()
	old, young, other := filepath.Join(dir, tempPrefix+"1-0"+tempSuffix), filepath.Join(dir, tempPrefix+"2-0"+tempSuffix), filepath.Join(dir, "mine.tmp")
	for _, path := range []string{old, young, other} {
		if err := os.WriteFile(path, nil, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for _, path := range []string{old, other} {
		long := time.Now().Add(-48 * time.Hour)
		if err := os.Chtimes(path, long, long); err != nil {
			t.Fatal(err)
		}
	}
	write(t, openBook(t, dir), quietNight(), Meta{})
	for path, stays := range map[string]bool{old: false, young: true, other: true} {
		if _, err := os.Stat(path); (err == nil) != stays {
			t.Errorf("%s: %v, want it kept: %v", filepath.Base(path), err, stays)
		}
	}
}

// BenchmarkOpenBook reads a year of three shifts a day. The budget is 200 ms.
func BenchmarkOpenBook(b *testing.B) {
	dir := b.TempDir()
	r := busyNight()
	big := quietNightOf(24)
	big.Findings, big.Traces = r.Findings, r.Traces
	files, err := entryFiles(big, busyMeta, History{})
	if err != nil {
		b.Fatal(err)
	}
	for i := range 1095 {
		for _, f := range files {
			if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("night-%04d%s", i, f.suffix)), f.data, 0o644); err != nil {
				b.Fatal(err)
			}
		}
	}
	for b.Loop() {
		book, err := OpenBook(dir)
		if err != nil || len(book.Entries) != 1095 {
			b.Fatalf("%d entries, %v", len(book.Entries), err)
		}
	}
	b.ReportMetric(float64(len(files[2].data)), "bytes/entry")
}
