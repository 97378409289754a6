package test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"
)

// The sessions run the program as it is built for users, on terminals: a
// pseudo-terminal that answers nothing, tmux, and tmux behind an SSH server.

// patience is how long a session waits for what must come: long, for a machine
// that is busy with other things. Nothing is asserted about it.
const patience = 60 * time.Second

// eventually waits until something holds, and says whether it did in time.
func eventually(within time.Duration, holds func() bool) bool {
	for end := time.Now().Add(within); ; time.Sleep(10 * time.Millisecond) {
		if holds() {
			return true
		}
		if time.Now().After(end) {
			return false
		}
	}
}

// built is where the programs are while the tests run.
var built = sync.OnceValues(func() (string, error) { return os.MkdirTemp("", "dawncrest-sessions-") })

// TestMain runs the tests, and then looks whether a session left a process of the
// program behind.
func TestMain(m *testing.M) {
	code := m.Run()
	if dir, err := built(); err == nil {
		if !eventually(patience, func() bool { return len(running(dir)) == 0 }) {
			fmt.Fprintf(os.Stderr, "still running after the sessions: processes %v\n", running(dir))
			code = 1
		}
		os.RemoveAll(dir)
	}
	os.Exit(code)
}

var (
	plainBuild  = sync.OnceValues(func() (string, error) { return compile("dawncrest") })
	faultyBuild = sync.OnceValues(func() (string, error) {
		overlay, err := withFaults()
		if err != nil {
			return "", err
		}
		return compile("dawncrest-with-faults", "-overlay", overlay)
	})
)

// compile builds the program under a name.
func compile(name string, flags ...string) (string, error) {
	dir, err := built()
	if err != nil {
		return "", err
	}
	// Looked at here so that a change of any source is a change for the test cache.
	if err := filepath.WalkDir("..", func(string, os.DirEntry, error) error { return nil }); err != nil {
		return "", err
	}
	path := filepath.Join(dir, name)
	build := exec.Command("go", append(append([]string{"build"}, flags...), "-o", path, "dawncrest/cmd/dawncrest")...)
	build.Env = append(os.Environ(), "CGO_ENABLED=0")
	if out, err := build.CombinedOutput(); err != nil {
		return "", fmt.Errorf("go build: %w\n%s", err, out)
	}
	return path, nil
}

// program returns the path of the program.
func program(t testing.TB) string { return available(t, plainBuild) }

// faultyProgram is the program with faults in it: see [withFaults].
func faultyProgram(t testing.TB) string { return available(t, faultyBuild) }

func available(t testing.TB, build func() (string, error)) string {
	t.Helper()
	if testing.Short() {
		t.Skip("builds and runs the program")
	}
	path, err := build()
	if err != nil {
		t.Fatal(err)
	}
	return path
}

// running returns the processes that run a program of a folder, where the system
// tells.
func running(dir string) []int {
	var found []int
	links, _ := filepath.Glob("/proc/[0-9]*/exe")
	for _, link := range links {
		if target, err := os.Readlink(link); err == nil && filepath.Dir(target) == dir {
			pid, _ := strconv.Atoi(strings.Split(link, "/")[2])
			found = append(found, pid)
		}
	}
	return found
}
