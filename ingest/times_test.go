package ingest

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func zone(t *testing.T, name string) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(name)
	if err != nil {
		t.Skip(err)
	}
	return loc
}

func TestReadWritten(t *testing.T) {
	for _, test := range []struct {
		text  string
		order dateOrder
		want  string // with its offset; local where it ends without
	}{
		{"2026-02-03T20:00:00Z", monthFirst, "2026-02-03T20:00:00Z"},
		{"2026-02-03T20:00:00.123456789+05:30", monthFirst, "2026-02-03T14:30:00.123456789Z"},
		{"2026-02-03T20:00:00,5-0330", monthFirst, "2026-02-03T23:30:00.5Z"},
		{"2026-02-03 20:00+01", monthFirst, "2026-02-03T19:00:00Z"},
		{"2026-02-03 20:00:00 UTC", monthFirst, "2026-02-03T20:00:00Z"},
		{"20260203T200000Z", monthFirst, "2026-02-03T20:00:00Z"},
		{"2026/02/03 20:00:00", monthFirst, "2026-02-03T20:00:00"},
		{"2026-02-03", monthFirst, "2026-02-03T00:00:00"},
		{"2026-02-03 24:00:00", monthFirst, "2026-02-04T00:00:00"},
		{"2026-02-03 20:00:00:250", monthFirst, "2026-02-03T20:00:00.25"},
		{"03.02.2026 20:00", monthFirst, "2026-02-03T20:00:00"},
		{"3.2.26 20:00:00", monthFirst, "2026-02-03T20:00:00"},
		{"03/02/2026 20:00:00", dayFirst, "2026-02-03T20:00:00"},
		{"02/03/2026 08:00:00 PM", monthFirst, "2026-02-03T20:00:00"},
		{"02/03/2026 12:00:00 AM", monthFirst, "2026-02-03T00:00:00"},
		{"02/03/2026 12:30 pm", monthFirst, "2026-02-03T12:30:00"},
		{"3-Feb-2026 20:00:00", monthFirst, "2026-02-03T20:00:00"},
		{"03 Feb 2026 20:00:00", monthFirst, "2026-02-03T20:00:00"},
		{"31-DEC-99 20:00:00", monthFirst, "1999-12-31T20:00:00"},
		// The leap second of 2016: an instant of its own between its neighbours.
		{"2016-12-31T23:59:60Z", monthFirst, "2016-12-31T23:59:59.999999999Z"},
	} {
		w, ok := readWritten([]byte(test.text), test.order)
		if !ok {
			t.Errorf("%q was refused", test.text)
			continue
		}
		got := time.Unix(w.wall-w.offset, w.nano).UTC().Format("2006-01-02T15:04:05.999999999")
		if w.hasOffset {
			got += "Z"
		}
		if got != test.want {
			t.Errorf("%q: got %s, want %s", test.text, got, test.want)
		}
	}
}

func TestReadWrittenRefuses(t *testing.T) {
	for _, text := range []string{
		"", "x", "20", "2026-13-01 00:00:00", "2026-02-30 00:00:00", "2025-02-29 00:00:00", "1900-02-29 00:00", "2026-02-03 24:30:00", "2026-02-03 25:00:00",
		"2026-02-03 20:60:00", "2026-02-03 20:00:61", "2026-02-03 20:30:60", "2026-02-03T20:00:00+25:00", "2026-02-03T20:00:00 CET", "2026-02-03T20:00:00Zx",
		"02/03/2026 13:00:00 PM", "02/03/2026 0:10 AM", "13/13/2026 00:00:00", "2026-02/03 00:00", "3-Fob-2026 00:00:00", "0000-01-01 00:00:00", "2026-02-03 20", "1234567890",
	} {
		if w, ok := readWritten([]byte(text), dayFirst); ok {
			t.Errorf("%q was read as %v", text, time.Unix(w.wall, w.nano).UTC())
		}
	}
}

