package tui

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/muesli/termenv"

	"dawncrest/rf/handover"
	"dawncrest/rf/review"
	"dawncrest/tui/ground"
)

func TestWaysThroughTheScreens(t *testing.T) {
	report := fixture()
	for _, way := range []struct {
		name string
		keys string
		want string // in the first line
	}{
		{"a finding", "enter", "What is wrong at S07"},
		{"from a finding to its station", "enter enter", "What does station S07"},
		{"and back twice", "enter enter esc esc", "Does the linac"},
		{"the next finding", "enter n", "What is wrong at S04"},
		{"the finding before the first is the last", "enter p", "What is wrong at S03"},
		{"a station", "/ S 0 6 enter enter", "What does station S06"},
		{"the next station", "2 n n", "What does station S03"},
		{"the worst twice", "w w enter", "What is wrong at A15"},
		{"by number", "5", "Are the compressors"},
		{"by number and back", "5 esc", "Does the linac"},
		{"round with tab", "tab tab tab tab tab tab tab tab", "Does the linac"},
		{"back with shift+tab", "shift+tab", "What does the next shift"},
		{"from water to station", "3 w enter", "What does station S05"},
		{"from trips to station", "6 w enter", "What does station S11"},
		{"keys that arrive together", "3w enter nn", "What does station S07"},
		{"help goes at any key", "? j", "Does the linac"},
		{"esc drops the filter first", "5 / S 0 7 enter esc", "Are the compressors"},
	} {
		t.Run(way.name, func(t *testing.T) {
			m := press(opened(report, Options{}, 100, 30), strings.Fields(way.keys)...)
			if first, _, _ := strings.Cut(m.View(), "\n"); !strings.HasPrefix(first, way.want) {
				t.Errorf("at %q, want %q", first, way.want)
			}
		})
	}
}

func TestFilterKeepsWhatHoldsTheWord(t *testing.T) {
	m := press(opened(fixture(), Options{}, 100, 30), "/", "W", "A", "T", "E", "R", "enter")
	frame := m.View()
	if !strings.Contains(frame, "water off tune") || strings.Contains(frame, "too many trips") {
		t.Errorf("filter on water shows:\n%s", frame)
	}
	if !strings.Contains(frame, "filter: WATER") {
		t.Error("the screen does not say that a filter is on")
	}
	if frame = press(m, "esc").View(); !strings.Contains(frame, "too many trips") {
		t.Error("esc does not drop the filter")
	}
}

func TestMarkAsSeen(t *testing.T) {
	m := press(opened(fixture(), Options{}, 100, 30), "s", "E", "J", "enter", "a", "s", "k", "e", "d", "enter")
	if len(m.data.seen) != 1 {
		t.Fatalf("%d marks, want 1", len(m.data.seen))
	}
	mark := m.data.seen[0]
	if mark.Initials != "EJ" || mark.Note != "asked" || mark.Key != handover.FindingKey(m.data.report.Findings[0]) || mark.At.IsZero() {
		t.Errorf("mark is %+v", mark)
	}
	frame := press(m, "j").View()
	if !strings.Contains(frame, "seen EJ") || !strings.Contains(frame, "S07     compressor off tune") {
		t.Errorf("the finding does not stay where it is, with its mark:\n%s", frame)
	}
	// The initials are asked once.
	m = press(m, "j", "s", "enter")
	if len(m.data.seen) != 2 || m.data.seen[1].Initials != "EJ" {
		t.Errorf("marks are %+v", m.data.seen)
	}
	if m = press(m, "s", "esc"); len(m.data.seen) != 2 {
		t.Error("esc still marks")
	}
	if detail := press(m, "g", "enter").View(); !strings.Contains(detail, "EJ at 06:20: asked") {
		t.Errorf("the finding does not tell who saw it:\n%s", detail)
	}
}

