package test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
)

// pane is a shell on a real terminal, tmux, whose picture can be read.
type pane struct {
	t      *testing.T
	socket string
	dir    string // where the shell works
	raw    string // all that was sent to the terminal
	env    []string
	asked  int
}

// openPane starts a shell on a terminal of 80 by 24 of its own.
func openPane(t *testing.T, env ...string) *pane {
	t.Helper()
	if _, err := exec.LookPath("tmux"); err != nil {
		t.Skip("tmux is not installed: no terminal to look at")
	}
	short, err := os.MkdirTemp("", "dc") // the name of a socket must be short
	if err != nil {
		t.Fatal(err)
	}
	p := &pane{t: t, socket: filepath.Join(short, "s"), dir: t.TempDir(), env: environment(t, env...)}
	p.tmux("-u", "-f", os.DevNull, "new-session", "-d", "-x", "80", "-y", "24", "-c", p.dir, "exec sh -i")
	t.Cleanup(func() {
		if t.Failed() {
			t.Logf("the screen at the end:\n%s", p.screen())
		}
		p.close()
		os.RemoveAll(short)
	})
	p.raw = filepath.Join(short, "raw")
	p.tmux("pipe-pane", "-O", "cat >"+p.raw)
	p.shell("PS1='ready> '")
	p.see("\nready>")
	return p
}

// close ends the terminal as a lost line does.
func (p *pane) close() { _ = p.command("kill-server").Run() }

func (p *pane) command(args ...string) *exec.Cmd {
	command := exec.Command("tmux", append([]string{"-S", p.socket}, args...)...)
	command.Env, command.Dir = p.env, p.dir
	return command
}

func (p *pane) tmux(args ...string) string {
	p.t.Helper()
	out, err := p.command(args...).CombinedOutput()
	if err != nil {
		p.t.Fatalf("tmux %v: %v: %s", args, err, out)
	}
	return string(out)
}

// screen is what a person sees, line by line, without colours.
func (p *pane) screen() string {
	out, _ := p.command("capture-pane", "-p").Output()
	return string(out)
}

// see waits until all of some words are on the screen.
func (p *pane) see(words ...string) {
	p.t.Helper()
	if missing, ok := p.awaits(words...); !ok {
		p.t.Fatalf("never saw %q", missing)
	}
}

// awaits is see for a step that may fail.
func (p *pane) awaits(words ...string) (missing string, ok bool) {
	ok = eventually(patience, func() bool {
		screen := p.screen()
		for _, missing = range words {
			if !strings.Contains(screen, missing) {
				return false
			}
		}
		return true
	})
	return missing, ok
}

// enter types text as it is.
func (p *pane) enter(text string) {
	p.t.Helper()
	p.tmux("send-keys", "-l", "--", text)
}

// key presses one key by tmux's name of it.
func (p *pane) key(name string) {
	p.t.Helper()
	p.tmux("send-keys", name)
}

// shell has the shell run a line.
func (p *pane) shell(text string) {
	p.t.Helper()
	p.enter(text)
	p.key("Enter")
}

func (p *pane) resize(width, height int) {
	p.t.Helper()
	p.tmux("resize-window", "-x", strconv.Itoa(width), "-y", strconv.Itoa(height))
}

// sent is how many bytes the terminal was sent so far.
func (p *pane) sent() int64 {
	info, err := os.Stat(p.raw)
	if err != nil {
		return 0
	}
	return info.Size()
}

// launch has the shell run a program that writes down its process number.
func (p *pane) launch(command string) {
	p.t.Helper()
	p.shell(`sh -c 'echo $$ >pid.part; mv pid.part pid; exec ` + command + `'`)
}

// process returns the number of the program launched.
func (p *pane) process() int {
	p.t.Helper()
	var pid int
	if !eventually(patience, func() bool {
		text, err := os.ReadFile(filepath.Join(p.dir, "pid"))
		if err != nil {
			return false
		}
		pid, err = strconv.Atoi(strings.TrimSpace(string(text)))
		return err == nil
	}) {
		p.t.Fatal("the program never started")
	}
	return pid
}

// ask has the shell run a command and returns what it says.
func (p *pane) ask(command string) string {
	p.t.Helper()
	p.asked++
	name := fmt.Sprintf("answer-%d", p.asked)
	p.shell(fmt.Sprintf("%s >%s.part; mv %[2]s.part %[2]s", command, name))
	var answer []byte
	if !eventually(patience, func() bool {
		var err error
		answer, err = os.ReadFile(filepath.Join(p.dir, name))
		return err == nil
	}) {
		p.t.Fatalf("the shell never answered %s", command)
	}
	return strings.TrimSpace(string(answer))
}

// modes are the settings of the terminal's line, as the shell sees them.
func (p *pane) modes() string {
	p.t.Helper()
	return p.ask("stty -a")
}

// plain checks that the terminal shows the shell again: no alternate screen, a
// cursor, no mouse, no keypad in another mode.
func (p *pane) plain() {
	p.t.Helper()
	const want = "alternate 0 cursor 1 mouse 0 keypad 0 0"
	var got string
	if !eventually(patience, func() bool {
		got = strings.TrimSpace(p.tmux("display-message", "-p",
			"alternate #{alternate_on} cursor #{cursor_flag} mouse #{mouse_any_flag} keypad #{keypad_cursor_flag} #{keypad_flag}"))
		return got == want
	}) {
		p.t.Errorf("terminal is left with %s, want %s", got, want)
	}
}

// gone reports whether a process has ended.
func gone(pid int) bool {
	if stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid)); err == nil {
		_, state, _ := strings.Cut(string(stat), ") ")
		return strings.HasPrefix(state, "Z") // ended, though nobody has asked for it yet
	}
	return syscall.Kill(pid, 0) != nil
}
