package handover

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode"
)

// unfit returns whether a text holds what a terminal could obey.
func unfit(text string) bool {
	return strings.ContainsFunc(text, func(r rune) bool {
		return r != '\n' && (unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r))
	})
}

// bookOf writes one file into a folder.
func bookOf(t *testing.T, name, text string) (dir string) {
	t.Helper()
	dir = t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	return dir
}

// busyEntry returns a file of an entry of a busy night.
func busyEntry(f *testing.F, suffix string) string {
	f.Helper()
	dir := f.TempDir()
	b, err := OpenBook(dir)
	if err != nil {
		f.Fatal(err)
	}
	m := busyMeta
	m.Accepted = true
	name, err := b.Write(busyNight(), m, History{}, false)
	if err != nil {
		f.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(dir, name+suffix))
	if err != nil {
		f.Fatal(err)
	}
	return string(text)
}

// Whatever stands in an entry of the book, it is read or passed over with a word,
// and what is handed on from it is fit for every form of the handover.
func FuzzEntry(f *testing.F) {
	whole := busyEntry(f, jsonSuffix)
	f.Add(whole)
	f.Add(whole[:len(whole)/2])
	f.Add(strings.ReplaceAll(whole, "S07", `S07\u001b]0;x\u0007\u009b`))
	f.Add(`{"schema":"dawncrest.book/1","from":"2026-11-23T21:00:00Z","to":"2026-11-24T05:00:00Z","plant":"Harrow Fen linac","stations":{"names":["S01"]}}`)
	f.Add(`{"schema":"dawncrest.book/1"}`)
	f.Add(`null`)
	f.Fuzz(func(t *testing.T, text string) {
		b := openBook(t, bookOf(t, "2026-11-23-night.json", text))
		if len(b.Entries)+len(b.Notices) != 1 {
			t.Fatalf("%d entries, notices %q", len(b.Entries), b.Notices)
		}
		r := busyNight()
		h := b.Since(r)
		for name, form := range map[string]func(*bytes.Buffer) error{
			"markdown": func(w *bytes.Buffer) error { return Markdown(w, r, busyMeta, h) },
			"html":     func(w *bytes.Buffer) error { return HTML(w, r, busyMeta, h) },
			"text":     func(w *bytes.Buffer) error { return Text(w, r, busyMeta, h) },
			"entry":    func(w *bytes.Buffer) error { return writeRowsJSON(w, NewEntry(r, busyMeta, h)) },
		} {
			var out bytes.Buffer
			if err := form(&out); err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if unfit(out.String()) {
				t.Errorf("%s is not fit to show", name)
			}
		}
	})
}

// Whatever stands in a file of levels, it is an error or numbers to measure from.
func FuzzLevels(f *testing.F) {
	whole := busyEntry(f, levelsSuffix)
	f.Add(whole)
	f.Add(whole[:len(whole)/2])
	f.Add(`{"schema":"dawncrest.levels/1","values":{"S01":{"forward_power":1e999,"":null}}}`)
	f.Add(`{"schema":"dawncrest.levels/1","values":{"S01":{"forward_power":"38"}}}`)
	f.Fuzz(func(t *testing.T, text string) {
		const name = "2026-11-23-night" + levelsSuffix
		levels, err := ReadLevels(filepath.Join(bookOf(t, name, text), name))
		if (err == nil) != (levels != nil) {
			t.Fatalf("levels %v, error %v", levels, err)
		}
		if err != nil {
			if unfit(err.Error()) || !strings.Contains(err.Error(), name) {
				t.Errorf("error %q", err)
			}
			return
		}
		for place, values := range levels.Values {
			for quantity, v := range values {
				if math.IsInf(v, 0) {
					t.Errorf("%q %q is infinite", place, quantity)
				}
			}
		}
	})
}

// Whatever somebody gives as a shift, a name, a note or a mark, the entry stands in
// the folder of the book under a plain name and comes back as it was shown.
func FuzzWords(f *testing.F) {
	f.Add("night", "J. Reed", "all quiet", "JR", "seen")
	f.Add("../../x", "\x1b]0;x\x07", "\u009b5m\u202e", "\x00", "<script>")
	f.Add("früh schicht", "é", "|", "\xff", "a\nb")
	f.Fuzz(func(t *testing.T, shift, author, note, initials, mark string) {
		r, dir := busyNight(), t.TempDir()
		m := Meta{Shift: shift, Author: author, Notes: []string{note}, Written: night(6, 5)}
		m.Seen = []Seen{{Key: FindingKey(r.Findings[0]), Initials: initials, Note: mark, At: night(5, 0)}}
		book := filepath.Join(dir, "book")
		name, err := openBook(t, book).Write(r, m, History{}, false)
		if err != nil {
			if unfit(err.Error()) {
				t.Errorf("error not fit to show: %q", err)
			}
			return
		}
		if !filepath.IsLocal(name) || filepath.Base(name) != name || unfit(name) {
			t.Fatalf("name %q", name)
		}
		if beside := listing(t, dir); beside != "book" {
			t.Fatalf("beside the book: %q", beside)
		}
		b := openBook(t, book)
		if len(b.Entries) != 1 || b.Entries[0].Name != name {
			t.Fatalf("entries %v, notices %q", b.Entries, b.Notices)
		}
		e := b.Entries[0]
		if len(e.Seen) != 1 || !e.Seen[0].At.Equal(m.Seen[0].At) || e.Seen[0].Key != m.Seen[0].Key {
			t.Fatalf("marks %+v", e.Seen)
		}
		for _, text := range append(e.Notes, e.Author, e.Shift, e.Seen[0].Initials, e.Seen[0].Note) {
			if text != clean(text) {
				t.Errorf("%q was kept", text)
			}
		}
	})
}
