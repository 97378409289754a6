package tui

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
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
	m := New(Source{Title: "the demo night", Demo: true, Forms: []string{"md", "html"}, Preview: func(r *review.Report, meta handover.Meta) string {
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
	lines := strings.Split(frame, "\n")
	if len(lines) > height {
		t.Errorf("%d lines in a screen of %d", len(lines), height)
	}
	for i, line := range lines {
		if w := lipgloss.Width(line); w > width {
			t.Errorf("line %d is %d wide in a screen of %d: %q", i+1, w, width, line)
		}
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
