package ingest

import (
	"errors"
	"os"
	"path/filepath"
	"testing"
)

func TestOpenPlantFolder(t *testing.T) {
	dir := t.TempDir()
	for name, text := range goodPlant {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if got, err := OpenPlant(dir); err != nil || len(got.Plant.Stations) != 2 {
		t.Fatalf("OpenPlant: %v", err)
	}
	t.Run("link out of the folder", func(t *testing.T) {
		outside := filepath.Join(t.TempDir(), "planned.csv")
		if err := os.WriteFile(outside, []byte(goodPlant["planned.csv"]), 0o600); err != nil {
			t.Fatal(err)
		}
		link := filepath.Join(dir, "planned.csv")
		if err := errors.Join(os.Remove(link), os.Symlink(outside, link)); err != nil {
			t.Skip(err)
		}
		_, err := OpenPlant(dir)
		want := "planned.csv: cannot be opened: path escapes from parent; only files inside the folder are read: put the file itself there, not a link"
		if err == nil || err.Error() != want {
			t.Errorf("got %v, want %s", err, want)
		}
	})
	t.Run("folder in place of a table", func(t *testing.T) {
		table := filepath.Join(dir, "planned.csv")
		if err := errors.Join(os.Remove(table), os.Mkdir(table, 0o700)); err != nil {
			t.Fatal(err)
		}
		_, err := OpenPlant(dir)
		if want := "planned.csv: is not a file; put the table itself into the folder"; err == nil || err.Error() != want {
			t.Errorf("got %v, want %s", err, want)
		}
	})
	t.Run("no such folder", func(t *testing.T) {
		none := filepath.Join(dir, "none")
		_, err := OpenPlant(none)
		want := none + ": there is no such plant folder; name another, or write one to start from: dawncrest plant --new " + none
		if err == nil || err.Error() != want {
			t.Errorf("got %v, want %s", err, want)
		}
	})
	t.Run("a file", func(t *testing.T) {
		file := filepath.Join(dir, "plant.toml")
		_, err := OpenPlant(file)
		want := file + ": is a file, not a plant folder; name the folder that holds plant.toml"
		if err == nil || err.Error() != want {
			t.Errorf("got %v, want %s", err, want)
		}
	})
}
