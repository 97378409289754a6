package tui

import (
	"fmt"
	"math"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"pgregory.net/rapid"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

// everyKey is what a person may press.
var everyKey = strings.Split("up down left right enter esc tab shift+tab home end pgup pgdown backspace "+
	"j k h l g G n p w s o e x f W + - [ ] +++++ [[[ 0 1 2 3 4 5 6 7 8 ? / a é 漢", " ")

// overflow returns what is wrong with the size of a frame, empty where nothing
// is.
func overflow(frame string, width, height int) string {
	lines := strings.Split(frame, "\n")
	if len(lines) > height {
		return fmt.Sprintf("%d lines in a screen of %d", len(lines), height)
	}
	for i, line := range lines {
		if w := lipgloss.Width(line); w > width {
			return fmt.Sprintf("line %d is %d wide in a screen of %d: %q", i+1, w, width, line)
		}
	}
	return ""
}

// Whatever the size, the keys and the order of both: every frame fits and shows
// something.
func TestAnySizeAnyKey(t *testing.T) {
	report := fixture()
	odd := oddReport()
	rapid.Check(t, func(t *rapid.T) {
		r := report
		if rapid.Bool().Draw(t, "odd") {
			r = odd
		}
		width, height := rapid.IntRange(1, 160).Draw(t, "width"), rapid.IntRange(1, 60).Draw(t, "height")
		m := opened(r, Options{ASCII: rapid.Bool().Draw(t, "ascii")}, width, height)
		for _, name := range rapid.SliceOfN(rapid.SampledFrom(everyKey), 0, 12).Draw(t, "keys") {
			m = press(m, name)
			if rapid.IntRange(0, 4).Draw(t, "resize") == 0 {
				width, height = rapid.IntRange(1, 160).Draw(t, "width"), rapid.IntRange(1, 60).Draw(t, "height")
				m = send(m, tea.WindowSizeMsg{Width: width, Height: height})
			}
			frame := m.View()
			if wrong := overflow(frame, width, height); wrong != "" {
				t.Fatalf("after %q: %s", name, wrong)
			}
			if strings.TrimSpace(frame) == "" {
				t.Fatalf("nothing drawn at %d by %d", width, height)
			}
			if strings.ContainsAny(frame, "\x1b\x07\u202e") {
				t.Fatalf("text from the log drives the terminal: %q", frame)
			}
			if m.options.ASCII && strings.ContainsFunc(frame, func(r rune) bool { return r > '~' }) {
				t.Fatalf("letters beyond ASCII: %q", frame)
			}
		}
	})
}

// The pages themselves keep to their box: the last guard of the frame has
// nothing to cut.
func TestPagesKeepToTheirBox(t *testing.T) {
	for name, r := range map[string]*review.Report{"night": fixture(), "odd": oddReport(), "empty": {}} {
		for id := range pageCount {
			for _, size := range [][2]int{{leastWidth, leastHeight}, {80, 24}, {109, 30}, {110, 30}, {140, 45}, {200, 70}} {
				m := opened(r, Options{}, size[0], size[1])
				m.page = id
				for _, keys := range []string{"", "w", "G", "w o"} {
					m = press(m, strings.Fields(keys)...)
					if m.page != id {
						continue
					}
					body := size[1] - 1 - mostAnswer - linesBelow
					lines := m.pages[id].view(m.data, m.look, size[0], body)
					if wrong := overflow(strings.Join(lines, "\n"), size[0], body); wrong != "" {
						t.Errorf("%s, page %d at %v after %q: %s", name, id, size, keys, wrong)
					}
				}
			}
		}
	}
}

// oddReport is a night whose names and numbers try to break the columns.
func oddReport() *review.Report {
	r := fixture()
	r.Plant.Name = "漢字漢字漢字 with a name that goes on and on and on and on \x1b[2J"
	rename := map[string]string{"S07": "クライストロン七号機", "S04": "a station name of forty letters or more", "A08": "e\u0301\u0301\u0301é \u202ereversed", "S11": "\x1b]0;title\x07S11"}
	as := func(name string) string {
		if other, ok := rename[name]; ok {
			return other
		}
		return name
	}
	for i := range r.Traces {
		t := &r.Traces[i]
		t.Place = as(t.Place)
		if i%7 == 0 {
			t.Mean[3], t.Max[5], t.Reference, t.Judged = math.Inf(1), math.Inf(-1), math.Inf(1), nan
		}
		if i%11 == 0 {
			t.Mean, t.Min, t.Max, t.Settled = t.Mean[:10], nil, nil, nil
		}
	}
	for i := range r.Stations {
		s := &r.Stations[i]
		s.Station = as(s.Station)
		s.Gain = rf.Energy(1e30)
	}
	for i := range r.Structures {
		s := &r.Structures[i]
		s.Structure, s.Station, s.Loop = as(s.Structure), as(s.Station), as(s.Loop)
		s.Fit = review.WaterFit{SlopeDegPerK: nan, InterceptDeg: math.Inf(1), LaggedDegC: []float64{1, nan, math.Inf(1)}}
	}
	for i := range r.Findings {
		f := &r.Findings[i]
		f.Place, f.Station = as(f.Place), as(f.Station)
		f.Message += strings.Repeat(" 漢字 words without end", 20) + "\x1b[31m\r\n\u2028"
		f.Change = math.Inf(-1)
	}
	for i := range r.Waypoints {
		r.Waypoints[i].Waypoint = strings.Repeat("漢", 40)
		r.Waypoints[i].MarginPercent = -1e9
	}
	return r
}
