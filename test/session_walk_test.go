package test

import (
	"compress/gzip"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// firstQuestion begins the first screen.
const firstQuestion = "Does the linac make its energy"

// screens are the keys that lead to each screen, and the question each begins
// with.
var screens = []struct{ key, question string }{
	{"1", firstQuestion},
	{"2", "What does station "},
	{"3", "Which structure needs other water"},
	{"4", "Who makes the energy"},
	{"5", "Are the compressors on tune"},
	{"6", "What tripped, how often"},
	{"7", "Can this log be trusted"},
	{"8", "What does the next shift need to know"},
}

// TestSession walks through the built program as a person would: every screen,
// other sizes, a finding marked as seen, a note, the handover written, and out.
func TestSession(t *testing.T) {
	t.Parallel()
	path := program(t)
	p := openPane(t)
	before := p.modes()
	p.shell("echo said before")
	p.launch(path)
	p.see(firstQuestion)
	pid := p.process()

	walkScreens(t, p)
	resizes(p)
	closeUp(p)
	written := handOver(t, p)
	redrawn(t, p)

	p.enter("q")
	p.see("said before", "ready>")
	p.plain()
	if strings.Contains(p.screen(), firstQuestion) {
		t.Error("the screens are still there after leaving")
	}
	if code := p.ask("echo $?"); code != "0" {
		t.Errorf("exit code %s, want 0", code)
	}
	if after := p.modes(); after != before {
		t.Errorf("the line's settings are\n%s\nwere\n%s", after, before)
	}
	if !gone(pid) {
		t.Error("the program is still running")
	}
	wholeHandover(t, written)
}

// closeUp makes the time window shorter until the log is read again for it, and
// longer again.
func closeUp(p *pane) {
	for _, name := range []string{"2", "+", "+", "+", "+", "+", "+"} {
		p.key(name)
	}
	p.see(" over 30s  ")
	p.key("+")
	p.see("06:30:30")
	p.key("0")
	p.see("18:30-06:31")
	p.key("1")
	p.see(firstQuestion)
}

// Any size must be drawn, while reading and after: sizes come in the oddest ways
// while a window is moved about.
func TestAnySize(t *testing.T) {
	t.Parallel()
	path := program(t)
	sizes := [][2]int{{1, 1}, {20, 5}, {80, 24}, {300, 100}, {76, 1}, {1, 24}, {60, 15}, {80, 24}}
	l, log := openReading(t, path)
	l.start()
	l.see(readingWords)
	for _, size := range sizes {
		l.mark = l.sent()
		l.resize(size[0], size[1])
		l.settle(60 * time.Millisecond)
	}
	packed, err := os.Open(demoFolder(t).log)
	if err != nil {
		t.Fatal(err)
	}
	defer packed.Close()
	night, err := gzip.NewReader(packed)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := io.Copy(log, night); err != nil {
		t.Fatal(err)
	}
	log.Close()
	l.see(firstQuestion)
	for _, s := range screens {
		l.press(s.key)
		l.settle(60 * time.Millisecond)
		for _, size := range sizes {
			l.mark = l.sent()
			l.resize(size[0], size[1])
			l.settle(30 * time.Millisecond)
		}
		l.see(s.question)
	}
	l.press("q")
	if code := l.left(); code != 0 {
		t.Errorf("exit code %d, want 0: %q", code, l.text()[l.mark:])
	}
	l.restored()
}

// walkScreens visits every screen by its key, by tab and by going in, and checks
// that each is whole: question above, keys below, nothing that is no number.
func walkScreens(t *testing.T, p *pane) {
	t.Helper()
	for _, s := range screens {
		p.enter(s.key)
		p.see(s.question, "? keys")
		wholeScreen(t, p, s.question, 24)
	}
	for _, s := range screens {
		p.key("Tab")
		p.see(s.question)
	}
	p.enter("1")
	p.see(firstQuestion)
	p.key("Enter")
	p.see("What is wrong at ")
	wholeScreen(t, p, "What is wrong at ", 24)
	p.key("Enter")
	p.see("What does station ")
	p.key("Escape")
	p.see("What is wrong at ")
	p.key("Escape")
	p.see(firstQuestion)
	p.enter("?")
	p.see("Any key goes back")
	p.enter("?")
	p.see(firstQuestion)
	p.enter("/S07")
	p.see("rows that hold: S07")
	p.key("Enter")
	p.see("filter: S07")
	p.key("Escape")
	p.see("S01")
}

// wholeScreen checks the picture on the terminal.
func wholeScreen(t *testing.T, p *pane, question string, height int) {
	t.Helper()
	screen := p.screen()
	lines := strings.Split(strings.TrimSuffix(screen, "\n"), "\n")
	if len(lines) != height || !strings.HasPrefix(lines[0], question) || !strings.Contains(lines[height-1], "? keys") {
		t.Errorf("%s: want the question on line 1 and the keys on line %d:\n%s", question, height, screen)
	}
	for _, bad := range []string{"NaN", "Inf", "%!", "0001-01-01", "<nil>"} {
		if strings.Contains(screen, bad) {
			t.Errorf("%s: %q on the screen:\n%s", question, bad, screen)
		}
	}
}

// resizes makes the terminal large, too small, and as it was.
func resizes(p *pane) {
	p.t.Helper()
	p.enter("1")
	p.see(firstQuestion)
	p.resize(140, 45)
	p.see(firstQuestion, "after station") // a column that the small table has no room for
	wholeScreen(p.t, p, firstQuestion, 45)
	p.resize(60, 15)
	p.see("dawncrest needs", "60 and 15")
	p.resize(80, 24)
	p.see(firstQuestion, "? keys")
	wholeScreen(p.t, p, firstQuestion, 24)
}

// handOver marks the first finding as seen, notes something, writes the handover
// and returns its file.
func handOver(t *testing.T, p *pane) string {
	t.Helper()
	p.enter("1g")
	p.see(firstQuestion)
	p.enter("s")
	p.see("seen by (initials):")
	p.enter("EJ")
	p.key("Enter")
	p.see("seen by EJ, note:")
	p.enter("told the water group")
	p.key("Enter")
	p.see("marked as seen by EJ")

	p.enter("8e")
	p.see("note for the next shift:")
	p.enter("klystron gallery door was open")
	p.key("Enter")
	p.see("note: klystron gallery door was open", "1 seen; 1 note of this shift")
	p.enter("W")
	p.see("written to ")
	found, err := filepath.Glob(filepath.Join(p.dir, "handover-*.md"))
	if err != nil || len(found) != 1 {
		t.Fatalf("handovers in the working folder: %v, %v; want one", found, err)
	}
	return found[0]
}

// wholeHandover checks a handover that was written from the screens, from its
// first to its last part, and that nothing half written is beside it.
func wholeHandover(t *testing.T, path string) {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(string(text), "# Handover of Harrow Fen") || !strings.HasSuffix(string(text), "\n") {
		t.Errorf("the handover is not whole:\n%s", text)
	}
	for _, part := range []string{"klystron gallery door was open", "EJ", "told the water group", "## Cautions"} {
		if !strings.Contains(string(text), part) {
			t.Errorf("the handover lacks %q", part)
		}
	}
	entries, err := os.ReadDir(filepath.Dir(path))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if strings.HasSuffix(e.Name(), ".part") {
			t.Errorf("%s was left behind", e.Name())
		}
	}
}

// redrawn checks that each screen as it came about line by line, after some
// moves, is the one that is drawn anew: only changed lines are sent, and none
// may be forgotten.
func redrawn(t *testing.T, p *pane) {
	t.Helper()
	const most = 1000 // bytes; more than one move sends, less than a screen
	for _, s := range screens {
		p.enter(s.key)
		p.see(s.question)
		for _, key := range []string{"Down", "Down", "Left", "Left", "+", "Up"} {
			p.key(key)
		}
		grown := steady(p)
		for _, width := range []int{81, 80} {
			sent := p.sent()
			p.resize(width, 24)
			if !eventually(patience, func() bool { return p.sent() > sent+most }) {
				t.Fatalf("%s: not drawn anew", s.question)
			}
		}
		eventually(patience, func() bool { return p.screen() == grown })
		if anew := steady(p); anew != grown {
			t.Errorf("%s: drawn anew it is\n%s\nwas\n%s", s.question, anew, grown)
		}
		p.enter("0")
	}
}

// steady waits until the picture stays as it is.
func steady(p *pane) string {
	last, same := "", 0
	eventually(patience, func() bool {
		now := p.screen()
		if now == last {
			same++
		} else {
			last, same = now, 0
		}
		return same >= 8
	})
	return last
}
