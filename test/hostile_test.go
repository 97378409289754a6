package test

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode"
)

// Text that a log, a plant, a file name or a note may bring along to take a
// terminal, a web page or a Markdown reader for itself.
const (
	hostileTitle  = "\x1b]0;taken\x07"
	hostileColour = "\x1b[31m"
	hostileC1     = "\u009b5m\u009d0;taken\u009c"
	hostileBidi   = "\u202egnp\u2066"
	hostileScript = "<script>alert(1)</script>"
	hostileImage  = "<img src=x onerror=alert(1)>"
	hostileLink   = "[x](javascript:alert(1))"
	hostileText   = hostileTitle + hostileColour + hostileC1 + hostileBidi
)

// outcome is what a run of the program left behind.
type outcome struct {
	code      int
	out, errs string
	peakMB    int // resident
}

// runWith runs the program with something on its standard input.
func runWith(t *testing.T, in io.Reader, args ...string) outcome {
	t.Helper()
	var out, errs strings.Builder
	run := exec.Command(program(t), args...)
	run.Dir, run.Env = t.TempDir(), environment(t)
	run.Stdin, run.Stdout, run.Stderr = in, &out, &errs
	if err := run.Start(); err != nil {
		t.Fatal(err)
	}
	peak := watchPeak(run.Process.Pid)
	_ = run.Wait() // its exit code tells
	return outcome{run.ProcessState.ExitCode(), out.String(), errs.String(), peak()}
}

// unfit returns the first character that must not reach a reader.
func unfit(text string) (rune, bool) {
	for _, r := range text {
		if r != '\n' && r != '\t' && (unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r)) || r == unicode.ReplacementChar {
			return r, true
		}
	}
	return 0, false
}