func TestNotesAndWriting(t *testing.T) {
	var forms []string
	var metas []handover.Meta
	m := opened(fixture(), Options{Initials: "EJ"}, 100, 30)
	m.source.Write = func(form string, _ *review.Report, meta handover.Meta) (string, error) {
		forms, metas = append(forms, form), append(metas, meta)
		if form == "html" {
			return "", errors.New("open handover.html: no space left on device")
		}
		return "handover." + form, nil
	}
	m = press(m, "8", "e", "S", "1", "2", "space", "o", "k", "enter", "W")
	if frame := m.View(); !strings.Contains(frame, "written to handover.md") {
		t.Errorf("no word of what was written:\n%s", frame)
	}
	if frame := press(m, "j").View(); !strings.Contains(frame, "note: S12") || !strings.Contains(frame, "1 notes, 0 marks") {
		t.Errorf("note or preview missing:\n%s", frame)
	}
	m = press(m, "f", "W")
	if frame := m.View(); !strings.Contains(frame, "not written: open handover.html: no space left on device") {
		t.Errorf("a write that went wrong is not told:\n%s", frame)
	}
	if len(forms) != 2 || forms[0] != "md" || len(metas[0].Notes) != 1 || metas[0].Author != "EJ" || !metas[0].Demo {
		t.Errorf("wrote %v with %+v", forms, metas)
	}
	if m = press(m, "x"); len(m.data.notes) != 0 {
		t.Error("the note was not dropped")
	}
}

func TestTimeWindow(t *testing.T) {
	w := wholeNight(grid{width: time.Minute, last: 720})
	for _, step := range []struct {
		name  string
		do    func(window) window
		check func(window) bool
	}{
		{"zoom holds the cursor", func(w window) window { return w.moved(-60).zoomed(0.5) }, func(w window) bool { return w.span() == 360 && w.at >= w.from && w.at < w.to }},
		{"pan stays inside", func(w window) window { return w.panned(1).panned(1).panned(1) }, func(w window) bool { return w.to == 720 && w.span() == 360 }},
		{"the window follows the cursor", func(w window) window { return w.moved(-200) }, func(w window) bool { return w.at >= w.from && w.at < w.to }},
		{"no narrower than the least", func(w window) window {
			for range 20 {
				w = w.zoomed(0.5)
			}
			return w
		}, func(w window) bool { return w.span() == narrowest }},
		{"no wider than the night", func(w window) window {
			for range 20 {
				w = w.zoomed(2)
			}
			return w
		}, func(w window) bool { return w.from == 0 && w.to == 720 }},
		{"an empty night", func(window) window { return wholeNight(grid{width: time.Minute}).moved(1).zoomed(0.5).panned(-1) }, func(w window) bool { return w.span() == 0 }},
	} {
		if w = step.do(w); !step.check(w) {
			t.Errorf("%s: window is %+v", step.name, w)
		}
	}
}

// One key has one meaning: no two bindings that can be valid at once share one.
func TestNoKeyMeansTwoThings(t *testing.T) {
	all := []key.Binding{
		keys.up, keys.down, keys.pageUp, keys.pageDown, keys.first, keys.last, keys.enter, keys.back, keys.nextPage, keys.previousPage,
		keys.nextPlace, keys.previousPlace, keys.worst, keys.filter, keys.earlier, keys.later, keys.narrower, keys.wider, keys.panBack,
		keys.panOn, keys.whole, keys.seen, keys.other, keys.note, keys.drop, keys.form, keys.write, keys.help, keys.quit, keys.suspend,
	}
	taken := map[string]string{}
	for _, binding := range append(all, keys.pages...) {
		for _, name := range binding.Keys() {
			if before, twice := taken[name]; twice {
				t.Errorf("%q means both %q and %q", name, before, binding.Help().Desc)
			}
			taken[name] = binding.Help().Desc
		}
	}
}

func TestPastedTextPressesNoKeys(t *testing.T) {
	m := opened(fixture(), Options{}, 100, 30)
	m = send(m, tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("q"), Paste: true})
	if m.err != nil || m.page != morningPage {
		t.Error("pasted text acted as keys")
	}
}

