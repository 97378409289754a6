package handover

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

func TestTables(t *testing.T) {
	for _, table := range Tables(busyNight()) {
		golden(t, "busy-"+table.Name, written(t, func(b *bytes.Buffer) error { return table.WriteCSV(b) }))
	}
}

func TestTextInATableIsNoFormula(t *testing.T) {
	r := busyNight()
	for _, start := range []string{"=", "+", "-", "@", "\t=", "\r=", " =", "＝", "；x;="} {
		evil := start + `cmd|' /C calc'!A0`
		r.Findings[0].Place, r.Findings[0].Advice, r.Stations[0].Station = evil, evil, evil
		for _, table := range Tables(r) {
			for _, cell := range cellsOf(t, table) {
				if _, err := strconv.ParseFloat(cell, 64); err == nil {
					continue // a number
				}
				for _, piece := range strings.Split(cell, ";") {
					if strings.ContainsRune("=+-@\t\r＝＋－＠", []rune(strings.TrimLeft(piece, " ") + " ")[0]) {
						t.Errorf("%q in %s begins a formula", cell, table.Name)
					}
				}
			}
		}
	}
}

func TestNegativeNumberInATableStaysANumber(t *testing.T) {
	r := busyNight()
	for _, table := range Tables(r) {
		if table.Name != "structures.csv" {
			continue
		}
		cells := cellsOf(t, table)
		found := false
		for _, cell := range cells {
			found = found || cell == "-31.4"
		}
		if !found {
			t.Errorf("detuning -31.4 is not in %q", cells)
		}
	}
}

func cellsOf(t *testing.T, table Table) []string {
	t.Helper()
	rows, err := csv.NewReader(bytes.NewReader(written(t, func(b *bytes.Buffer) error { return table.WriteCSV(b) }))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var cells []string
	for _, row := range rows {
		cells = append(cells, row...)
	}
	return cells
}

// full takes so many bytes and then has no more room.
type full int

func (f *full) Write(p []byte) (int, error) {
	if len(p) > int(*f) {
		return 0, errors.New("no room")
	}
	*f -= full(len(p))
	return len(p), nil
}

func TestEveryFormTellsOfAFullDisk(t *testing.T) {
	r := busyNight()
	forms := map[string]func(w *full) error{
		"json":     func(w *full) error { return JSON(w, r) },
		"markdown": func(w *full) error { return Markdown(w, r, busyMeta, History{}) },
		"text":     func(w *full) error { return Text(w, r, busyMeta, History{}) },
		"html":     func(w *full) error { return HTML(w, r, busyMeta, History{}) },
		"lines":    func(w *full) error { return Lines(w, r, r.Findings) },
		"table":    func(w *full) error { return Tables(r)[2].WriteCSV(w) },
	}
	for name, write := range forms {
		room := full(100)
		if err := write(&room); err == nil {
			t.Errorf("%s: a full disk went unnoticed", name)
		}
	}
}

func TestWriteTablesKeepsWhatIsThere(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "tables")
	if err := WriteTables(dir, quietNight(), false); err != nil {
		t.Fatal(err)
	}
	before, err := os.ReadFile(filepath.Join(dir, "stations.csv"))
	if err != nil {
		t.Fatal(err)
	}
	if err := WriteTables(dir, busyNight(), false); !errors.Is(err, fs.ErrExist) {
		t.Errorf("second export: %v", err)
	}
	if after, _ := os.ReadFile(filepath.Join(dir, "stations.csv")); !bytes.Equal(before, after) {
		t.Error("the second export replaced the first without being told")
	}
	if err := WriteTables(dir, busyNight(), true); err != nil {
		t.Fatal(err)
	}
	if after, _ := os.ReadFile(filepath.Join(dir, "stations.csv")); bytes.Equal(before, after) {
		t.Error("the tables were not replaced when told")
	}
}
