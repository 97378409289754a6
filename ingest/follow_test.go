package ingest

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"dawncrest/rf/series"
)

// logger is a logger at work: it writes a log, and a follower reads it.
type logger struct {
	t      testing.TB
	dir    string
	follow *Follower
}

func newLogger(t testing.TB) *logger { return &logger{t: t, dir: t.TempDir()} }

func (l *logger) path(name string) string { return filepath.Join(l.dir, name) }

func (l *logger) write(name, text string) {
	l.t.Helper()
	f, err := os.OpenFile(l.path(name), os.O_APPEND|os.O_WRONLY|os.O_CREATE, 0o666)
	if err == nil {
		_, err = f.WriteString(text)
		f.Close()
	}
	if err != nil {
		l.t.Fatal(err)
	}
}

// grow writes the rest of a log from a byte on, piece by piece, with a look at each.
func (l *logger) grow(name, text string, from, piece int) {
	l.t.Helper()
	for ; from < len(text); from += piece {
		l.write(name, text[from:min(from+piece, len(text))])
		l.night()
	}
}

// cut writes a file anew in its place, as a logger does that copies and truncates.
func (l *logger) cut(name, text string) {
	l.t.Helper()
	if err := os.WriteFile(l.path(name), []byte(text), 0o666); err != nil {
		l.t.Fatal(err)
	}
}

func (l *logger) rename(from, to string) {
	l.t.Helper()
	if err := os.Rename(l.path(from), l.path(to)); err != nil {
		l.t.Fatal(err)
	}
}

// started begins to follow a file or, for no name, the folder.
func (l *logger) started(name string, o Options) {
	l.t.Helper()
	f, err := Follow(context.Background(), []string{l.path(name)}, o, FollowLeast, func() time.Time { return at("2026-02-04T06:00:00Z") })
	if err != nil {
		l.t.Fatal(err)
	}
	l.follow = f
	l.t.Cleanup(f.Close)
}

// night looks once and returns what the follower has come to.
func (l *logger) night() *series.Night {
	l.t.Helper()
	if _, err := l.follow.look(context.Background()); err != nil {
		l.t.Fatal(err)
	}
	night, err := l.follow.snapshot(context.Background())
	if err != nil {
		l.t.Fatal(err)
	}
	return night
}

// aboutEqual leaves the order of channels and files aside, and what rounding does
// where sums are joined in other places.
var aboutEqual = cmp.Options{
	cmpopts.EquateApprox(1e-9, 1e-6), cmpopts.EquateNaNs(), cmp.AllowUnexported(rowError{}),
	cmpopts.SortSlices(func(a, b series.Channel) bool {
		return a.Place+"\x00"+string(a.Quantity) < b.Place+"\x00"+string(b.Quantity)
	}),
}

func (l *logger) same(want, got *series.Night) {
	l.t.Helper()
	for _, n := range []*series.Night{want, got} {
		for i := range n.Log.Files {
			f := &n.Log.Files[i]
			f.Name = filepath.Base(f.Name)
			for r := range f.Rejects {
				f.Rejects[r].File = f.Name
			}
			sort.Slice(f.Columns, func(i, j int) bool {
				return f.Columns[i].Header+f.Columns[i].Place < f.Columns[j].Header+f.Columns[j].Place
			})
		}
	}
	if d := cmp.Diff(want, got, aboutEqual); d != "" {
		l.t.Fatalf("nights differ (-read +followed):\n%.3000s", d)
	}
}

