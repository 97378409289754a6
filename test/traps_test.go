package test

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"
)

// Traps of terminals that were found by falling into them.

var (
	colourCode = regexp.MustCompile(`\x1b\[[0-9;:]*m`)
	colour256  = regexp.MustCompile(`\x1b\[[0-9;]*[34]8;5;`)
	colourTrue = regexp.MustCompile(`\x1b\[[0-9;]*[34]8;2;`)
	colour16   = regexp.MustCompile(`\x1b\[([0-9;]*;)?(3[0-7]|9[0-7])[;m]`)
)

// Without colour, styles send nothing at all: a cursor row that only a style
// shows is then invisible. A character must show it.
func TestCursorRowWithoutColour(t *testing.T) {
	t.Parallel()
	path := program(t)
	p := openPane(t, "NO_COLOR=1")
	p.launch(path)
	p.see(firstQuestion, "\n>")
	cursor := func() (line int, styled bool) {
		line = -1
		for i, text := range strings.Split(p.tmux("capture-pane", "-p", "-e"), "\n") {
			styled = styled || strings.Contains(text, "\x1b")
			if strings.HasPrefix(text, ">") {
				if line >= 0 {
					t.Errorf("two cursor rows, %d and %d", line, i)
				}
				line = i
			}
		}
		return line, styled
	}
	before, styled := cursor()
	if styled {
		t.Errorf("NO_COLOR, and yet a style on the screen:\n%s", p.tmux("capture-pane", "-p", "-e"))
	}
	p.enter("j")
	if !eventually(patience, func() bool { now, _ := cursor(); return now == before+1 }) {
		t.Errorf("the mark of the cursor row did not move down from line %d:\n%s", before+1, p.screen())
	}
	for _, s := range screens[1:7] { // the handover has no rows to stand on
		p.enter(s.key)
		p.see(s.question, "\n>")
	}
	p.enter("q")
	p.see("\nready>")
}

// A terminal gets the colours that its environment promises, and none beyond.
func TestColoursByKindOfTerminal(t *testing.T) {
	t.Parallel()
	path := program(t)
	for _, kind := range []struct {
		environment string
		want        *regexp.Regexp // that must be sent; nil: no colour and no style at all
		not         []*regexp.Regexp
	}{
		{"TERM=vt100", nil, nil},
		{"NO_COLOR=1", nil, nil},
		{"TERM=linux", colour16, []*regexp.Regexp{colour256, colourTrue}},
		{"TERM=xterm", colour16, []*regexp.Regexp{colour256, colourTrue}},
		{"TERM=screen", colour16, []*regexp.Regexp{colour256, colourTrue}},
		{"TERM=tmux-256color", colour256, []*regexp.Regexp{colourTrue}},
		{"TERM=xterm-256color", colour256, []*regexp.Regexp{colourTrue}},
		{"COLORTERM=truecolor", colourTrue, nil},
	} {
		t.Run(kind.environment, func(t *testing.T) {
			l := openLine(t, path)
			l.process.Env = append(l.process.Env, kind.environment)
			l.start()
			l.see(firstQuestion)
			l.press("q")
			l.left()
			l.restored()
			text := l.text()
			if kind.want == nil && colourCode.MatchString(text) {
				t.Errorf("a style was sent: %q", colourCode.FindString(text))
			}
			if kind.want != nil && !kind.want.MatchString(text) {
				t.Errorf("no %s was sent", kind.want)
			}
			for _, not := range kind.not {
				if not.MatchString(text) {
					t.Errorf("%q was sent", not.FindString(text))
				}
			}
		})
	}
}

// Where no screen can be drawn, the review comes as text, with a word why.
func TestReviewWithoutATerminal(t *testing.T) {
	t.Parallel()
	path := program(t)
	piped := func(t *testing.T, c *exec.Cmd) (string, string) {
		var out, errs bytes.Buffer
		c.Stdout, c.Stderr = &out, &errs
		_ = c.Run()
		return out.String(), errs.String()
	}
	onTerminal := func(environment ...string) func(t *testing.T, c *exec.Cmd) (string, string) {
		return func(t *testing.T, c *exec.Cmd) (string, string) {
			l := openLine(t, path)
			c.Env = append(c.Env, environment...)
			c.SysProcAttr, c.Stdin, c.Stdout, c.Stderr = l.process.SysProcAttr, l.slave, l.slave, l.slave
			l.process = c
			l.start()
			l.left()
			l.drained()
			return l.text(), l.text()
		}
	}
	for _, way := range []struct {
		name string
		run  func(t *testing.T, c *exec.Cmd) (out, errs string)
		says string
	}{
		{"TERM=dumb", onTerminal("TERM=dumb"), "cannot move its cursor"},
		{"TERM empty", onTerminal("TERM="), "cannot move its cursor"},
		{"TERM unset", func(t *testing.T, c *exec.Cmd) (string, string) {
			c.Env = []string{"PATH=" + os.Getenv("PATH"), "HOME=" + t.TempDir()}
			return onTerminal()(t, c)
		}, "cannot move its cursor"},
		{"into a pipe", piped, "not a terminal"},
		{"from the null device, into a pipe", func(t *testing.T, c *exec.Cmd) (string, string) {
			c.Stdin = nil
			return piped(t, c)
		}, "not a terminal"},
		{"no controlling terminal", func(t *testing.T, c *exec.Cmd) (string, string) {
			l := openLine(t, path)
			c.SysProcAttr = &syscall.SysProcAttr{Setsid: true}
			c.Stdin, c.Stdout, c.Stderr = nil, l.slave, l.slave
			l.process = c
			l.start()
			l.left()
			l.drained()
			return l.text(), l.text()
		}, "no terminal to read keys from"},
		{"as cron does it", func(t *testing.T, c *exec.Cmd) (string, string) {
			c.Env = []string{"PATH=/usr/bin:/bin", "SHELL=/bin/sh", "HOME=" + t.TempDir(), "LOGNAME=operator"}
			c.SysProcAttr = &syscall.SysProcAttr{Setsid: true}
			return piped(t, c)
		}, "no screens"},
	} {
		t.Run(way.name, func(t *testing.T) {
			c := exec.Command(path)
			c.Dir, c.Env = t.TempDir(), environment(t)
			out, errs := way.run(t, c)
			if code := c.ProcessState.ExitCode(); code != 0 {
				t.Errorf("exit code %d, want 0", code)
			}
			if strings.Contains(out+errs, "\x1b") {
				t.Errorf("an escape was sent: %q", out+errs)
			}
			if !strings.Contains(errs, way.says) || !strings.Contains(errs, "the review as text follows") {
				t.Errorf("no %q in %q", way.says, errs)
			}
			for _, part := range []string{"Harrow Fen", "makes its energy", "S04"} {
				if !strings.Contains(out, part) {
					t.Errorf("the text lacks %q:\n%s", part, out)
				}
			}
		})
	}
}