// What the standard library writes in any of its usual forms is read back to the
// same instant.
func TestTimesAgainstStandardLibrary(t *testing.T) {
	layouts := []struct {
		layout string
		order  dateOrder
		step   time.Duration // resolution
	}{
		{time.RFC3339, monthFirst, time.Second},
		{time.RFC3339Nano, monthFirst, time.Nanosecond},
		{"2006-01-02 15:04:05.000000Z07:00", monthFirst, time.Microsecond},
		{"2006-01-02T15:04:05,000-0700", monthFirst, time.Millisecond},
		{"20060102T150405Z0700", monthFirst, time.Second},
		{"02/01/2006 15:04:05 -07:00", dayFirst, time.Second},
		{"01/02/2006 03:04:05 PM -0700", monthFirst, time.Second},
		{"2.1.2006 15:04 Z07:00", monthFirst, time.Minute},
		{"02-Jan-2006 15:04:05.000 -07:00", monthFirst, time.Millisecond},
	}
	rapid.Check(t, func(t *rapid.T) {
		l := rapid.SampledFrom(layouts).Draw(t, "layout")
		offset := rapid.IntRange(-14*4, 14*4).Draw(t, "quarter hours east") * 900
		instant := time.Unix(rapid.Int64Range(-2e9, 7e9).Draw(t, "second"), rapid.Int64Range(0, 1e9-1).Draw(t, "nanosecond")).Truncate(l.step)
		text := instant.In(time.FixedZone("", offset)).Format(l.layout)
		w, ok := readWritten([]byte(text), l.order)
		if !ok {
			t.Fatalf("%q was refused", text)
		}
		if got := time.Unix(w.wall-w.offset, w.nano); !got.Equal(instant) {
			t.Fatalf("%q: got %v, want %v", text, got.UTC(), instant.UTC())
		}
	})
}

func TestDaysFromCivilAgainstStandardLibrary(t *testing.T) {
	for day := int64(-200_000); day < 200_000; day++ { // the years 1422 to 2517
		date := time.Unix(day*86400, 0).UTC()
		if got := daysFromCivil(int64(date.Year()), int64(date.Month()), int64(date.Day())); got != day {
			t.Fatalf("%v: got %d, want %d", date, got, day)
		}
	}
}

func TestEpochAgainstStandardLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		instant := time.Unix(rapid.Int64Range(2e8, 9e9).Draw(t, "second"), rapid.Int64Range(0, 1e9-1).Draw(t, "nanosecond"))
		for _, f := range []struct {
			text string
			step time.Duration
		}{
			{fmt.Sprint(instant.Unix()), time.Second},
			{fmt.Sprint(instant.UnixMilli()), time.Millisecond},
			{fmt.Sprint(instant.UnixMicro()), time.Microsecond},
			{fmt.Sprint(instant.UnixNano()), time.Nanosecond},
			{fmt.Sprintf("%d.%03d", instant.Unix(), instant.Nanosecond()/1e6), time.Millisecond},
		} {
			got, form, _, ok := epochInstant([]byte(f.text))
			if want := instant.Truncate(f.step).UnixNano(); !ok || form != formEpoch || got != want {
				t.Fatalf("%s: got %d, want %d", f.text, got, want)
			}
		}
	})
}

// A number that is no count from 1970 is not taken for one.
func TestEpochRefuses(t *testing.T) {
	for _, text := range []string{"0", "12", "38.20", "19999", "80000", "99999999", "9223372036854775808", "1e9", "-1770148800", "1770148800.", "17701488OO"} {
		if at, form, _, ok := epochInstant([]byte(text)); ok {
			t.Errorf("%q was read as %s %v", text, form, utc(at))
		}
	}
}