// troubled writes a log with what goes wrong in logs: gaps, repeats, late rows, rows
// that are refused, words for no value, trips, phases through half a turn.
func troubled(layout string, seconds int, seed uint64) string {
	random := rand.New(rand.NewPCG(seed, 7))
	var b strings.Builder
	switch layout {
	case LayoutWide:
		b.WriteString("time,S01 forward_power [MW],S01 forward_phase [deg],S01 trip_count,S01 trip_reason,S02 forward_power [kW],S02 rf_on,odd\n")
	case LayoutTidy:
		b.WriteString("time,place,forward_power [MW],forward_phase [deg],trip_count\n")
	case "on change":
		b.WriteString("time,channel,value\n")
	case "unknown columns":
		b.WriteString("time,alpha [V],beta\n")
	default:
		b.WriteString("time;place;quantity;unit;value\n")
	}
	when, trips := at("2026-02-03T20:00:00Z"), 4
	for range seconds {
		when = when.Add(time.Second)
		stamp := when
		switch random.IntN(400) {
		case 0:
			when = when.Add(3 * time.Minute)
		case 1:
			stamp = when.Add(-90 * time.Second)
		case 2:
			b.WriteString("yesterday,1\n")
		case 3:
			trips++
		}
		power, phase := fmt.Sprintf("%.3f", 38+random.Float64()), fmt.Sprintf("%.2f", 175+8*random.Float64())
		if random.IntN(200) == 0 {
			power = "---"
		}
		text := stamp.Format(time.RFC3339)
		reason := ""
		if random.IntN(300) == 0 {
			reason = "\"arc, at\nwindow\""
		}
		var row string
		switch layout {
		case LayoutWide:
			row = fmt.Sprintf("%s,%s,%s,%d,%s,%d,%d,x\n", text, power, phase, trips, reason, 41000+random.IntN(100), min(1, random.IntN(60)))
		case LayoutTidy:
			row = fmt.Sprintf("%s,S01,%s,%s,%d\n%s,S02,%s,%s,%d\n", text, power, phase, trips, text, phase, power, trips)
		case "on change":
			row = fmt.Sprintf("%s,S01 forward_power [MW],%s\n", text, power)
			if random.IntN(7) == 0 {
				row += fmt.Sprintf("%s,S02 beam_voltage [kV],%s\n", text, phase)
			}
			when = when.Add(time.Duration(random.IntN(40)) * time.Second)
		case "unknown columns":
			row = fmt.Sprintf("%s,%s,%s\n", text, power, phase)
		default:
			row = fmt.Sprintf("%s;S01;forward_power;MW;%s\n%s;S01;forward_phase;deg;%s\n%s;S01;trip_count;1;%d\n", text, power, text, phase, text, trips)
		}
		b.WriteString(row)
		if random.IntN(300) == 0 {
			b.WriteString(row)
		}
	}
	return b.String()
}

// A log that is followed in pieces, cut anywhere, comes to the night that reading
// the whole comes to.
func TestFollowedInPieces(t *testing.T) {
	for _, layout := range []string{LayoutWide, LayoutTidy, LayoutLong, "on change", "unknown columns"} {
		for _, seconds := range []int{300, 9000} {
			t.Run(fmt.Sprint(layout, seconds), func(t *testing.T) {
				for seed := range uint64(6) {
					random := rand.New(rand.NewPCG(seed, 3))
					text := troubled(layout, seconds, seed)
					var cuts []int
					for range 1 + random.IntN(12) {
						cuts = append(cuts, 400+random.IntN(len(text)-400))
					}
					sort.Ints(cuts)
					l := newLogger(t)
					l.write("night.csv", text[:cuts[0]])
					l.started("night.csv", Options{})
					defer l.follow.Close()
					for i, from := range cuts {
						to := len(text)
						if i+1 < len(cuts) {
							to = cuts[i+1]
						}
						l.write("night.csv", text[from:to])
						l.night()
					}
					want, _ := readText(t, "night.csv", text, Options{})
					if held := layout == "on change"; want.Channels[0].Held != held {
						t.Fatalf("held: %t", want.Channels[0].Held)
					}
					l.same(want, l.night())
				}
			})
		}
	}
}

// A night that was handed out stays as it is while the reading goes on.
func TestFollowedNightStays(t *testing.T) {
	for _, layout := range []string{LayoutWide, LayoutTidy, "on change"} {
		text := troubled(layout, 9000, 5)
		l := newLogger(t)
		l.write("night.csv", text[:len(text)*2/3])
		l.started("night.csv", Options{})
		var nights []*series.Night
		var before []string
		for i := range 20 {
			from := len(text)*2/3 + i*len(text)/60
			l.write("night.csv", text[from:from+len(text)/60])
			nights = append(nights, l.night())
			before = append(before, fmt.Sprintf("%+v", *nights[i]))
		}
		for i, n := range nights {
			if fmt.Sprintf("%+v", *n) != before[i] {
				t.Errorf("%s: night %d has changed", layout, i)
			}
		}
	}
}
