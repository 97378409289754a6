package test

import (
	"io"
	"os"
	"os/exec"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/charmbracelet/x/term"
	"github.com/creack/pty"
)

// line is the program on a pseudo-terminal that answers no question: what it
// sends is kept, with the time at which it came.
type line struct {
	t       *testing.T
	process *exec.Cmd
	master  *os.File
	slave   *os.File
	before  *term.State
	began   time.Time
	ended   chan struct{}
	read    chan struct{}

	hung sync.Mutex // held while the terminal takes nothing

	mu     sync.Mutex
	output []byte
	chunks []chunk
	mark   int // where the output since the last key press begins
}

// chunk is how far the output had come at a time.
type chunk struct {
	end int
	at  time.Time
}

// environment is what the program is told of its surroundings, and nothing else.
func environment(t testing.TB, more ...string) []string {
	env := []string{"PATH=" + os.Getenv("PATH"), "HOME=" + t.TempDir(), "LANG=C.UTF-8", "TERM=xterm-256color"}
	return append(env, more...)
}

// openLine makes the terminal, 80 by 24, and readies the program on it.
func openLine(t *testing.T, path string, args ...string) *line {
	t.Helper()
	master, slave, err := pty.Open()
	if err != nil {
		t.Skipf("no pseudo-terminal here: %v", err)
	}
	l := &line{t: t, master: master, slave: slave, ended: make(chan struct{}), read: make(chan struct{})}
	l.resize(80, 24)
	if l.before, err = term.GetState(slave.Fd()); err != nil {
		t.Fatal(err)
	}
	l.process = exec.Command(path, args...)
	l.process.Dir = t.TempDir()
	l.process.Env = environment(t)
	l.process.Stdin, l.process.Stdout, l.process.Stderr = slave, slave, slave
	l.process.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Setctty: true, Ctty: 1}
	return l
}

// startLine runs the program on a terminal of its own.
func startLine(t *testing.T, path string, args ...string) *line {
	t.Helper()
	return openLine(t, path, args...).start()
}

func (l *line) start() *line {
	l.t.Helper()
	go func() {
		defer close(l.read)
		buffer := make([]byte, 1<<16)
		for {
			n, err := l.master.Read(buffer)
			l.hung.Lock()
			l.mu.Lock()
			l.output = append(l.output, buffer[:n]...)
			l.chunks = append(l.chunks, chunk{len(l.output), time.Now()})
			l.mu.Unlock()
			l.hung.Unlock()
			if err != nil {
				return
			}
		}
	}()
	l.began = time.Now()
	if err := l.process.Start(); err != nil {
		l.t.Fatal(err)
	}
	go func() {
		_ = l.process.Wait()
		close(l.ended)
	}()
	l.t.Cleanup(func() {
		_ = l.process.Process.Kill()
		<-l.ended
		l.slave.Close()
		<-l.read // ends as nobody holds the other side any more
		l.master.Close()
	})
	return l
}

func (l *line) resize(width, height int) {
	l.t.Helper()
	if err := pty.Setsize(l.master, &pty.Winsize{Rows: uint16(height), Cols: uint16(width)}); err != nil {
		l.t.Fatal(err)
	}
}

// hang makes the terminal take nothing any more, goOn makes it take all again.
func (l *line) hang() { l.hung.Lock() }

func (l *line) goOn() { l.hung.Unlock() }

// text is all that was sent so far.
func (l *line) text() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return string(l.output)
}

func (l *line) sent() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return len(l.output)
}

// at returns when the output had reached a length.
func (l *line) at(length int) time.Time {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, c := range l.chunks {
		if c.end >= length {
			return c.at
		}
	}
	return time.Time{}
}

// press types keys.
func (l *line) press(keys string) {
	l.t.Helper()
	l.mark = l.sent()
	if _, err := io.WriteString(l.master, keys); err != nil {
		l.t.Fatal(err)
	}
}

// see waits until one of some words was sent since the last key press, and
// returns how long after the start that was.
func (l *line) see(words ...string) time.Duration {
	l.t.Helper()
	seen, looks := time.Duration(0), 0
	const last = 50 // looks once the program has ended, as its output may come later
	eventually(patience, func() bool {
		select {
		case <-l.ended:
			looks++
		default:
		}
		text := l.text()[l.mark:]
		for _, w := range words {
			if i := strings.Index(text, w); i >= 0 {
				seen = l.at(l.mark + i + len(w)).Sub(l.began)
				return true
			}
		}
		return looks > last
	})
	if seen == 0 {
		l.t.Fatalf("never saw %q; program ended: %v; saw %q", words, looks > 0, l.text()[l.mark:])
	}
	return seen
}

// settle waits until the program has said nothing for a while, and a little
// longer where it says nothing at all.
func (l *line) settle(quiet time.Duration) {
	pressed := time.Now()
	eventually(patience, func() bool {
		l.mu.Lock()
		defer l.mu.Unlock()
		if len(l.output) == l.mark {
			return time.Since(pressed) > quiet+150*time.Millisecond
		}
		return time.Since(l.chunks[len(l.chunks)-1].at) > quiet
	})
}

// left waits for the end of the program and returns its exit code.
func (l *line) left() int {
	l.t.Helper()
	select {
	case <-l.ended:
	case <-time.After(patience):
		l.t.Fatalf("still there; saw %q", l.text())
	}
	return l.process.ProcessState.ExitCode()
}

// restored checks that the terminal is as the program found it, by its modes and
// by what was sent.
func (l *line) restored() {
	l.t.Helper()
	l.sameModes()
	l.drained()
	text := l.text()
	for name, pair := range map[string][2]string{
		"alternate screen": {"\x1b[?1049h", "\x1b[?1049l"},
		"hidden cursor":    {"\x1b[?25l", "\x1b[?25h"},
		"bracketed paste":  {"\x1b[?2004h", "\x1b[?2004l"},
	} {
		if strings.LastIndex(text, pair[0]) > strings.LastIndex(text, pair[1]) {
			l.t.Errorf("%s was left on", name)
		}
	}
	for _, mouse := range []string{"\x1b[?1000h", "\x1b[?1002h", "\x1b[?1003h", "\x1b[?1006h"} {
		if strings.Contains(text, mouse) {
			l.t.Errorf("the mouse was switched on: %q", mouse)
		}
	}
}

// sameModes checks that the modes of the terminal are as the program found them.
func (l *line) sameModes() {
	l.t.Helper()
	after, err := term.GetState(l.slave.Fd())
	if err != nil {
		l.t.Fatal(err)
	}
	if *after != *l.before {
		l.t.Errorf("terminal modes are %v, were %v", *after, *l.before)
	}
}

// drained waits until all that an ended program sent has been read.
func (l *line) drained() {
	l.t.Helper()
	const end = "<end of output>"
	if _, err := io.WriteString(l.slave, end); err != nil {
		l.t.Fatal(err)
	}
	if !eventually(patience, func() bool { return strings.Contains(l.text(), end) }) {
		l.t.Fatal("the output of the program never came to its end")
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.output = l.output[:len(l.output)-len(end)]
}

// saysAfterwards checks that the program said something on the shell's screen
// after it had left its own.
func (l *line) saysAfterwards(words string) {
	l.t.Helper()
	text := l.text()
	if after := text[max(strings.LastIndex(text, "\x1b[?1049l"), 0):]; !strings.Contains(after, words) {
		l.t.Errorf("no %q after the screens were left: %q", words, after)
	}
}