// Every instant of a zone is found again from what its clock showed, in years with
// changes of the clocks in both directions; what the clock never showed has none.
func TestLocalClockAgainstStandardLibrary(t *testing.T) {
	for _, name := range []string{"Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Africa/Casablanca", "Pacific/Apia", "UTC", "Asia/Kolkata"} {
		loc := zone(t, name)
		rapid.Check(t, func(t *rapid.T) {
			instant := rapid.Int64Range(-6e8, 3e9).Draw(t, "instant")
			if rapid.Bool().Draw(t, "near a change") {
				_, next := time.Unix(instant, 0).In(loc).ZoneBounds()
				if !next.IsZero() {
					instant = next.Unix() + rapid.Int64Range(-7200, 7200).Draw(t, "seconds from it")
				}
			}
			clock := localClock{zone: loc}
			for _, at := range []int64{instant, instant + 3600, instant - 86400} { // the second and third meet what the first remembered
				shown := time.Unix(at, 0).In(loc)
				_, offset := shown.Zone()
				first, second, count := clock.instants(at + int64(offset))
				if count == 0 || first != at && second != at {
					t.Fatalf("%s: %v not among %d instants: %v %v", name, shown, count, time.Unix(first, 0).In(loc), time.Unix(second, 0).In(loc))
				}
				if count == 2 && (first >= second || time.Unix(first, 0).In(loc).Format(time.DateTime) != time.Unix(second, 0).In(loc).Format(time.DateTime)) {
					t.Fatalf("%s: %d and %d do not look alike", name, first, second)
				}
			}
			wall := rapid.Int64Range(-6e8, 3e9).Draw(t, "wall")
			_, _, count := clock.instants(wall)
			shown := time.Unix(wall, 0).UTC()
			back := time.Date(shown.Year(), shown.Month(), shown.Day(), shown.Hour(), shown.Minute(), shown.Second(), 0, loc)
			if exists := back.Format(time.DateTime) == shown.Format(time.DateTime); exists != (count > 0) {
				t.Fatalf("%s: %s exists %t, but %d instants", name, shown.Format(time.DateTime), exists, count)
			}
		})
	}
}

// localNight returns a log of local times, one row every ten minutes of true time.
func localNight(loc *time.Location, from time.Time, rows int) string {
	var b strings.Builder
	b.WriteString("time,S07 forward_power [MW],S07 drive_phase [deg]\n")
	for i := range rows {
		fmt.Fprintf(&b, "%s,%d.%d,2\n", from.Add(time.Duration(i)*10*time.Minute).In(loc).Format(time.DateTime), 40, i)
	}
	return b.String()
}

// Nights in which the clocks change, in two zones and both directions: the rows
// stay ten minutes apart.
func TestNightsWhenClocksChange(t *testing.T) {
	for _, test := range []struct {
		zone, from string
		rows       int
		resolved   bool
	}{
		{"Europe/Berlin", "2026-10-24T21:00:00Z", 60, true},
		{"Europe/Berlin", "2026-03-28T21:00:00Z", 60, false},
		{"America/New_York", "2026-11-01T02:00:00Z", 60, true},
		{"America/New_York", "2026-03-08T02:00:00Z", 60, false},
		{"Australia/Lord_Howe", "2026-04-04T12:00:00Z", 60, true}, // by half an hour
	} {
		t.Run(test.zone+" "+test.from, func(t *testing.T) {
			loc := zone(t, test.zone)
			from := at(test.from)
			night, f := readText(t, "night.csv", localNight(loc, from, test.rows), Options{Zone: loc})
			last := from.Add(time.Duration(test.rows-1) * 10 * time.Minute)
			if f.RowsKept != test.rows || f.RowsRejected+f.RowsMerged != 0 || !f.First.Equal(from) || !f.Last.Equal(last) || f.GapCount != 0 {
				t.Errorf("kept %d refused %d merged %d from %v to %v, gaps %d; want %d from %v to %v", f.RowsKept, f.RowsRejected, f.RowsMerged, f.First, f.Last, f.GapCount, test.rows, from, last)
			}
			if night.Cells != test.rows {
				t.Errorf("%d cells, want %d", night.Cells, test.rows)
			}
			if got := strings.Contains(strings.Join(f.Notices, "\n"), "runs twice"); got != test.resolved {
				t.Errorf("told of the hour that runs twice: %t", got)
			}
		})
	}
}

