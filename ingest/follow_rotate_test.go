package ingest

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"os"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"golang.org/x/text/encoding/unicode"

	"dawncrest/rf/series"
)

// hours cuts a log into files of an hour, each with the header.
func hours(text string, parts int) []string {
	lines := strings.SplitAfter(strings.TrimSuffix(text, "\n"), "\n")
	header, rows := lines[0], lines[1:]
	out := make([]string, parts)
	for i := range out {
		out[i] = header + strings.Join(rows[i*len(rows)/parts:(i+1)*len(rows)/parts], "")
	}
	out[parts-1] += "\n"
	return out
}

func together(l *logger, parts []string) {
	l.t.Helper()
	var inputs []Input
	for _, part := range parts {
		inputs = append(inputs, Memory("night.csv", []byte(part)))
	}
	want, err := Read(context.Background(), inputs, Options{})
	if err != nil {
		l.t.Fatal(err)
	}
	got := l.night()
	for i := range want.Log.Files {
		want.Log.Files[i].Notices = nil
	}
	if len(got.Log.Files) != len(want.Log.Files) {
		l.t.Fatalf("%d files, want %d: %+v", len(got.Log.Files), len(want.Log.Files), got.Log.Files)
	}
	for i := range got.Log.Files {
		got.Log.Files[i].Name, got.Log.Files[i].Notices = "night.csv", nil
	}
	got.Log.Bytes = want.Log.Bytes
	l.same(want, got)
}

// A logger starts a new file in each way that loggers do; the night is that of all
// files together, whether they are small or not.
func TestFollowedOverFiles(t *testing.T) {
	for name, seconds := range map[string]int{"small": 600, "large": 24_000} {
		parts := hours(wideSeconds(seconds), 3)
		torn := len(parts[0]) - 20
		for _, way := range []struct {
			name string
			next func(l *logger, i int)
		}{
			{"renamed", func(l *logger, i int) { l.rename("night.csv", "night.csv."+string(rune('0'+i))) }},
			{"renamed to the name of a log", func(l *logger, i int) { l.rename("night.csv", "night-"+string(rune('0'+i))+".csv") }},
			{"removed", func(l *logger, i int) { os.Remove(l.path("night.csv")) }},
			{"cut in place", func(l *logger, i int) { l.cut("night.csv", "") }},
		} {
			t.Run(way.name+", "+name, func(t *testing.T) {
				l := newLogger(t)
				l.write("night.csv", parts[0][:torn])
				l.started("", Options{})
				l.write("night.csv", parts[0][torn:])
				for i, part := range parts[1:] {
					l.night()
					way.next(l, i)
					l.write("night.csv", part[:len(part)/2])
					l.night()
					l.write("night.csv", part[len(part)/2:])
				}
				for range stillLooks + 1 {
					l.night()
				}
				together(l, parts)
			})
		}
		t.Run("next file in the folder, "+name, func(t *testing.T) {
			l := newLogger(t)
			l.write("18.csv", parts[0])
			l.started("", Options{})
			l.write("19.csv", parts[1])
			l.night()
			l.write("20.csv", parts[2][:40])
			l.night()
			l.write("20.csv", parts[2][40:])
			together(l, parts)
		})
		t.Run("written anew between two looks, "+name, func(t *testing.T) {
			l := newLogger(t)
			l.write("night.csv", parts[0])
			l.started("night.csv", Options{})
			l.cut("night.csv", parts[1]+strings.TrimPrefix(parts[2], strings.SplitAfter(parts[2], "\n")[0]))
			l.night()
			together(l, []string{parts[0], parts[1] + strings.TrimPrefix(parts[2], strings.SplitAfter(parts[2], "\n")[0])})
		})
		t.Run("written anew to the same size, "+name, func(t *testing.T) {
			l := newLogger(t)
			other := strings.ReplaceAll(parts[0], "2026-02-03T", "2026-02-04T")
			l.write("night.csv", parts[0])
			l.started("night.csv", Options{})
			l.cut("night.csv", other)
			if err := os.Chtimes(l.path("night.csv"), time.Time{}, time.Now().Add(time.Second)); err != nil { // a disk may keep times coarsely
				t.Fatal(err)
			}
			l.night()
			together(l, []string{parts[0], other})
		})
	}
}

