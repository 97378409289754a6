package test

import (
	"strings"
	"syscall"
	"testing"
	"time"
)

// Every way out must give the terminal back as it was, end the process, and say
// on the shell's screen why, where it was not the person's own wish.
func TestEveryWayOut(t *testing.T) {
	t.Parallel()
	path := program(t)
	for _, way := range []struct {
		name string
		out  func(l *line)
		code int
		says string
	}{
		{"q", func(l *line) { l.press("q") }, 0, ""},
		{"ctrl+c while a line is typed", func(l *line) { l.press("/q"); l.see("rows that hold: q"); l.press("\x03") }, 0, ""},
		{"ctrl+c", func(l *line) { l.press("\x03") }, 0, ""},
		{"SIGINT", func(l *line) { _ = l.process.Process.Signal(syscall.SIGINT) }, 130, "ended by signal: interrupt"},
		{"SIGTERM", func(l *line) { _ = l.process.Process.Signal(syscall.SIGTERM) }, 143, "ended by signal: terminated"},
		{"SIGHUP", func(l *line) { _ = l.process.Process.Signal(syscall.SIGHUP) }, 129, "ended by signal: hangup"},
	} {
		t.Run(way.name, func(t *testing.T) {
			l := startLine(t, path)
			l.see(firstQuestion)
			way.out(l)
			if code := l.left(); code != way.code {
				t.Errorf("exit code %d, want %d", code, way.code)
			}
			l.restored()
			l.saysAfterwards(way.says)
		})
	}
}

// The way out must be there while the night is still being read, too.
func TestWaysOutWhileReading(t *testing.T) {
	t.Parallel()
	path := program(t)
	for _, way := range []struct {
		name, keys string
		code       int
		says       string
	}{
		{"esc", "\x1b", 2, "reading stopped"},
		{"q", "q", 0, ""},
		{"ctrl+c", "\x03", 0, ""},
	} {
		t.Run(way.name, func(t *testing.T) {
			l, log := openReading(t, path)
			defer log.Close()
			l.start()
			l.see(readingWords)
			l.press(way.keys)
			if code := l.left(); code != way.code {
				t.Errorf("exit code %d, want %d", code, way.code)
			}
			l.restored()
			l.saysAfterwards(way.says)
		})
	}
}

// A terminal that is closed under the program must take it along.
func TestClosedTerminalEndsTheProgram(t *testing.T) {
	path := program(t)
	p := openPane(t)
	p.launch(path)
	p.see(firstQuestion)
	pid := p.process()
	closed := time.Now()
	p.close()
	if !eventually(patience, func() bool { return gone(pid) }) {
		t.Fatal("still running after the terminal was closed")
	}
	endsSoon(t, closed)
}

// endsSoon holds the program to two seconds for its end after the line is lost.
func endsSoon(t *testing.T, lost time.Time) {
	t.Helper()
	took := time.Since(lost)
	t.Logf("gone %v after the line was lost", took.Round(time.Millisecond))
	if took > 2*time.Second {
		t.Errorf("gone only %v after the line was lost, want within 2 s", took)
	}
}

// ctrl+z gives the terminal back to the shell; fg brings the screens back as they
// were, in the size that the terminal has then.
func TestSuspendAndResume(t *testing.T) {
	t.Parallel()
	path := program(t)
	p := openPane(t)
	before := p.modes()
	p.launch(path)
	p.see(firstQuestion)
	p.enter("3")
	p.see("Which structure needs other water")
	p.key("C-z")
	p.see("\nready>")
	p.plain()
	if during := p.modes(); during != before {
		t.Errorf("while suspended the line's settings are\n%s\nwere\n%s", during, before)
	}
	p.resize(140, 45)
	p.shell("fg")
	p.see("Which structure needs other water", "? keys")
	wholeScreen(t, p, "Which structure needs other water", 45)
	p.resize(80, 24)
	p.enter("1")
	p.see(firstQuestion)
	wholeScreen(t, p, firstQuestion, 24)
	p.key("C-z") // a second time
	p.see("\nready>")
	p.plain()
	p.shell("fg")
	p.see(firstQuestion)
	p.enter("q")
	p.see("\nready>")
	p.plain()
	if after := p.modes(); after != before {
		t.Errorf("the line's settings are\n%s\nwere\n%s", after, before)
	}
	if jobs := p.ask("jobs"); strings.TrimSpace(jobs) != "" {
		t.Errorf("left behind in the shell: %s", jobs)
	}
}

// A terminal that takes nothing any more, as on a line that hangs, must not keep
// the program from ending when it is told to.
func TestHangingTerminal(t *testing.T) {
	t.Parallel()
	path := program(t)
	l := startLine(t, path)
	l.see(firstQuestion)
	l.hang()
	defer l.goOn()
	for range 40 { // more than the terminal's buffer holds
		for _, s := range screens {
			if _, err := l.master.WriteString(s.key); err != nil {
				t.Fatal(err)
			}
			time.Sleep(5 * time.Millisecond)
		}
	}
	if err := l.process.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	l.left()
	if status, ok := l.process.ProcessState.Sys().(syscall.WaitStatus); !ok || status.Signal() != syscall.SIGTERM {
		t.Errorf("ended with %v, want by the signal", l.process.ProcessState)
	}
	l.sameModes()
}
