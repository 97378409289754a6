package test

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"testing"
)

// faultVariable names the variable that chooses a fault of [faults].
const faultVariable = "DAWNCREST_FAULT"

// faults are panics that a build for the tests has in it, by where they happen:
// a function that begins with a line, and when.
var faults = []struct{ name, function, when string }{
	{"in a key press", `^func \(m Model\) pressedOne\(msg tea\.KeyMsg\).*{$`, `msg.String() == "!"`},
	{"in drawing", `^func \(m Model\) View\(\) string {$`, `m.helping`},
	{"in the background", `^func sortPlaces\(.*{$`, `true`},
}

// withFaults writes the sources of the screens that have a fault, and the file
// that tells the compiler to take them instead of the real ones: the program
// itself has no hook.
func withFaults() (overlay string, err error) {
	dir, err := built()
	if err != nil {
		return "", err
	}
	files, err := filepath.Glob("../tui/*.go")
	if err != nil {
		return "", err
	}
	replaced, placed := map[string]string{}, 0
	for _, name := range files {
		source, err := os.ReadFile(name)
		if err != nil {
			return "", err
		}
		before := placed
		for _, f := range faults {
			begins := regexp.MustCompile("(?m)" + f.function)
			source = begins.ReplaceAllFunc(source, func(line []byte) []byte {
				placed++
				return fmt.Appendf(nil, "%s\nif %s && environment.Getenv(%q) == %q { panic(%q) }", line, f.when, faultVariable, f.name, "forced "+f.name)
			})
		}
		if placed == before {
			continue
		}
		source = regexp.MustCompile(`(?m)^package tui$`).ReplaceAll(source, []byte("package tui\n\nimport environment \"os\""))
		changed := filepath.Join(dir, "faulty-"+filepath.Base(name))
		if err := os.WriteFile(changed, source, 0o600); err != nil {
			return "", err
		}
		whole, err := filepath.Abs(name)
		if err != nil {
			return "", err
		}
		replaced[whole] = changed
	}
	if placed != len(faults) {
		return "", fmt.Errorf("%d places for %d faults: the functions they begin in have another name now", placed, len(faults))
	}
	text, err := json.Marshal(map[string]any{"Replace": replaced})
	if err != nil {
		return "", err
	}
	overlay = filepath.Join(dir, "overlay.json")
	return overlay, os.WriteFile(overlay, text, 0o600)
}

// A fault of our own must first give the terminal back and then say what it was.
func TestFaultRestoresTheTerminal(t *testing.T) {
	t.Parallel()
	path := faultyProgram(t)
	for _, f := range faults {
		t.Run(f.name, func(t *testing.T) {
			l := openLine(t, path)
			l.process.Env = append(l.process.Env, faultVariable+"="+f.name)
			l.start()
			switch f.when {
			case `msg.String() == "!"`:
				l.see(firstQuestion)
				l.press("!")
			case `m.helping`:
				l.see(firstQuestion)
				l.press("?")
			}
			if code := l.left(); code != 2 {
				t.Errorf("exit code %d, want 2", code)
			}
			l.restored()
			l.saysAfterwards("forced " + f.name)
		})
	}
}
