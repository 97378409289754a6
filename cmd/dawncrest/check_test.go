package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// What of the logs or of the shift book is not in a review is told beside it.
func TestCheckTellsWhatIsLost(t *testing.T) {
	dir, book := filepath.Join(t.TempDir(), "demo"), filepath.Join(t.TempDir(), "book")
	next := filepath.Join(t.TempDir(), "next")
	for _, args := range [][]string{
		{"demo", dir, "--interval", "60s"}, {"demo", next, "--interval", "60s", "--start", "2026-11-25T21:00:00Z"},
		{"handover", dir, "--book", book, "--accept", "--out", filepath.Join(t.TempDir(), "out.md")},
	} {
		if code, _, errs := called(t, args...); code != exitQuiet && code != exitFlagged {
			t.Fatal(args, errs)
		}
	}
	entries, err := filepath.Glob(filepath.Join(book, "*.json"))
	if err != nil || len(entries) != 2 {
		t.Fatal(entries, err)
	}
	cut := func(name string) {
		t.Helper()
		text, err := os.ReadFile(name)
		if err == nil {
			err = os.WriteFile(name, text[:len(text)/2], 0o666)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	plant := filepath.Join(dir, "plant")
	bad := put(t, "bad.csv", "time,S03 forward_power [MW]\n2026-11-23T21:00:05Z,69\nyesterday,69\n")
	for _, c := range []struct {
		before func()
		args   []string
		code   int // 0: either of those of a review
		says   string
	}{
		{nil, []string{"check", dir, "missing.csv", "--plant", plant}, 0, "not read: missing.csv: no such file"},
		{nil, []string{"check", dir, "1.csv", "2.csv", "3.csv", "4.csv", "5.csv", "6.csv", "7.csv", "--plant", plant}, 0, "not read: 2 more logs"},
		{nil, []string{"check", dir, bad, "--plant", plant}, 0, "refused: 1 of 723 rows; dawncrest columns"},
		{nil, []string{"handover", dir, "missing.csv", "--plant", plant}, 0, "Could not be read: missing.csv: no such file"},
		{func() { cut(strings.TrimSuffix(entries[0], ".json") + ".levels.json") }, []string{"check", next, "--book", book}, exitFailed, "--reference names another"},
		{func() { cut(entries[0]) }, []string{"check", next, "--book", book}, 0, ".json is damaged and passed over"},
	} {
		if c.before != nil {
			c.before()
		}
		code, out, errs := called(t, c.args...)
		if !strings.Contains(out+errs, c.says) || c.code != 0 && code != c.code || c.code == 0 && code > exitFlagged {
			t.Errorf("%v: exit code %d, no %q in\n%s", c.args, code, c.says, errs)
		}
	}
}
