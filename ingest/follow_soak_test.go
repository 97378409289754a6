package ingest

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"dawncrest/rf/review"
)

// shift is a night of a few stations as its logger writes it, a row a second and a
// file an hour.
type shift struct {
	dir    string
	header []byte
	random *rand.Rand
	rows   int
}

const shiftStations = 3

func newShift(dir string) *shift {
	s := &shift{dir: dir, header: []byte("time"), random: rand.New(rand.NewPCG(1, 2))}
	for n := range shiftStations {
		for _, c := range benchChannels {
			s.header = fmt.Appendf(s.header, ",S%02d %s", n+1, c.quantity)
		}
		for _, c := range benchStructureChannels {
			s.header = fmt.Appendf(s.header, ",A%02d %s", n+1, c.quantity)
		}
	}
	s.header = append(s.header, '\n')
	return s
}

// write appends so many seconds.
func (s *shift) write(seconds int) error {
	f, err := os.OpenFile(filepath.Join(s.dir, fmt.Sprintf("hour-%02d.csv", s.rows/3600)), os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o666)
	if err != nil {
		return err
	}
	defer f.Close()
	var text []byte
	if s.rows%3600 == 0 {
		text = append(text, s.header...)
	}
	for range seconds {
		text = at("2026-11-23T18:00:00Z").Add(time.Duration(s.rows)*time.Second).AppendFormat(text, time.RFC3339)
		for range shiftStations {
			for _, channels := range [][]benchChannel{benchChannels, benchStructureChannels} {
				for _, c := range channels {
					text = c.appendReading(append(text, ','), s.random)
				}
			}
		}
		text = append(text, '\n')
		s.rows++
	}
	_, err = f.Write(text)
	return err
}

func followed(t testing.TB, s *shift) *Follower {
	t.Helper()
	if err := s.write(60); err != nil {
		t.Fatal(err)
	}
	f, err := Follow(context.Background(), []string{s.dir}, Options{Parts: &Parts{}}, FollowLeast, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(f.Close)
	return f
}

// held returns what stays on the heap.
func held() uint64 {
	var m runtime.MemStats
	runtime.GC()
	runtime.GC()
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}

// mostGrowth is how much the heap may grow from the first hour to the last: rows
// remembered to know repeats, up to their limit, and the accounts of the hours' files.
const mostGrowth = 1.15

// A shift that is followed minute by minute and reviewed every five leaves nothing:
// the heap and the goroutines after eight hours are those after one.
func TestFollowedShiftLeavesNothing(t *testing.T) {
	const hours = 8
	s := newShift(t.TempDir())
	f := followed(t, s)
	var heap [hours + 1]uint64
	var goroutines [hours + 1]int
	var report *review.Report
	for minute := 1; minute < 60*hours; minute++ {
		if err := s.write(60); err != nil {
			t.Fatal(err)
		}
		if grown, err := f.look(context.Background()); err != nil || !grown {
			t.Fatalf("minute %d: grown %t, %v", minute, grown, err)
		}
		if minute%5 == 0 {
			night, err := f.snapshot(context.Background())
			if err != nil {
				t.Fatal(err)
			}
			f.news.Night = night
			report = review.Review(BarePlant(night), night, review.Options{})
		}
		if minute%60 == 59 {
			heap[minute/60+1], goroutines[minute/60+1] = held(), runtime.NumGoroutine()
		}
	}
	night, err := f.snapshot(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	if night.Log.Rows() != 3600*hours || night.Log.RowsRejected() != 0 || len(report.Traces) == 0 {
		t.Fatalf("%d rows, %d refused", night.Log.Rows(), night.Log.RowsRejected())
	}
	for h := 1; h <= hours; h++ {
		t.Logf("after %d h: %.1f MB held, %d goroutines", h, float64(heap[h])/1e6, goroutines[h])
	}
	if ratio := float64(heap[hours]) / float64(heap[1]); ratio > mostGrowth {
		t.Errorf("the heap grew by a factor of %.2f from the first hour to the last", ratio)
	}
	if goroutines[hours] > goroutines[1] {
		t.Errorf("%d goroutines after the first hour, %d after the last", goroutines[1], goroutines[hours])
	}
}

// BenchmarkFollowedRow is the cost of a row that is appended, five at a time as
// with a look every five seconds, without the night made of it: at the beginning
// and after eight hours of the same log.
func BenchmarkFollowedRow(b *testing.B) {
	for _, hours := range []int{0, 8} {
		b.Run(fmt.Sprintf("after %d h", hours), func(b *testing.B) {
			s, f := afterHours(b, hours)
			for b.Loop() {
				step(b, s, f)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(5*b.N), "ns/row")
		})
	}
}

// afterHours returns a log that was followed for some hours and ten minutes.
func afterHours(b *testing.B, hours int) (*shift, *Follower) {
	s := newShift(b.TempDir())
	f := followed(b, s)
	for s.rows < 3600*hours+600 {
		step(b, s, f)
	}
	return s, f
}

func step(b *testing.B, s *shift, f *Follower) {
	if err := s.write(5); err != nil {
		b.Fatal(err)
	}
	if _, err := f.look(context.Background()); err != nil {
		b.Fatal(err)
	}
}

// BenchmarkFollowedNight is the cost of a night made of what was followed, at the
// beginning and after eight hours.
func BenchmarkFollowedNight(b *testing.B) {
	for _, hours := range []int{0, 8} {
		b.Run(fmt.Sprintf("after %d h", hours), func(b *testing.B) {
			_, f := afterHours(b, hours)
			for b.Loop() {
				if _, err := f.snapshot(context.Background()); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
