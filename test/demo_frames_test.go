package test

import (
	"context"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/muesli/termenv"

	"dawncrest/ingest"
	"dawncrest/rf/handover"
	"dawncrest/rf/review"
	"dawncrest/sampledata"
	"dawncrest/tui"
)

var update = flag.Bool("update", false, "write golden files, and the README's picture, anew")

// demoReport is the review of the built-in night.
func demoReport(ctx context.Context) (*review.Report, error) {
	folder, err := ingest.OpenPlantFS(sampledata.PlantFS(), "demo plant")
	if err != nil {
		return nil, err
	}
	inputs := []ingest.Input{ingest.Memory(sampledata.NightName, sampledata.NightGz())}
	night, err := ingest.Read(ctx, inputs, ingest.Options{Plant: folder.Plant, Columns: folder.Columns})
	if err != nil {
		return nil, err
	}
	return review.Review(folder.Plant, night, review.Options{}), nil
}

// TestDemoFrames holds every screen of the demo night, without colour, to its
// golden frame at both sizes.
func TestDemoFrames(t *testing.T) {
	lipgloss.SetColorProfile(termenv.Ascii)
	screens := map[string][]string{
		"1-morning": nil, "2-station": {"2"}, "3-water": {"3"}, "4-energy": {"4"}, "5-compressors": {"5"},
		"6-trips": {"6"}, "7-log": {"7"}, "8-handover": {"8"}, "finding": {"enter"}, "help": {"?"},
	}
	for _, size := range []struct{ width, height int }{{80, 24}, {140, 45}} {
		for name, keys := range screens {
			screen := name + "-" + map[int]string{80: "80x24", 140: "140x45"}[size.width]
			t.Run(screen, func(t *testing.T) {
				m := tui.New(tui.Source{
					Title: "the demo night", Demo: true, Forms: []string{"md", "html"},
					Load: func(ctx context.Context, _ func(tui.Progress)) (*review.Report, error) { return demoReport(ctx) },
					Preview: func(r *review.Report, meta handover.Meta) string {
						var b strings.Builder
						meta.Written, meta.Version = r.To.Add(10*time.Minute), "golden"
						if err := handover.Text(&b, r, meta, handover.History{}); err != nil {
							t.Fatal(err)
						}
						return b.String()
					},
				}, tui.Options{NoColor: true, Now: func() time.Time { return time.Date(2026, 2, 18, 6, 45, 0, 0, time.UTC) }})
				frame := driven(m, size.width, size.height, keys)
				lines := strings.Split(frame, "\n")
				if len(lines) > size.height {
					t.Errorf("%d lines, there are %d", len(lines), size.height)
				}
				for i, line := range lines {
					if w := lipgloss.Width(line); w > size.width {
						t.Errorf("line %d is %d wide, there are %d", i+1, w, size.width)
					}
				}
				golden(t, filepath.Join("testdata", "TestDemoFrames", screen+".golden"), frame)
			})
		}
	}
}

// driven loads a model, presses keys and returns the frame.
func driven(m tea.Model, width, height int, keys []string) string {
	m = said(m, tea.WindowSizeMsg{Width: width, Height: height})
	m = done(m, m.Init())
	for _, k := range keys {
		msg := tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(k)}
		if k == "enter" {
			msg = tea.KeyMsg{Type: tea.KeyEnter}
		}
		m = said(m, msg)
	}
	return m.View()
}

// said hands a message to a model, and then what its commands say.
func said(m tea.Model, msg tea.Msg) tea.Model {
	m, cmd := m.Update(msg)
	return done(m, cmd)
}

func done(m tea.Model, cmd tea.Cmd) tea.Model {
	if cmd == nil {
		return m
	}
	switch msg := cmd().(type) {
	case nil, tea.QuitMsg:
		return m
	case tea.BatchMsg:
		for _, c := range msg {
			m = done(m, c)
		}
		return m
	default:
		return said(m, msg)
	}
}

// golden compares a text with the one on file.
func golden(t *testing.T, path, got string) {
	t.Helper()
	if *update {
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s differs; look at it with -update and git diff. Got:\n%s", path, got)
	}
}