// wideSeconds is a wide log without trouble.
func wideSeconds(rows int) string {
	var b strings.Builder
	b.WriteString(twoColumns)
	for i := range rows {
		b.WriteString(at("2026-02-03T20:00:00Z").Add(time.Duration(i) * time.Second).Format(time.RFC3339))
		b.WriteString(",41." + string(rune('0'+i%10)) + ",-12.5\n")
	}
	return b.String()
}

// The torn last row of a file that lost its name is refused and counted.
func TestFollowedFileEndsTorn(t *testing.T) {
	l := newLogger(t)
	l.write("night.csv", wideSeconds(20)+"2026-02-03T20:00:20Z,41")
	l.started("night.csv", Options{})
	if n := l.night(); n.Log.RowsRejected() != 0 || n.Log.Rows() != 20 {
		t.Fatalf("%d refused, %d rows while the row may still be finished", n.Log.RowsRejected(), n.Log.Rows())
	}
	os.Remove(l.path("night.csv"))
	for range stillLooks {
		l.night()
	}
	n := l.night()
	if n.Log.RowsRejected() != 1 || n.Log.Rows() != 20 {
		t.Errorf("%d refused, %d rows", n.Log.RowsRejected(), n.Log.Rows())
	}
	if told := strings.Join(n.Log.Files[0].Notices, "\n"); !strings.Contains(told, "renamed or removed") {
		t.Errorf("told %q", told)
	}
}

// Line ends and encodings of every kind, written byte by byte.
func TestFollowedByteByByte(t *testing.T) {
	text := wideSeconds(40)
	wide, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().String(text)
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{"LF": text, "CRLF": strings.ReplaceAll(text, "\n", "\r\n"), "UTF-16": wide,
		"byte-order mark": "\ufeff" + text, "CR": strings.ReplaceAll(text, "\n", "\r") + "#"} {
		t.Run(name, func(t *testing.T) {
			l := newLogger(t)
			const begun = 400
			l.write("night.csv", text[:begun])
			l.started("night.csv", Options{})
			for i := begun; i < len(text); i += 3 {
				l.write("night.csv", text[i:min(i+3, len(text))])
				l.night()
			}
			want, _ := readText(t, "night.csv", text, Options{})
			l.same(want, l.night())
		})
	}
	big, err := unicode.UTF16(unicode.BigEndian, unicode.UseBOM).NewEncoder().String(wideSeconds(9000))
	if err != nil {
		t.Fatal(err)
	}
	l := newLogger(t)
	l.write("night.csv", big[:300_001])
	l.started("night.csv", Options{})
	for _, end := range []int{300_002, 300_003, 320_000, 320_001, len(big)} {
		info, _ := os.Stat(l.path("night.csv"))
		l.write("night.csv", big[info.Size():end])
		l.night()
	}
	want, _ := readText(t, "night.csv", big, Options{})
	l.same(want, l.night())
}

