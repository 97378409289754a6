package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/signal"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"dawncrest/rf/review"
)

// spoken is what a command has said so far.
type spoken struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (s *spoken) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.Write(p)
}

func (s *spoken) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.String()
}

// says waits until all words were said.
func (s *spoken) says(t *testing.T, words ...string) {
	t.Helper()
	for range 1000 {
		said, all := s.String(), true
		for _, w := range words {
			all = all && strings.Contains(said, w)
		}
		if all {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Fatalf("never said %q, said %q", words, s.String())
}

// sagging are rows of a station whose voltage goes from one sag to another, in kV.
func sagging(from, to int, first, last float64) string {
	random := rand.New(rand.NewPCG(uint64(from), 1))
	var b strings.Builder
	for i := from; i < to; i++ {
		at := time.Date(2026, 2, 17, 18, 0, 0, 0, time.UTC).Add(time.Duration(i) * 10 * time.Second)
		sag := first + (last-first)*float64(i-from)/float64(to-from)
		fmt.Fprintf(&b, "%s,%.3f,%.3f\n", at.Format(time.RFC3339), 287+random.Float64()/5-sag, 38*math.Pow(1-sag/287, 2.5)+random.Float64()/50)
	}
	return b.String()
}

// A finding is told when it appears and when it clears, nothing in between; the end
// of the following tells by its code whether anything was ever flagged.
func TestCheckFollows(t *testing.T) {
	_, stop := signal.NotifyContext(t.Context(), syscall.SIGUSR1) // its goroutine stays, once for all
	stop()
	for _, c := range []struct {
		fallen float64
		code   int
	}{{0, exitQuiet}, {12, exitFlagged}} {
		path := filepath.Join(t.TempDir(), "night.csv")
		add := func(text string) {
			f, err := os.OpenFile(path, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o666)
			if err != nil {
				t.Fatal(err)
			}
			defer f.Close()
			if _, err := io.WriteString(f, text); err != nil {
				t.Fatal(err)
			}
		}
		add("time,S03 beam_voltage [kV],S03 forward_power [MW]\n" + sagging(0, 900, 0, 0))
		before := runtime.NumGoroutine()
		ctx, cancel := context.WithCancel(t.Context())
		var out, errs spoken
		code := make(chan int, 1)
		go func() {
			code <- run(ctx, []string{"check", "--follow", "--every", "100ms", path}, strings.NewReader(""), &out, &errs)
		}()
		errs.says(t, "following, a look every 100ms", "rows come")
		if out.String() != "" {
			t.Errorf("said %q of a quiet log", out.String())
		}
		add(sagging(900, 1260, 0, c.fallen))
		if c.fallen > 0 {
			out.says(t, "S03", "new")
			told := out.String()
			time.Sleep(300 * time.Millisecond)
			if again := out.String(); again != told {
				t.Errorf("said without news: %q", strings.TrimPrefix(again, told))
			}
			add(sagging(1260, 1620, c.fallen, 0) + sagging(1620, 1980, 0, 0))
			out.says(t, "cleared")
		}
		cancel()
		select {
		case got := <-code:
			if got != c.code {
				t.Errorf("fallen by %v kV: exit code %d, want %d; said %q, %q", c.fallen, got, c.code, out.String(), errs.String())
			}
		case <-time.After(10 * time.Second):
			t.Fatal("does not end")
		}
		for range 200 {
			if runtime.NumGoroutine() <= before {
				break
			}
			time.Sleep(10 * time.Millisecond)
		}
		if after := runtime.NumGoroutine(); after > before {
			t.Errorf("%d goroutines before, %d after", before, after)
		}
	}
}

// What is told are changes: of a finding's verdict, and of a waypoint's energy.
func TestChanges(t *testing.T) {
	var out bytes.Buffer
	c := changes{out: &out, zone: time.UTC, told: map[string]review.Finding{}}
	finding := func(v review.Verdict) review.Finding {
		return review.Finding{Place: "S03", Cause: review.ModulatorVoltage, Quantity: "beam_voltage", Verdict: v}
	}
	at := time.Date(2026, 2, 17, 18, 0, 0, 0, time.UTC)
	for i, step := range []struct {
		findings []review.Finding
		energy   review.Verdict
		says     []string // one for each line
	}{
		{nil, review.InTolerance, nil},
		{[]review.Finding{finding(review.Drifting)}, review.InTolerance, []string{"new"}},
		{[]review.Finding{finding(review.Drifting)}, review.InTolerance, nil},
		{[]review.Finding{finding(review.OutOfTolerance)}, review.OutOfTolerance, []string{"was drifting", "waypoint dump: out of tolerance"}},
		{nil, review.OutOfTolerance, []string{"cleared"}},
		{nil, review.InTolerance, []string{"waypoint dump: in tolerance"}},
	} {
		out.Reset()
		r := &review.Report{Findings: step.findings, Waypoints: []review.WaypointResult{{Waypoint: "dump", Verdict: step.energy}}}
		if err := c.tell(at, r, step.findings); err != nil {
			t.Fatal(err)
		}
		lines := strings.Split(strings.TrimSuffix(out.String(), "\n"), "\n")
		if out.Len() == 0 {
			lines = nil
		}
		if len(lines) != len(step.says) {
			t.Fatalf("step %d: said %q, want %d lines", i, lines, len(step.says))
		}
		for n, want := range step.says {
			if !strings.Contains(lines[n], want) || !strings.HasPrefix(lines[n], "2026-02-17 18:00:00 +00:00") {
				t.Errorf("step %d: %q, want %q", i, lines[n], want)
			}
		}
	}
	if !c.flagged {
		t.Error("forgot that something was flagged")
	}
}