// The second pass of the hour is found in other layouts too, where many rows carry
// one time, and for rows written twice.
func TestHourThatRunsTwiceInTidyLayout(t *testing.T) {
	loc := zone(t, "Europe/Berlin")
	var b strings.Builder
	b.WriteString("time,place,forward_power [MW]\n")
	from := at("2026-10-24T23:00:00Z")
	for i := range 24 {
		for _, place := range []string{"S01", "S02", "S02"} {
			fmt.Fprintf(&b, "%s,%s,%d\n", from.Add(time.Duration(i)*10*time.Minute).In(loc).Format(time.DateTime), place, 40+i)
		}
	}
	_, f := readText(t, "night.csv", b.String(), Options{Zone: loc})
	if last := from.Add(230 * time.Minute); f.RowsKept != 48 || f.RowsMerged != 24 || !f.Last.Equal(last) {
		t.Errorf("kept %d merged %d refused %d last %v, want 48 24 0 %v: %q", f.RowsKept, f.RowsMerged, f.RowsRejected, f.Last, last, f.Notices)
	}
}

func TestMissingHourIsRefused(t *testing.T) {
	loc := zone(t, "Europe/Berlin")
	text := twoColumns + "2026-03-29 01:50:00,1,2\n2026-03-29 02:30:00,1,2\n2026-03-29 03:00:00,1,2\n"
	_, f := readText(t, "night.csv", text, Options{Zone: loc})
	if f.RowsKept != 2 || f.RowsRejected != 1 || f.Rejects[0].Line != 3 || f.Last.Sub(f.First) != 10*time.Minute {
		t.Errorf("kept %d, refused %v, span %v", f.RowsKept, f.Rejects, f.Last.Sub(f.First))
	}
}

func TestLeapSecondStandsBetweenItsNeighbours(t *testing.T) {
	text := twoColumns + "2016-12-31T23:59:59Z,1,2\n2016-12-31T23:59:60Z,2,2\n2017-01-01T00:00:00Z,3,2\n"
	_, f := readText(t, "night.csv", text, Options{})
	if f.RowsKept != 3 || f.RowsRejected+f.RowsMerged != 0 || f.Columns[0].Readings != 3 {
		t.Errorf("kept %d of 3, %d readings: %q", f.RowsKept, f.Columns[0].Readings, f.Notices)
	}
}

// FuzzTime holds what is read as a time against the standard library's reading of
// RFC 3339.
func FuzzTime(f *testing.F) {
	for _, text := range []string{
		"2026-02-03T20:00:00Z", "2026-02-03T20:00:00.123456789+05:30", "2026-02-03 20:00:00,5-0330", "03/02/2026 08:00:00 PM", "31-DEC-99 20:00:00",
		"2016-12-31T23:59:60Z", "2026-02-03T20:00:00+05:60", "20260203T200000Z", "2026-02-03 24:00:00", "1770148800.25", "46056.8333", "20:00:00", "2026-02-30T00:00:00Z",
	} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, order := range []dateOrder{monthFirst, dayFirst} {
			w, ok := readWritten([]byte(text), order)
			if ok && (w.nano < 0 || w.nano >= 1e9 || w.offset > 24*3600 || w.offset < -24*3600) {
				t.Fatalf("%q: %+v", text, w)
			}
			want, err := time.Parse(time.RFC3339Nano, text)
			if err != nil {
				continue
			}
			_, offset := want.Zone()
			switch got := time.Unix(w.wall-w.offset, w.nano); {
			case !ok && want.Year() > 0 && offset > -24*3600 && offset < 24*3600 && text[len(text)-2:] < "60": // the library takes offsets of 60 minutes and more, RFC 3339 does not
				t.Fatalf("%q was refused, and is %v", text, want)
			case ok && !got.Equal(want):
				t.Fatalf("%q: got %v, want %v", text, got.UTC(), want.UTC())
			}
		}
		if at, form, _, ok := epochInstant([]byte(text)); ok && form == formDayNumber && (at < 0 && utc(at).Year() < 1900 || utc(at).Year() > 2200) {
			t.Fatalf("%q: day number of %v", text, utc(at))
		}
	})
}
