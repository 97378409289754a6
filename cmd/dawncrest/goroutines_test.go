package main

import (
	"path/filepath"
	"runtime"
	"testing"
	"time"
)

// TestNoGoroutineStays: a command that has ended, well or not, leaves nothing
// running in its process.
func TestNoGoroutineStays(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "demo")
	if code, _, errs := called(t, "demo", dir, "--interval", "60s"); code != exitQuiet {
		t.Fatal(errs)
	}
	torn := put(t, "torn.csv.gz", "\x1f\x8b\x08\x00\x00\x00\x00\x00\x00\x03torn")
	bad := put(t, "bad.csv", "time,S03 forward_power [MW]\n2026-01-01T00:00:00Z,x\n")
	for _, args := range [][]string{
		{"check"}, {"check", dir}, {"check", "--limit", "Columns=3", dir}, {"check", torn}, {"columns", torn, bad}, {"columns", dir},
		{"check", "missing.csv"}, {"check", "--from", "2030-01-01", dir}, {"handover", "--book", filepath.Join(t.TempDir(), "book"), dir},
		{"plant", filepath.Join(dir, "plant")},
	} {
		before := runtime.NumGoroutine()
		called(t, args...)
		after := runtime.NumGoroutine()
		for range 200 { // one that was told to end may need a moment
			if after <= before {
				break
			}
			time.Sleep(10 * time.Millisecond)
			after = runtime.NumGoroutine()
		}
		if after > before {
			stacks := make([]byte, 1<<16)
			t.Errorf("%v: %d goroutines before, %d after\n%s", args, before, after, stacks[:runtime.Stack(stacks, true)])
		}
	}
}
