package handover

import (
	"math"
	"testing"
	"time"
)

func TestNumber(t *testing.T) {
	for _, c := range []struct {
		v      float64
		digits int
		want   string
	}{
		{1e-8, 2, "1.0e-08"},
		{-3.2e-7, 2, "-3.2e-07"},
		{0, 4, "0"},
		{math.Copysign(0, -1), 4, "0"},
		{math.NaN(), 4, "not known"},
		{math.Inf(1), 4, "not known"},
		{9.996, 3, "10.0"},
		{99.96, 3, "100"},
		{0.0009996, 3, "1.00e-03"},
		{2998.5, 3, "2998"},
		{2998.6, 3, "2999"},
		{0.02, 2, "0.020"},
		{-0.51, 2, "-0.51"},
		{268.4, 4, "268.4"},
		{1234567, 3, "1.23e+06"},
	} {
		if got := number(c.v, c.digits); got != c.want {
			t.Errorf("number(%v, %d) = %q, want %q", c.v, c.digits, got, c.want)
		}
	}
	if got := signed(math.NaN(), 2); got != notKnown {
		t.Errorf("sign before %q", got)
	}
	if got := withUnit(number(math.NaN(), 2), "kHz"); got != notKnown {
		t.Errorf("unit behind %q", got)
	}
}

// Offsets of the hour that runs twice, from the IANA time zone rules.
func TestClockTellsTheTwoHoursOfAutumnApart(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Skip("skipped: no time zone data on this machine:", err)
	}
	c := clock{zone}
	first := time.Date(2026, 10, 25, 0, 30, 0, 0, time.UTC)
	for _, e := range []struct {
		at   time.Time
		want string
	}{
		{first, "2026-10-25 02:30 +02:00"},
		{first.Add(time.Hour), "2026-10-25 02:30 +01:00"},
		{time.Time{}, notKnown},
	} {
		if got := c.At(e.at); got != e.want {
			t.Errorf("At(%v) = %q, want %q", e.at, got, e.want)
		}
	}
	if got := c.UTC(first); got != "2026-10-25 00:30Z" {
		t.Errorf("UTC = %q", got)
	}
}

func TestCleanTakesTerminalCodesOut(t *testing.T) {
	for in, want := range map[string]string{
		"\x1b[2J\x1b[Hgone":                     "gone",
		"\x1b]0;owned\x07title":                 "title",
		"\x1b]52;c;aGk=\x1b\\clip":              "clip",
		"\u009b31mred":                          "red",
		"a\tb\r\nc":                             "a b  c",
		"left\u202eright":                       "leftright",
		"bad \xff byte":                         "bad  byte",
		"S03 Wärme µ":                           "S03 Wärme µ",
		"\x1b[?1049l\x1b(Bplain\x7f\u0085 \x00": "plain",
	} {
		if got := clean(in); got != want {
			t.Errorf("clean(%q) = %q, want %q", in, got, want)
		}
	}
}
