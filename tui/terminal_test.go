package tui

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/term"
	"github.com/creack/pty"

	"dawncrest/rf/handover"
	"dawncrest/rf/review"
)

// The terminal tests run this test binary a second time, on a pseudo-terminal
// that answers nothing, as a program that shows the screens.

const screenEnv = "DAWNCREST_TEST_SCREEN"

// faulty is a page with a fault of our own in it.
type faulty struct {
	morning
	inView bool
}

func (f faulty) update(tea.KeyMsg, data) (page, tea.Msg) {
	if f.inView {
		return f, nil
	}
	panic("fault in update")
}

func (f faulty) view(d data, l look, width, height int) []string {
	if f.inView {
		panic("fault in view")
	}
	return f.morning.view(d, l, width, height)
}

// showScreen is the second run. It ends as the command would: with the error on
// standard error once the terminal is restored.
func showScreen(kind string) {
	source := Source{
		Title: "the demo night", Demo: true, Forms: []string{"md"},
		Load: func(ctx context.Context, progress func(Progress)) (*review.Report, error) {
			progress(Progress{File: "fen.csv", Bytes: 1 << 20, TotalBytes: 4 << 20, Rows: 4000})
			switch kind {
			case "load fault":
				panic("fault in load")
			case "bad log":
				return nil, errors.New("read header: fen.csv line 1: no time column")
			case "slow log":
				<-ctx.Done()
				return nil, ctx.Err()
			}
			return fixture(), nil
		},
		Preview: func(r *review.Report, m handover.Meta) string { return "Handover of " + r.Plant.Name },
		Write: func(form string, r *review.Report, m handover.Meta) (string, error) {
			if kind == "write fault" {
				panic("fault in write")
			}
			return "handover." + form, nil
		},
	}
	model := New(source, Options{Now: time.Now, Initials: "EJ", profile: profileOf(os.Getenv)})
	switch kind {
	case "update fault":
		model.pages[morningPage] = faulty{}
	case "view fault":
		model.pages[tripsPage] = faulty{inView: true}
	}
	if err := run(context.Background(), model); err != nil {
		fmt.Fprintln(os.Stderr, "ended:", err)
		os.Exit(3)
	}
	os.Exit(0)
}

// session is the second run as seen from its terminal.
type session struct {
	t       *testing.T
	process *exec.Cmd
	master  *os.File
	before  *term.State
	slave   *os.File
	ended   chan error

	mu     sync.Mutex
	output bytes.Buffer
}

func start(t *testing.T, kind string, env ...string) *session {
	t.Helper()
	if testing.Short() {
		t.Skip("runs a second process")
	}
	master, slave, err := pty.Open()
	if err != nil {
		t.Skipf("no pseudo-terminal here: %v", err)
	}
	if err := pty.Setsize(master, &pty.Winsize{Rows: 24, Cols: 80}); err != nil {
		t.Fatal(err)
	}
	before, err := term.GetState(slave.Fd())
	if err != nil {
		t.Fatal(err)
	}
	master = pollable(t, master)
	s := &session{t: t, master: master, slave: slave, before: before, ended: make(chan error, 1)}
	s.process = exec.Command(os.Args[0])
	s.process.Env = append(append(os.Environ(), screenEnv+"="+kind, "TERM=xterm-256color", "NO_COLOR="), env...)
	s.process.Stdin, s.process.Stdout, s.process.Stderr = slave, slave, slave
	s.process.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Setctty: true}
	if err := s.process.Start(); err != nil {
		t.Fatal(err)
	}
	go func() { s.ended <- s.process.Wait() }()
	go func() {
		buffer := make([]byte, 1<<16)
		for {
			n, err := master.Read(buffer)
			s.mu.Lock()
			s.output.Write(buffer[:n])
			s.mu.Unlock()
			if err != nil {
				return
			}
		}
	}()
	t.Cleanup(func() {
		_ = s.process.Process.Kill()
		master.Close()
		slave.Close()
	})
	return s
}

// pollable returns the file in a form whose reads end when it is closed.
func pollable(t *testing.T, f *os.File) *os.File {
	t.Helper()
	fd, err := syscall.Dup(int(f.Fd()))
	if err == nil {
		err = syscall.SetNonblock(fd, true)
	}
	if err != nil {
		t.Fatal(err)
	}
	f.Close()
	syscall.CloseOnExec(fd)
	return os.NewFile(uintptr(fd), f.Name())
}

func (s *session) text() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.output.String()
}

// sent returns how many bytes the program has sent so far.
func (s *session) sent() int { return len(s.text()) }

