package test

import (
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

// demo is a plant and a night of it on disk.
type demo struct{ dir, log, plant string }

var writtenDemo = sync.OnceValues(func() (demo, error) {
	path, err := plainBuild()
	if err != nil {
		return demo{}, err
	}
	dir, err := built()
	if err != nil {
		return demo{}, err
	}
	d := demo{dir: filepath.Join(dir, "fen")}
	if err := exec.Command(path, "demo", d.dir, "--interval", "60s").Run(); err != nil {
		return d, err
	}
	d.plant = filepath.Join(d.dir, "plant")
	logs, err := filepath.Glob(filepath.Join(d.dir, "*.csv*"))
	if err != nil || len(logs) != 1 {
		return d, os.ErrNotExist
	}
	d.log = logs[0]
	return d, nil
})

// demoFolder writes a demo plant and night, once.
func demoFolder(t testing.TB) demo {
	t.Helper()
	d, err := writtenDemo()
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// A command without a screen must write plain text alone, also on a terminal that
// could show more.
func TestNoEscapeWithoutAScreen(t *testing.T) {
	t.Parallel()
	path := program(t)
	d := demoFolder(t)
	for _, c := range []struct {
		args string
		code int
		says string
	}{
		{"--help", 0, "Available Commands"},
		{"--version", 0, "dawncrest"},
		{"review --help", 0, "Usage"},
		{"check", 1, "waypoint"},
		{"check --format json", 1, "dawncrest.review/1"},
		{"check " + d.log, 1, "waypoint"},
		{"check no-such-file.csv", 2, "no-such-file.csv"},
		{"handover", 0, "# Handover of Harrow Fen"},
		{"handover --format text", 0, "Harrow Fen"},
		{"handover --format html", 0, "<html"},
		{"columns " + d.log, 0, "beam_voltage"},
		{"plant " + d.plant, 0, "no fault found"},
		{"demo elsewhere --interval 60s", 0, "wrote"},
		{"completion bash", 0, "dawncrest"},
		{"mistyped", 2, "is no command"},
	} {
		t.Run(strings.ReplaceAll(c.args, "/", "|"), func(t *testing.T) {
			l := openLine(t, path, strings.Fields(c.args)...)
			l.process.Env = append(l.process.Env, "COLORTERM=truecolor")
			l.start()
			if code := l.left(); code != c.code {
				t.Errorf("exit code %d, want %d", code, c.code)
			}
			l.drained()
			text := l.text()
			if at := strings.IndexByte(text, '\x1b'); at >= 0 {
				t.Errorf("an escape was sent: %q", text[at:min(at+20, len(text))])
			}
			if !strings.Contains(text, c.says) {
				t.Errorf("no %q in %q", c.says, text)
			}
		})
	}
}

// The time that a whole check of the demo night takes is told, not judged.
func TestTimeOfACheck(t *testing.T) {
	path := program(t)
	const runs = 5
	var took []time.Duration
	for range runs {
		check := exec.Command(path, "check")
		check.Env = environment(t)
		began := time.Now()
		out, _ := check.Output()
		took = append(took, time.Since(began))
		if check.ProcessState.ExitCode() != 1 || len(out) == 0 {
			t.Fatalf("exit code %d: %s", check.ProcessState.ExitCode(), out)
		}
	}
	slices.Sort(took)
	t.Logf("check of the demo night, start to exit: %v (median of %d; %v to %v)", took[runs/2], runs, took[0], took[runs-1])
}