// hostileNight is a log in whose name, headings and values stands hostile text.
func hostileNight(t *testing.T) (path string) {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "lo"+hostileText+"gs"+hostileImage)
	if err := os.Mkdir(dir, 0o777); err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	fmt.Fprintf(&b, "time,S01%s forward_power [MW],%s forward_power [MW],%s beam_voltage [kV],a|b*c* body_temperature [degC],%s trip,S02 reflected_power [%szz]\n",
		hostileText, hostileScript, hostileLink, hostileImage, hostileColour)
	for minute := range 480 {
		power, voltage := "38", "268"
		if minute > 300 {
			power, voltage = "30", "200"
		}
		if minute%50 == 49 {
			power = hostileText + hostileScript
		}
		fmt.Fprintf(&b, "2026-01-01T%02d:%02d:00Z,%s,38.%d,%s,30,%s,1\n", minute/60, minute%60, power, minute%3, voltage, hostileText+"0")
	}
	path = filepath.Join(dir, "night"+hostileText+".csv")
	if err := os.WriteFile(path, []byte(b.String()), 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

var rawMarkup = regexp.MustCompile(`(?i)<\s*(script|img)\b`)

// rawMarkdown is markup, or a link, without the backslash that takes its meaning.
var rawMarkdown = regexp.MustCompile(`(^|[^\\])(<(script|img)|\[x\]\()`)

// Nothing of a log, a name or a note reaches a terminal, a web page, a Markdown
// reader or a parser of JSON with a meaning of its own.
func TestHostileTextIsShownAsText(t *testing.T) {
	t.Parallel()
	log := hostileNight(t)
	book := filepath.Join(t.TempDir(), "book"+hostileText)
	note := []string{"--by", hostileText + hostileScript, "--note", hostileText + hostileLink + hostileImage}
	span := []string{"--reference", "2026-01-01T00:00..2026-01-01T01:00"}
	for _, c := range []struct {
		name string
		args []string
		code int
	}{
		{"check", append(span, "check", log), 1},
		{"check json", append(span, "check", "--format", "json", log), 1},
		{"review without a screen", append(span, "review", log), 0},
		{"columns", []string{"columns", log}, 0},
		{"columns json", []string{"columns", "--format", "json", log}, 0},
		{"handover md", append(append(note, span...), "handover", log), 0},
		{"handover html", append(append(note, span...), "handover", "--format", "html", log), 0},
		{"handover text", append(append(note, span...), "handover", "--format", "text", log), 0},
		{"handover json", append(append(note, span...), "handover", "--format", "json", log), 0},
		{"book", append(append(note, span...), "handover", "--accept", "--book", book, log), 0},
		{"book again", append(append(note, span...), "handover", "--book", book, log), 0},
		{"shift", []string{"handover", "--shift", hostileText, "--book", book, log}, 2},
		{"shift with a path", []string{"handover", "--shift", "../../x", "--book", book, log}, 2},
		{"missing log", []string{"check", "a" + hostileText + ".csv"}, 2},
		{"missing reference", []string{"check", "--reference", "a" + hostileText, log}, 2},
		{"missing plant", []string{"check", "--plant", "a" + hostileText, log}, 2},
		{"time", []string{"check", "--from", hostileText, log}, 2},
		{"zone", []string{"check", "--zone", hostileText, log}, 2},
		{"limit", []string{"check", "--limit", hostileText, log}, 2},
		{"out", []string{"check", "--out", "no/such" + hostileText, log}, 2},
		{"command", []string{"che" + hostileText}, 2},
		{"option", []string{"check", "--" + hostileText}, 2},
		{"draft", []string{"plant", "--new", "draft" + hostileText, "--from", log}, 0},
		{"plant", []string{"plant", "draft" + hostileText}, 2},
		{"demo", []string{"demo", filepath.Dir(log)}, 2},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := runWith(t, nil, reordered(c.args)...)
			if got.code != c.code {
				t.Errorf("exit code %d, want %d: %.300q", got.code, c.code, got.errs)
			}
			for stream, text := range map[string]string{"standard output": got.out, "standard error": got.errs} {
				if r, found := unfit(text); found {
					at := strings.IndexRune(text, r)
					t.Errorf("%U on %s: %q", r, stream, text[max(0, at-60):min(at+40, len(text))])
				}
			}
			switch {
			case strings.HasSuffix(c.name, "json"):
				if !json.Valid([]byte(got.out)) {
					t.Error("no JSON")
				}
			case strings.HasSuffix(c.name, "html"):
				if found := rawMarkup.FindString(got.out); found != "" {
					t.Errorf("%s in the page", found)
				}
			case strings.HasSuffix(c.name, "md"):
				if found := rawMarkdown.FindString(got.out); found != "" {
					t.Errorf("%s in the Markdown", found)
				}
			}
		})
	}
	for _, path := range filesOf(t, book) {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if r, found := unfit(string(text)); found {
			t.Errorf("%U in %q", r, path)
		}
		if r, found := unfit(filepath.Base(path)); found {
			t.Errorf("%U in the name %q", r, path)
		}
	}
}

// reordered puts the command before its options.
func reordered(args []string) []string {
	for i, arg := range args {
		switch arg {
		case "check", "review", "handover":
			return append(append([]string{arg}, args[:i]...), args[i+1:]...)
		}
	}
	return args
}

func filesOf(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	if len(entries) == 0 {
		t.Fatalf("nothing in %q", dir)
	}
	paths := make([]string, len(entries))
	for i, entry := range entries {
		paths[i] = filepath.Join(dir, entry.Name())
	}
	return paths
}

// On the screens the codes of the program itself are many; none of the log's is
// among them.
func TestHostileTextOnTheScreens(t *testing.T) {
	t.Parallel()
	l := startLine(t, program(t), "review", hostileNight(t))
	l.see("taken", "S01", "flagged", "2 of", "no waypoint")
	for _, page := range "23456123456" {
		l.press(string(page))
		l.settle(120 * time.Millisecond)
		l.press("\r")
		l.settle(120 * time.Millisecond)
		l.press("\x1b")
		l.settle(120 * time.Millisecond)
	}
	l.press("q")
	l.settle(120 * time.Millisecond)
	_ = l.process.Process.Kill()
	<-l.ended
	text := l.text()
	for _, code := range []string{"\x1b]0;taken", "\u009b", "\u009d", "\u202e", "\u2066"} {
		if at := strings.Index(text, code); at >= 0 {
			t.Errorf("%q was sent: %q", code, text[max(0, at-60):min(at+40, len(text))])
		}
	}
}
