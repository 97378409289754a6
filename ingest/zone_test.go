package ingest

import (
	"testing"
	"time"
)

// Each hour about the ends of years, also those that the table of a zone no longer
// reaches, is found once and as the standard library has it.
func TestLocalClockAtTheEndOfTheYear(t *testing.T) {
	for _, name := range []string{"Europe/Berlin", "America/New_York", "Australia/Sydney", "Asia/Tokyo"} {
		zone, err := time.LoadLocation(name)
		if err != nil {
			t.Fatal(err)
		}
		for year := 2036; year <= 2048; year++ {
			for hour := range 24 * 6 {
				shown := time.Date(year, time.December, 29, hour, 30, 0, 0, time.UTC).Unix()
				want := time.Date(year, time.December, 29, hour, 30, 0, 0, zone).Unix()
				clock := localClock{zone: zone}
				if got, _, count := clock.instants(shown); count != 1 || got != want {
					t.Fatalf("%s %d, hour %d: %d times, %d; the standard library says %d", name, year, hour, count, got, want)
				}
			}
		}
	}
}
