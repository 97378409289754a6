package test

import (
	"bytes"
	"compress/gzip"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
)

// liveNight is a folder into which a night with a fault is written while the
// program follows it.
type liveNight struct {
	t      *testing.T
	dir    string
	header string
	rows   []string
}

func newLiveNight(t *testing.T, fault string) *liveNight {
	t.Helper()
	written := filepath.Join(t.TempDir(), "fen")
	if out, err := exec.Command(program(t), "demo", written, "--interval", "30s", "--fault", fault).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	logs, err := filepath.Glob(filepath.Join(written, "*.csv.gz"))
	if err != nil || len(logs) != 1 {
		t.Fatal(logs, err)
	}
	packed, err := os.ReadFile(logs[0])
	if err != nil {
		t.Fatal(err)
	}
	unpacked, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(unpacked)
	if err != nil {
		t.Fatal(err)
	}
	n := &liveNight{t: t, dir: t.TempDir()}
	lines := strings.SplitAfter(string(text), "\n")
	for strings.HasPrefix(lines[0], "#") {
		lines = lines[1:]
	}
	n.header, n.rows = lines[0], lines[1:]
	if err := os.Rename(filepath.Join(written, "plant"), filepath.Join(n.dir, "plant")); err != nil {
		t.Fatal(err)
	}
	return n
}

// write appends rows to a log of the folder, a part of the last one later than the
// rest.
func (n *liveNight) write(name string, from, to int) {
	n.t.Helper()
	f, err := os.OpenFile(filepath.Join(n.dir, name), os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o666)
	if err != nil {
		n.t.Fatal(err)
	}
	defer f.Close()
	text := strings.Join(n.rows[from:to], "")
	if info, err := f.Stat(); err == nil && info.Size() == 0 {
		text = n.header + text
	}
	for _, part := range []string{text[:len(text)-30], text[len(text)-30:]} {
		if _, err := io.WriteString(f, part); err != nil {
			n.t.Fatal(err)
		}
		time.Sleep(20 * time.Millisecond)
	}
}

// A night that is followed over a new file, a rename and a file cut in place tells
// in the end what a check of the whole night tells.
func TestCheckFollowsANight(t *testing.T) {
	t.Parallel()
	n := newLiveNight(t, "modulator_voltage@S07=-2")
	part := len(n.rows) / 4
	n.write("night.csv", 0, part)
	run, out, errs := exec.Command(program(t), "check", "--follow", "--every", "100ms", n.dir), &lockedText{}, &lockedText{}
	run.Env, run.Stdout, run.Stderr = environment(t), out, errs
	if err := run.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = run.Process.Kill() })
	errs.has(t, "rows come")

	n.write("next.csv", part, 2*part)
	time.Sleep(300 * time.Millisecond)
	if err := os.Rename(filepath.Join(n.dir, "next.csv"), filepath.Join(n.dir, "next.csv.1")); err != nil {
		t.Fatal(err)
	}
	n.write("next.csv", 2*part, 3*part)
	time.Sleep(300 * time.Millisecond)
	if err := os.Truncate(filepath.Join(n.dir, "next.csv"), 0); err != nil {
		t.Fatal(err)
	}
	time.Sleep(300 * time.Millisecond)
	n.write("next.csv", 3*part, len(n.rows))
	out.has(t, "S07  modulator voltage")
	time.Sleep(time.Second)
	if err := run.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	if code := ends(t, run); code != "1" {
		t.Errorf("exit code %s: %s", code, errs)
	}

	if err := os.WriteFile(filepath.Join(n.dir, "next.csv"), []byte(n.header+strings.Join(n.rows[part:], "")), 0o666); err != nil {
		t.Fatal(err)
	}
	whole := exec.Command(program(t), "check", n.dir)
	whole.Env = environment(t)
	want, _ := whole.Output()
	got := standing(out.String())
	for line := range strings.Lines(string(want)) {
		key := findingOf(line)
		if !got[key] {
			t.Errorf("the whole night has %q, the night that was followed ends with %v:\n%s", key, got, out)
		}
		delete(got, key)
	}
	for key := range got {
		t.Errorf("the night that was followed ends with %q, the whole night has:\n%s", key, want)
	}
}

// findingOf returns place and cause of a line of a check.
func findingOf(line string) string {
	var cells []string
	for cell := range strings.SplitSeq(strings.TrimSpace(line), "  ") {
		if cell = strings.TrimSpace(cell); cell != "" {
			cells = append(cells, cell)
		}
	}
	return cells[1] + " " + cells[2]
}

// standing returns the findings that were told and have not cleared.
func standing(told string) map[string]bool {
	left := map[string]bool{}
	for line := range strings.Lines(told) {
		at, rest := line[:len("2026-11-25 05:16:57 +00:00")], line[len("2026-11-25 05:16:57 +00:00  "):]
		if _, err := time.Parse("2006-01-02 15:04:05 -07:00", at); err != nil {
			continue
		}
		word := strings.TrimSpace(rest[:20])
		if word == "energy" {
			continue
		}
		left[findingOf(rest[20:])] = true
		if word == "cleared" {
			delete(left, findingOf(rest[20:]))
		}
	}
	return left
}

// lockedText is what a program has written so far.
type lockedText struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (l *lockedText) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.Write(p)
}

func (l *lockedText) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.String()
}

// has waits until some words were written.
func (l *lockedText) has(t *testing.T, words string) {
	t.Helper()
	if !eventually(patience, func() bool { return strings.Contains(l.String(), words) }) {
		t.Fatalf("never said %q, said %q", words, l)
	}
}

// On a terminal nothing is sent while no row comes; a row changes what is shown, and
// the keys go on.
func TestReviewFollows(t *testing.T) {
	t.Parallel()
	n := newLiveNight(t, "modulator_voltage@S07=-2")
	half := len(n.rows) / 2
	n.write("night.csv", 0, half)
	l := startLine(t, program(t), "review", "--follow", "--every", "100ms", n.dir)
	l.see(firstQuestion, "following, as of ", "a look every 100ms")
	l.press("2")
	l.see("What does station")
	l.settle(500 * time.Millisecond)
	sent := l.sent()
	time.Sleep(2 * time.Second)
	if idle := l.sent() - sent; idle != 0 {
		t.Errorf("%d bytes sent in two seconds without a row", idle)
	}
	n.write("night.csv", half, half+4)
	if !eventually(patience, func() bool { return l.sent() > sent }) {
		t.Fatal("the screen does not change with the log")
	}
	l.settle(500 * time.Millisecond)
	t.Logf("%d bytes sent for four rows", l.sent()-sent)
	if strings.Contains(l.text()[sent:], firstQuestion) {
		t.Error("the page was left")
	}
	n.write("night.csv", half+4, len(n.rows))
	l.press("1")
	l.see("modulator voltage")
	l.press("q")
	if code := l.left(); code != 0 {
		t.Errorf("exit code %d", code)
	}
	l.restored()
}