// see waits until the program has sent some words.
func (s *session) see(words string) {
	s.t.Helper()
	for range 500 {
		if strings.Contains(s.text(), words) {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	s.t.Fatalf("never saw %q; saw %q", words, s.text())
}

func (s *session) press(keys string) {
	s.t.Helper()
	if _, err := io.WriteString(s.master, keys); err != nil {
		s.t.Fatal(err)
	}
	time.Sleep(120 * time.Millisecond)
}

// gone waits for the end of the program and returns its exit code.
func (s *session) gone() int {
	s.t.Helper()
	select {
	case <-s.ended:
		return s.process.ProcessState.ExitCode()
	case <-time.After(5 * time.Second):
		s.t.Fatalf("still there; saw %q", s.text())
		return -1
	}
}

// restored checks that the terminal is as it was.
func (s *session) restored() {
	s.t.Helper()
	time.Sleep(50 * time.Millisecond)
	after, err := term.GetState(s.slave.Fd())
	if err != nil {
		s.t.Fatal(err)
	}
	if *after != *s.before {
		s.t.Errorf("terminal modes are %v, were %v", *after, *s.before)
	}
	out := s.text()
	for name, pair := range map[string][2]string{
		"alternate screen": {"\x1b[?1049h", "\x1b[?1049l"},
		"hidden cursor":    {"\x1b[?25l", "\x1b[?25h"},
		"bracketed paste":  {"\x1b[?2004h", "\x1b[?2004l"},
	} {
		if strings.LastIndex(out, pair[0]) > strings.LastIndex(out, pair[1]) {
			s.t.Errorf("%s was left on", name)
		}
	}
	if strings.Contains(out, "\x1b[?1000h") || strings.Contains(out, "\x1b[?1002h") || strings.Contains(out, "\x1b[?1003h") {
		s.t.Error("the mouse was switched on")
	}
}

func TestEveryWayOutRestoresTheTerminal(t *testing.T) {
	for _, way := range []struct {
		name, kind string
		out        func(s *session)
		code       int
		says       string
	}{
		{"q", "", func(s *session) { s.press("q") }, 0, ""},
		{"ctrl+c", "", func(s *session) { s.press("\x03") }, 0, ""},
		{"SIGTERM", "", func(s *session) { _ = s.process.Process.Signal(syscall.SIGTERM) }, 3, "terminated"},
		{"SIGINT", "", func(s *session) { _ = s.process.Process.Signal(syscall.SIGINT) }, 3, "interrupt"},
		{"SIGHUP", "", func(s *session) { _ = s.process.Process.Signal(syscall.SIGHUP) }, 3, "hangup"},
		{"fault in update", "update fault", func(s *session) { s.press("j") }, 3, "internal fault: fault in update"},
		{"fault in view", "view fault", func(s *session) { s.press("6") }, 3, "internal fault: fault in view"},
		{"fault in a command", "write fault", func(s *session) { s.press("8"); s.press("W") }, 3, "internal fault: fault in write"},
	} {
		t.Run(way.name, func(t *testing.T) {
			s := start(t, way.kind)
			s.see("Does the linac make its energy")
			way.out(s)
			if code := s.gone(); code != way.code {
				t.Errorf("exit code %d, want %d", code, way.code)
			}
			s.restored()
			out := s.text()
			if at := strings.LastIndex(out, "\x1b[?1049l"); way.says != "" && !strings.Contains(out[max(at, 0):], way.says) {
				t.Errorf("no %q after the screens were left: %q", way.says, out[max(at, 0):])
			}
		})
	}
}

func TestLoadingEnds(t *testing.T) {
	for _, way := range []struct {
		name, kind, keys, says string
	}{
		{"fault in load", "load fault", "", "internal fault: fault in load"},
		{"log that cannot be read", "bad log", "", "fen.csv line 1: no time column"},
		{"esc", "slow log", "\x1b", "reading stopped"},
	} {
		t.Run(way.name, func(t *testing.T) {
			s := start(t, way.kind)
			if way.keys != "" {
				s.see("Reading the demo night")
				s.press(way.keys)
			}
			if code := s.gone(); code != 3 {
				t.Errorf("exit code %d, want 3", code)
			}
			s.restored()
			if !strings.Contains(s.text(), way.says) {
				t.Errorf("no %q in %q", way.says, s.text())
			}
		})
	}
}

// A terminal that is gone must take the program with it, not leave it running.
func TestLostTerminalEndsTheProgram(t *testing.T) {
	s := start(t, "")
	s.see("Does the linac make its energy")
	s.slave.Close()
	s.master.Close()
	select {
	case <-s.ended:
	case <-time.After(2 * time.Second):
		t.Fatal("still running two seconds after the terminal was lost")
	}
}

// Where no shell waits the system ignores the stop; the screens must come back.
func TestSuspendWithoutAShellComesBack(t *testing.T) {
	s := start(t, "")
	s.see("Does the linac make its energy")
	s.press("\x1a")
	time.Sleep(time.Second)
	s.press("3")
	s.see("Which structure needs other water")
	s.press("q")
	if code := s.gone(); code != 0 {
		t.Errorf("exit code %d, want 0", code)
	}
	s.restored()
}

// Asking the terminal for its colours or its cursor would hang on terminals that
// never answer, and on others the answer arrives as typed text.
func TestNothingIsAskedOfTheTerminal(t *testing.T) {
	began := time.Now()
	s := start(t, "slow log")
	s.see("Reading the demo night")
	t.Logf("first frame after %v", time.Since(began).Round(time.Millisecond))
	s.press("q")
	s.gone()
	for name, query := range map[string]string{
		"colour": "\x1b]11;?", "foreground": "\x1b]10;?", "cursor": "\x1b[6n", "device": "\x1b[c", "version": "\x1b[>",
	} {
		if strings.Contains(s.text(), query) {
			t.Errorf("the terminal was asked for its %s", name)
		}
	}
}

// Without a screen nothing but plain text may be sent: no query at start-up, no
// switch to another screen.
func TestNoScreenSendsNoEscape(t *testing.T) {
	for _, env := range []string{"TERM=dumb", "TERM="} {
		s := start(t, "", env)
		if code := s.gone(); code != 3 {
			t.Errorf("%s: exit code %d, want 3", env, code)
		}
		time.Sleep(50 * time.Millisecond)
		out := s.text()
		if strings.Contains(out, "\x1b") {
			t.Errorf("%s: escape sent: %q", env, out)
		}
		if !strings.Contains(out, "no screens") {
			t.Errorf("%s: no plain answer: %q", env, out)
		}
	}
	piped := exec.Command(os.Args[0])
	piped.Env = append(os.Environ(), screenEnv+"=x", "TERM=xterm")
	out, _ := piped.CombinedOutput()
	if strings.Contains(string(out), "\x1b") || !strings.Contains(string(out), "standard output is not a terminal") {
		t.Errorf("into a pipe: %q", out)
	}
}

// What a key press sends is measured over a walk through all screens.
func TestKeysSendLittle(t *testing.T) {
	s := start(t, "")
	s.see("Does the linac make its energy")
	time.Sleep(300 * time.Millisecond)
	before := s.sent()
	time.Sleep(700 * time.Millisecond)
	if idle := s.sent() - before; idle != 0 {
		t.Errorf("%d bytes sent while nothing changed", idle)
	}
	walk := strings.Split("j j j w k \x1b[D \x1b[D 2 j j + \x1b[D \x1b[D 0 n n 3 w j o \x1b[D 4 j j 5 j o 6 w j 7 j j 8 j 1", " ")
	total, most, dearest := 0, 0, ""
	for _, key := range walk {
		before := s.sent()
		s.press(key)
		sent := s.sent() - before
		total += sent
		if sent > most {
			most, dearest = sent, key
		}
	}
	mean := total / len(walk)
	t.Logf("%d bytes a key on average over %d keys; most %d for %q", mean, len(walk), most, dearest)
	if mean > 4000 {
		t.Errorf("%d bytes a key on average, want under 4000", mean)
	}
	s.press("g")
	before = s.sent()
	s.press("k") // already on the first row
	if sent := s.sent() - before; sent != 0 {
		t.Errorf("%d bytes sent for a key that changes nothing", sent)
	}
}

func TestResize(t *testing.T) {
	s := start(t, "")
	s.see("Does the linac make its energy")
	for _, size := range []pty.Winsize{{Rows: 1, Cols: 1}, {Rows: 5, Cols: 20}, {Rows: 24, Cols: 80}, {Rows: 100, Cols: 300}, {Rows: 15, Cols: 60}, {Rows: 45, Cols: 140}} {
		if err := pty.Setsize(s.master, &size); err != nil {
			t.Fatal(err)
		}
		time.Sleep(60 * time.Millisecond)
	}
	s.see("after station") // of the wide table
	s.press("q")
	if code := s.gone(); code != 0 {
		t.Errorf("exit code %d, want 0", code)
	}
	s.restored()
}
