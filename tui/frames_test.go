package tui

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/muesli/termenv"

	"dawncrest/rf/handover"
	"dawncrest/rf/review"
)

var update = flag.Bool("update", false, "write the frames anew")

func TestMain(m *testing.M) {
	if kind, asked := os.LookupEnv(screenEnv); asked {
		showScreen(kind)
	}
	lipgloss.SetColorProfile(termenv.Ascii)
	flag.Parse()
	os.Exit(m.Run())
}

// opened returns the screens with a report in them, without a terminal.
func opened(r *review.Report, o Options, width, height int) Model {
	o.profile = termenv.Ascii
	if o.Now == nil {
		o.Now = func() time.Time { return fixtureAt(fixtureCells + 20) }
	}
	m := New(Source{Title: "the demo night", Demo: true, CloseUp: closeUpOf(r), Forms: []string{"md", "html"}, Preview: func(r *review.Report, meta handover.Meta) string {
		return fmt.Sprintf("Handover of %s\n\n%d notes, %d marks\n", r.Plant.Name, len(meta.Notes), len(meta.Seen))
	}}, o)
	m = send(m, tea.WindowSizeMsg{Width: width, Height: height})
	return send(m, nightLoadedMsg{report: r, places: sortPlaces(r)})
}

// send hands a message to the model and then what its commands say, as the
// library would.
func send(m Model, msg tea.Msg) Model {
	next, cmd := m.Update(msg)
	m = next.(Model)
	if cmd == nil {
		return m
	}
	switch fact := cmd().(type) {
	case nil, tea.QuitMsg, progressedMsg:
	case tea.BatchMsg:
		for _, cmd := range fact {
			m = send(m, cmd())
		}
	default:
		return send(m, fact)
	}
	return m
}

// press presses keys by their names.
func press(m Model, names ...string) Model {
	for _, name := range names {
		m = send(m, keyNamed(name))
	}
	return m
}

func keyNamed(name string) tea.KeyMsg {
	for _, t := range []tea.KeyType{
		tea.KeyEnter, tea.KeyEsc, tea.KeyTab, tea.KeyShiftTab, tea.KeyUp, tea.KeyDown, tea.KeyLeft, tea.KeyRight,
		tea.KeyHome, tea.KeyEnd, tea.KeyPgUp, tea.KeyPgDown, tea.KeyCtrlC, tea.KeyCtrlZ, tea.KeyBackspace,
	} {
		if t.String() == name {
			return tea.KeyMsg{Type: t}
		}
	}
	return tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(name)}
}

// checkFrame compares a frame with the one on file and looks for overflow.
func checkFrame(t *testing.T, frame string, width, height int) {
	t.Helper()
	if wrong := overflow(frame, width, height); wrong != "" {
		t.Error(wrong)
	}
	path := filepath.Join("testdata", filepath.FromSlash(t.Name())+".golden")
	if *update {
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(frame+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got := frame + "\n"; got != string(want) {
		t.Errorf("frame differs from %s; now:\n%s", path, got)
	}
}

// Sizes below the least say what the screens need.
func TestSmallFrames(t *testing.T) {
	for _, size := range [][2]int{{60, 15}, {20, 5}, {5, 2}} {
		t.Run(fmt.Sprintf("%dx%d", size[0], size[1]), func(t *testing.T) {
			checkFrame(t, opened(fixture(), Options{}, size[0], size[1]).View(), size[0], size[1])
		})
	}
}

// Terminals without UTF-8, a linac that is longer than the screen, and reading
// that goes on.
func TestOtherFrames(t *testing.T) {
	long := fixture()
	for _, s := range fixture().Stations {
		s.Station = "T" + s.Station[1:]
		long.Stations = append(long.Stations, s)
	}
	ascii := opened(fixture(), Options{ASCII: true}, 80, 24)
	reading := New(Source{Title: "fen-2025-11-23.csv"}, Options{profile: termenv.Ascii})
	reading = send(reading, tea.WindowSizeMsg{Width: 80, Height: 24})
	for k := range 5 {
		reading.loading.feed.put(Progress{File: "fen-2025-11-23.csv", Bytes: int64(k) << 24, TotalBytes: 190e6, Rows: int64(k) * 3700})
		reading = send(reading, progressedMsg{fixtureAt(0).Add(time.Duration(k) * watchEvery)})
	}
	seen := opened(fixture(), Options{Initials: "EJ"}, 80, 24)
	for name, m := range map[string]Model{
		"ascii-morning":    ascii,
		"ascii-station":    press(ascii, "w", "enter", "enter", "w"),
		"ascii-water":      press(ascii, "3", "w"),
		"twenty-four":      opened(long, Options{}, 80, 24),
		"twenty-four-down": press(opened(long, Options{}, 80, 24), "end"),
		"reading":          reading,
		"seen":             press(seen, "s", "o", "k", "enter", "j"),
		"typing":           press(seen, "/", "S", "0"),
		"zoomed":           press(seen, "enter", "left", "left", "left", "left", "left", "left", "+", "+", "+"),
	} {
		t.Run(name, func(t *testing.T) { checkFrame(t, m.View(), 80, 24) })
	}
}

func TestFrames(t *testing.T) {
	report := fixture()
	for _, screen := range []struct {
		name string
		keys []string
	}{
		{"morning", nil},
		{"station", []string{"w", "enter", "2"}},
		{"finding", []string{"enter"}},
		{"water", []string{"3", "w"}},
		{"water-night", []string{"3", "w", "o"}},
		{"energy", []string{"4", "w"}},
		{"compressors", []string{"5", "w"}},
		{"trips", []string{"6", "w"}},
		{"log", []string{"7"}},
		{"handover", []string{"8"}},
		{"help", []string{"?"}},
	} {
		for _, size := range []struct {
			name          string
			width, height int
		}{{"80x24", 80, 24}, {"140x45", 140, 45}} {
			t.Run(screen.name+"-"+size.name, func(t *testing.T) {
				m := press(opened(report, Options{}, size.width, size.height), screen.keys...)
				checkFrame(t, m.View(), size.width, size.height)
			})
		}
	}
}