// Every look must tell all verdicts apart, and without colour the characters
// alone must.
func TestVerdictsStandApart(t *testing.T) {
	for _, m := range []marks{unicodeMarks, asciiMarks} {
		seen := map[string]bool{}
		for _, v := range []review.Verdict{review.OutOfTolerance, review.Drifting, review.InTolerance, review.NoData} {
			for _, toward := range []float64{1, -1, nan} {
				mark := m.verdict(v, toward)
				if flagged := v.Flagged(); flagged && seen[mark] {
					t.Errorf("%q stands for two things", mark)
				}
				seen[mark] = true
			}
		}
	}
	for _, profile := range []termenv.Profile{termenv.ANSI, termenv.ANSI256, termenv.TrueColor} {
		for _, g := range []ground.Ground{ground.Dark, ground.Light} {
			s := newStyles(Options{Ground: g, profile: profile})
			drawn := map[string]review.Verdict{}
			for _, v := range []review.Verdict{review.OutOfTolerance, review.Drifting, review.InTolerance, review.NoData} {
				text := s.verdict(v).Render("x")
				if other, twice := drawn[text]; twice {
					t.Errorf("profile %v on %s: %s and %s look the same", profile, g, v, other)
				}
				drawn[text] = v
			}
		}
	}
}

func TestColourDepthByEnvironment(t *testing.T) {
	for _, c := range []struct {
		env  string
		want termenv.Profile
	}{
		{"TERM=xterm-256color", termenv.ANSI256}, {"TERM=xterm-256color COLORTERM=truecolor", termenv.TrueColor},
		{"TERM=linux", termenv.ANSI}, {"TERM=xterm", termenv.ANSI}, {"TERM=screen", termenv.ANSI}, {"TERM=tmux", termenv.ANSI},
		{"TERM=screen COLORTERM=truecolor", termenv.ANSI256}, {"TERM=vt100", termenv.Ascii}, {"TERM=dumb", termenv.Ascii}, {"TERM=", termenv.Ascii},
		{"TERM=xterm-256color NO_COLOR=1", termenv.Ascii}, {"TERM=xterm CLICOLOR=0", termenv.Ascii},
	} {
		if got := profileOf(environment(c.env)); got != c.want {
			t.Errorf("%s: profile %v, want %v", c.env, got, c.want)
		}
	}
}

func TestLettersByEnvironment(t *testing.T) {
	for _, c := range []struct {
		env  string
		want bool
	}{
		{"TERM=xterm LANG=en_GB.UTF-8", false}, {"TERM=xterm LC_ALL=C LANG=en_GB.UTF-8", true}, {"TERM=xterm LC_CTYPE=C.utf8", false},
		{"TERM=xterm LANG=de_DE.ISO-8859-1", true}, {"TERM=xterm", false}, {"TERM=screen TMUX=/x", true}, {"TERM=linux LANG=en_GB.UTF-8", true},
		{"TERM=vt100", true},
	} {
		if got := onlyPlainLetters(environment(c.env)); got != c.want {
			t.Errorf("%s: only ASCII %v, want %v", c.env, got, c.want)
		}
	}
}

// environment looks names up in words of the form name=value.
func environment(words string) func(string) string {
	env := map[string]string{}
	for _, pair := range strings.Fields(words) {
		name, value, _ := strings.Cut(pair, "=")
		env[name] = value
	}
	return func(name string) string { return env[name] }
}

// A key press at 140x45: the update and the frame that follows.
func BenchmarkKeyPress(b *testing.B) {
	m := opened(fixture(), Options{}, 140, 45)
	for _, p := range []struct{ name, page string }{{"morning", "1"}, {"station", "2"}, {"water", "3"}, {"trips", "6"}, {"log", "7"}} {
		b.Run(p.name, func(b *testing.B) {
			m := press(m, p.page)
			m.look.styles = newStyles(Options{profile: termenv.ANSI256})
			down, up := keyNamed("down"), keyNamed("up")
			for b.Loop() {
				next, _ := m.Update(down)
				_ = next.View()
				m, down, up = next.(Model), up, down
			}
		})
	}
}
