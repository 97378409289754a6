package main

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dawncrest/sampledata"
)

// called runs the program in its process and returns what it said.
func called(t *testing.T, args ...string) (code int, out, errs string) {
	t.Helper()
	var o, e bytes.Buffer
	code = run(t.Context(), args, strings.NewReader(""), &o, &e)
	return code, o.String(), e.String()
}

// put writes a file into a fresh folder and returns its path.
func put(t *testing.T, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// TestBadInput: each gives one clear error that names the file, the place in it and
// the way out, exit code 2, and nothing on standard output.
func TestBadInput(t *testing.T) {
	plant := filepath.Join(t.TempDir(), "plant")
	if err := sampledata.Demo().WritePlant(plant); err != nil {
		t.Fatal(err)
	}
	broken := filepath.Join(t.TempDir(), "plant")
	if err := sampledata.Demo().WritePlant(broken); err != nil {
		t.Fatal(err)
	}
	for _, edit := range [][3]string{
		{"plant.toml", "frequency_MHz = 2856", "frequency_MHz = 0"},
		{"plant.toml", "Europe/London", "Europe/Nowhere"},
		{"stations.csv", "S02,45", "S02,-45"},
		{"structures.csv", "S01A,S01", "S01A,S99"},
		{"tolerances.csv", "beam_energy", "beam_enargy"},
	} {
		path := filepath.Join(broken, edit[0])
		text, err := os.ReadFile(path)
		if err != nil || !bytes.Contains(text, []byte(edit[1])) {
			t.Fatalf("%s has no %q (%v)", edit[0], edit[1], err)
		}
		if err := os.WriteFile(path, bytes.Replace(text, []byte(edit[1]), []byte(edit[2]), 1), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	night := put(t, "night.csv", "time,S03 forward_power [MW]\n2026-01-01T00:00:00Z,38\n2026-01-01T00:00:10Z,38\n")
	for _, c := range []struct {
		name string
		args []string
		says []string
	}{
		{"missing file", []string{"check", "missing.csv"}, []string{"missing.csv", "no such file", "name a log"}},
		{"empty file", []string{"check", put(t, "empty.csv", "")}, []string{"empty.csv", "empty"}},
		{"header only", []string{"check", put(t, "header.csv", "time,S03 forward_power [MW]\n")}, []string{"header.csv", "line 1", "no row"}},
		{"no known column", []string{"check", "--plant", plant, put(t, "odd.csv", "time,foo [x]\n2026-01-01T00:00:00Z,1\n")},
			[]string{"odd.csv", "line 1", "foo", "columns.csv"}},
		{"unit of the wrong kind", []string{"check", "--plant", plant, put(t, "unit.csv", "time,S03 forward_power [K]\n2026-01-01T00:00:00Z,1\n")},
			[]string{"unit.csv", "line 1", "column 2", "power"}},
		{"plant with five mistakes", []string{"check", "--plant", broken, night},
			[]string{"5 faults", "plant.toml:2", "time_zone", "stations.csv:3", "structures.csv:", "S99", "tolerances.csv:2", "did you mean beam_energy"}},
		{"no such plant", []string{"check", "--plant", "nowhere", night}, []string{"nowhere", "--new"}},
		{"no time", []string{"check", "--from", "soon", night}, []string{"--from soon", "write it as"}},
		{"mistyped command", []string{"frobnicate"}, []string{"frobnicate", "--help"}},
		{"log without a command", []string{"night.csv"}, []string{"dawncrest review night.csv"}},
		{"unknown form", []string{"handover", "--format", "pdf"}, []string{"pdf", "md"}},
		{"follow standard input", []string{"check", "--follow", "-"}, []string{"--follow", "name the file or the folder"}},
		{"follow the demo night", []string{"review", "--follow"}, []string{"--follow without a log"}},
		{"follow into JSON", []string{"check", "--follow", "--format", "json", night}, []string{"--format json", "without --follow"}},
		{"follow into a file", []string{"check", "--follow", "--out", "x", night}, []string{"--out"}},
		{"follow with refused rows", []string{"check", "--follow", "--rejects", "x", night}, []string{"--rejects", "columns"}},
		{"follow too often", []string{"check", "--follow", "--every", "1ms", night}, []string{"--every 1ms", "100ms at least"}},
		{"every without follow", []string{"check", "--every", "1s", night}, []string{"--every without --follow"}},
		{"follow a log without a row", []string{"check", "--follow", put(t, "header.csv", "time,S03 forward_power [MW]\n")}, []string{"header.csv", "no row"}},
		{"follow on screens without a terminal", []string{"review", "--follow", night}, []string{"check --follow"}},
		{"limit", []string{"check", "--limit", "Nothing=3", night}, []string{"Nothing", "LineBytes"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			code, out, errs := called(t, c.args...)
			if code != exitFailed || out != "" {
				t.Errorf("exit code %d, standard output %q", code, out)
			}
			for _, want := range c.says {
				if !strings.Contains(errs, want) {
					t.Errorf("no %q in %q", want, errs)
				}
			}
			if strings.Contains(errs, "goroutine") || strings.Contains(errs, "panic") {
				t.Errorf("a stack trace: %s", errs)
			}
		})
	}
}

// TestCheckFaults reviews two nights of half a kelvin: water that really moved is
// told as such with its water change, a thermometer that lies with no retune.
func TestCheckFaults(t *testing.T) {
	for _, c := range []struct {
		fault, cause, advice string
	}{
		{"water_detuning@S06B=0.5", "water_detuning", "retune"},
		{"temperature_sensor@S06B=0.5", "temperature_sensor", "leave"},
	} {
		t.Run(c.cause, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "demo")
			if code, _, errs := called(t, "demo", dir, "--seed", "4", "--interval", "60s", "--fault", c.fault); code != exitQuiet {
				t.Fatal(errs)
			}
			code, out, errs := called(t, "check", "--format", "json", dir)
			if code != exitFlagged {
				t.Errorf("exit code %d: %s", code, errs)
			}
			var report struct {
				Findings   []struct{ Place, Cause string }
				Structures []struct {
					Structure    string
					WaterChangeK float64 `json:"water_change_K"`
					Advice       string
				}
			}
			if err := json.Unmarshal([]byte(out), &report); err != nil {
				t.Fatal(err)
			}
			if len(report.Findings) != 1 || report.Findings[0].Place != "S06B" || report.Findings[0].Cause != c.cause {
				t.Errorf("findings %+v", report.Findings)
			}
			for _, s := range report.Structures {
				if s.Structure != "S06B" {
					continue
				}
				if s.Advice != c.advice {
					t.Errorf("advice %s, want %s", s.Advice, c.advice)
				}
				if c.advice == "retune" && math.Abs(s.WaterChangeK+0.5) > 0.05 {
					t.Errorf("water change %.3f K, the water is 0.5 K too warm", s.WaterChangeK)
				}
			}
		})
	}
}

// TestOutIsNeverReplaced: a file that is there stays as it is.
func TestOutIsNeverReplaced(t *testing.T) {
	path := put(t, "kept.md", "mine")
	code, _, errs := called(t, "handover", "--out", path)
	if text, _ := os.ReadFile(path); code != exitFailed || string(text) != "mine" || !strings.Contains(errs, path) {
		t.Errorf("exit code %d, file %q, said %q", code, text, errs)
	}
}