// A locale without UTF-8 gets ASCII letters alone, on every screen.
func TestLettersOfTheLocale(t *testing.T) {
	t.Parallel()
	path := program(t)
	for _, c := range []struct {
		name, environment, option string
		plain                     bool
	}{
		{"LANG=C", "LANG=C", "", true},
		{"LC_ALL before LANG", "LC_ALL=POSIX", "", true},
		{"a locale of eight bits", "LC_CTYPE=de_AT.ISO-8859-1", "", true},
		{"the console of Linux", "TERM=linux", "", true},
		{"--ascii", "LANG=C.UTF-8", "--ascii", true},
		{"UTF-8", "LANG=en_GB.UTF-8", "", false},
		{"nothing said", "LANG=", "", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			l := openLine(t, path, strings.Fields(c.option)...)
			l.process.Env = append(l.process.Env, c.environment)
			l.start()
			l.see(firstQuestion)
			for _, s := range screens[1:] {
				l.press(s.key)
				l.see(s.question)
			}
			l.press("?")
			l.see("Any key goes back")
			l.press("?")
			l.press("q")
			l.left()
			l.restored()
			text := l.text()
			beyond := strings.IndexFunc(text, func(r rune) bool { return r > 0x7e })
			if c.plain && beyond >= 0 {
				t.Errorf("not ASCII: %q", text[beyond:min(beyond+30, len(text))])
			}
			if !c.plain && beyond < 0 {
				t.Error("no letter beyond ASCII, and yet UTF-8 is there")
			}
		})
	}
}

// Names in a log may hold what drives a terminal: titles, colours, resets, the
// mouse. None of it may come out, on no screen and in no text.
func TestNamesFromALogDriveNothing(t *testing.T) {
	t.Parallel()
	path := program(t)
	hostile := []string{"\x1b]0;taken\x07", "\x1bc", "\x1b[?1003h", "\x1b[31;47m", "\u009b35m", "\x1b]52;c;dGFrZW4=\x07", "\x1bP1$r\x1b\\"}
	folder := t.TempDir()
	log := filepath.Join(folder, "night\x1b]0;taken\x07.csv")
	var text strings.Builder
	text.WriteString("time")
	for i, bad := range hostile {
		fmt.Fprintf(&text, ",S%02d%s forward_power [MW],%s", i, bad, bad)
	}
	text.WriteString("\n")
	began := time.Date(2026, 3, 2, 20, 0, 0, 0, time.UTC)
	for minute := range 180 {
		text.WriteString(began.Add(time.Duration(minute) * time.Minute).Format(time.RFC3339))
		for i, bad := range hostile {
			fmt.Fprintf(&text, ",%d.%d,%s", 30+i, minute%7, bad)
		}
		text.WriteString("\n")
	}
	text.WriteString("\x1b]0;taken\x07,\x1bc\n")
	if err := os.WriteFile(log, []byte(text.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	drives := func(t *testing.T, text string) {
		t.Helper()
		for _, bad := range append(hostile, "\x07", "\u009b") {
			if at := strings.Index(text, bad); at >= 0 {
				t.Errorf("%q came through: %q", bad, text[max(at-20, 0):min(at+20, len(text))])
			}
		}
	}
	for _, command := range []string{"check", "columns", "handover", "handover --format text", "handover --format html", "review"} {
		t.Run(command, func(t *testing.T) {
			c := exec.Command(path, append(strings.Fields(command), log)...)
			c.Env = environment(t)
			out, _ := c.CombinedOutput()
			if !strings.Contains(string(out), "S00") && command != "check" {
				t.Errorf("the log was not read: %s", out)
			}
			drives(t, string(out))
			if strings.Contains(string(out), "\x1b") {
				t.Errorf("an escape came through: %q", out)
			}
		})
	}
	t.Run("screens", func(t *testing.T) {
		l := startLine(t, path, "review", log)
		l.see("? keys")
		for _, s := range screens {
			l.press(s.key)
			l.settle(60 * time.Millisecond)
		}
		l.press("q")
		if code := l.left(); code != 0 {
			t.Errorf("exit code %d, want 0", code)
		}
		l.restored()
		drives(t, l.text())
	})
}