// A file that does not answer is told, asked once, and does not keep the others
// waiting; the end of the context is not waited for either.
func TestFollowedFileThatDoesNotAnswer(t *testing.T) {
	l := newLogger(t)
	parts := hours(wideSeconds(600), 2)
	l.write("a.csv", parts[0])
	l.write("b.csv", strings.Split(parts[1], "\n")[0]+"\n")
	f, err := Follow(context.Background(), []string{l.path("a.csv"), l.path("b.csv")}, Options{}, FollowLeast, func() time.Time { return at("2026-02-04T06:00:00Z") })
	if err != nil {
		t.Fatal(err)
	}
	l.follow = f
	defer f.Close()
	f.patience = 20 * time.Millisecond
	release := make(chan struct{})
	var asked atomic.Int32
	stat := f.disk.stat
	f.disk.stat = func(path string) (fs.FileInfo, error) {
		if strings.HasSuffix(path, "a.csv") {
			asked.Add(1)
			<-release
		}
		return stat(path)
	}
	l.write("b.csv", parts[1][strings.IndexByte(parts[1], '\n')+1:])
	for range 5 {
		l.night()
	}
	f.refresh(false)
	if asked.Load() != 1 || len(f.news.Stalled) != 1 || !strings.HasSuffix(f.news.Stalled[0].Name, "a.csv") {
		t.Errorf("asked %d times, told %v", asked.Load(), f.news.Stalled)
	}
	if rows := l.night().Log.Rows(); rows != 599 && rows != 600 {
		t.Errorf("%d rows: the other file waits", rows)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := f.Next(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("ended with %v", err)
	}
	close(release)
	for range 100 {
		l.night()
		if f.refresh(false); len(f.news.Stalled) == 0 {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Errorf("still told: %v", f.news.Stalled)
}

// followedBy follows a logger that has written twenty rows, as a clock shows.
func followedBy(t *testing.T, now func() time.Time) (*logger, *Follower) {
	l := newLogger(t)
	l.write("night.csv", wideSeconds(20))
	f, err := Follow(context.Background(), []string{l.dir}, Options{}, FollowLeast, now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(f.Close)
	l.follow = f
	return l, f
}

// What follows is news: rows, then their absence, once each.
func TestFollowTells(t *testing.T) {
	clock := at("2026-02-04T06:00:00Z")
	l, f := followedBy(t, func() time.Time { return clock })
	next := func() (News, error) {
		ctx, cancel := context.WithTimeout(context.Background(), 5*FollowLeast)
		defer cancel()
		return f.Next(ctx)
	}
	n, err := next()
	if err != nil || n.Night.Log.Rows() != 20 || !n.LastRow.Equal(at("2026-02-03T20:00:19Z")) {
		t.Fatal(n, err)
	}
	if _, err := next(); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("news where nothing happened: %v", err)
	}
	l.write("night.csv", "2026-02-03T20:00:20Z,41,-12\n")
	if n, err = next(); err != nil || n.Night.Log.Rows() != 21 || !n.QuietSince.IsZero() {
		t.Error(n, err)
	}
	clock = clock.Add(quietLeast)
	if n, err = next(); err != nil || n.QuietSince.IsZero() {
		t.Error("no word of the silence", err)
	}
	if _, err := next(); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("the silence told twice: %v", err)
	}
	l.write("night.csv", "2026-02-03T20:10:20Z,41,-12\n")
	if n, err = next(); err != nil || !n.QuietSince.IsZero() {
		t.Error("no word of its end", err)
	}
}

// The clock that is told from may jump back: looks go on, rows come, no silence is
// told that is none.
func TestFollowedWhileTheClockIsSetBack(t *testing.T) {
	clock := at("2026-02-04T06:00:00Z")
	l, f := followedBy(t, func() time.Time { return clock })
	clock = clock.Add(-5 * time.Hour)
	l.write("night.csv", "2026-02-03T20:00:20Z,41,-12\n2026-02-03T20:00:05Z,41,-12\n2026-02-03T19:59:00Z,41,-12\n")
	n := l.night()
	if n.Log.Rows() != 23 || !strings.Contains(strings.Join(n.Log.Files[0].Notices, "\n"), "times step back") {
		t.Errorf("%d rows, told %q", n.Log.Rows(), n.Log.Files[0].Notices)
	}
	if f.refresh(true); !f.news.QuietSince.IsZero() {
		t.Error("tells a silence")
	}
}

// Packed logs are read once, one that is still being written when it is whole.
func TestFollowPacked(t *testing.T) {
	parts := hours(wideSeconds(600), 3)
	l := newLogger(t)
	packed := gzipped(t, []byte(parts[0]))
	l.write("18.csv.gz", string(packed))
	l.write("19.csv", parts[1])
	l.started("", Options{})
	next := gzipped(t, []byte(parts[2]))
	l.write("20.csv.gz", string(next[:100]))
	if rows := l.night().Log.Rows(); rows != 399 && rows != 400 {
		t.Fatalf("%d rows", rows)
	}
	l.write("20.csv.gz", string(next[100:]))
	l.night()
	l.night()
	n := l.night()
	if n.Log.Rows() != 600 || n.Log.RowsRejected() != 0 {
		t.Errorf("%d rows, %d refused: %+v", n.Log.Rows(), n.Log.RowsRejected(), n.Log.Files)
	}
	told := 0
	for _, f := range n.Log.Files {
		if strings.Contains(strings.Join(f.Notices, "\n"), "not followed") {
			told++
		}
	}
	if told != 2 || len(n.Log.Files) != 3 {
		t.Errorf("told of %d packed files in %d", told, len(n.Log.Files))
	}
}

func TestFollowRefuses(t *testing.T) {
	l := newLogger(t)
	l.write("night.csv", wideSeconds(20))
	l.write("header.csv", twoColumns)
	for _, c := range []struct {
		paths []string
		every time.Duration
		want  string
	}{
		{[]string{"-"}, FollowEvery, "standard input cannot be followed"},
		{[]string{l.path("night.csv")}, time.Millisecond, "too often"},
		{[]string{l.path("missing.csv")}, FollowEvery, "no such file"},
		{[]string{l.path("header.csv")}, FollowEvery, "a header and no row"},
	} {
		_, err := Follow(context.Background(), c.paths, Options{}, c.every, time.Now)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v: %v, want %q", c.paths, err, c.want)
		}
	}
}

// More files than are held open at once, each growing now and then: no row is lost
// or counted twice.
func TestFollowManyFiles(t *testing.T) {
	l := newLogger(t)
	const files = liveFiles + 10
	text := wideSeconds(files * 10)
	lines := strings.SplitAfter(text, "\n")
	name := func(i int) string { return "f" + string(rune('a'+i/26)) + string(rune('a'+i%26)) + ".csv" }
	for i := range files {
		l.write(name(i), lines[0]+strings.Join(lines[1+i*10:6+i*10], ""))
	}
	l.started("", Options{})
	for i := range files {
		l.write(name(i), strings.Join(lines[6+i*10:11+i*10], ""))
		l.night()
	}
	n := l.night()
	if n.Log.Rows() != files*10 || n.Log.RowsRejected() != 0 {
		t.Errorf("%d rows of %d, %d refused", n.Log.Rows(), files*10, n.Log.RowsRejected())
	}
	if len(l.follow.tails) > liveFiles {
		t.Errorf("%d files held", len(l.follow.tails))
	}
	var all bytes.Buffer
	for _, c := range n.Channels {
		all.WriteString(c.Place)
	}
	if len(n.Channels) != 2 {
		t.Errorf("channels of %s", all.String())
	}
}

// A file that may not be read is told, and read once it may be.
func TestFollowedFileThatMayNotBeRead(t *testing.T) {
	if os.Geteuid() == 0 {
		t.Skip("root may read every file")
	}
	for _, there := range []bool{true, false} {
		l := newLogger(t)
		l.write("a.csv", wideSeconds(20))
		closed := func() {
			l.write("b.csv", strings.ReplaceAll(wideSeconds(20), "T20:", "T21:"))
			if err := os.Chmod(l.path("b.csv"), 0); err != nil {
				t.Fatal(err)
			}
		}
		if there {
			closed()
		}
		l.started("", Options{})
		if !there {
			closed()
		}
		for range 2 {
			log := l.night().Log
			refused := slices.IndexFunc(log.Files, func(f series.File) bool {
				return f.Err != nil && strings.Contains(f.Err.Error(), "b.csv: permission denied")
			})
			if len(log.Files) != 2 || refused < 0 || log.Rows() != 20 {
				t.Fatalf("%+v", log.Files)
			}
		}
		if err := os.Chmod(l.path("b.csv"), 0o644); err != nil {
			t.Fatal(err)
		}
		if log := l.night().Log; log.Rows() != 40 || len(log.Files) != 2 {
			t.Errorf("%d rows, %+v", log.Rows(), log.Files)
		}
	}
}
