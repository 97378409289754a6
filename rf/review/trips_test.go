package review_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/review"
	"dawncrest/rf/series"
)

// modest leaves little in the log beside RF and power: enough for trips and gaps.
func modest() *bench {
	b := newBench()
	b.only(rf.RFOn, rf.ForwardPower, rf.BeamVoltage, rf.WaterTemperature)
	return b
}

// trips lets a station trip n times, every twenty minutes from 1:00 on.
func (b *bench) trips(station string, n int) {
	for i := range n {
		b.trip(station, 1+float64(i)/3)
	}
}

func TestTripsAreCountedPerStation(t *testing.T) {
	b := modest()
	b.trips("S1", 3)
	r := b.review()
	s := station(t, r, "S1")
	// Three in 7.9 h of RF; Garwood's exact interval of a count of three is 0.6187 to
	// 8.767 (Biometrika 28 (1936) 437).
	perDay := 24 / (8 - 6.0/60)
	if s.Trips != 3 || !near(s.TripsPerDay[0], 3*perDay, 1e-3) || !near(s.TripsPerDay[1], 0.6187*perDay, 1e-3) || !near(s.TripsPerDay[2], 8.767*perDay, 1e-3) {
		t.Errorf("%d trips, %v a day", s.Trips, s.TripsPerDay)
	}
	if !near(s.OnPercent, 100*(1-6.0/480), 1e-9) {
		t.Errorf("on for %v %%", s.OnPercent)
	}
	if none := station(t, r, "S2"); none.Trips != 0 || none.TripsPerDay[1] != 0 || !near(none.TripsPerDay[2], 3.6889*3, 1e-3) {
		t.Errorf("no trip: %v a day", none.TripsPerDay)
	}
	wantFindings(t, r)
}

// Trips that a reduced log tells of one cell are that many where they can be apart,
// and one where they lie within a restart.
func TestTripsOfOneCell(t *testing.T) {
	for within, want := range map[time.Duration]int{0: 1, time.Minute: 1, 5 * time.Minute: 1, 7 * time.Minute: 3, time.Hour: 3} {
		b := modest()
		b.trip("S1", 3)
		b.events[0].Count, b.events[0].Within = 3, within
		if s := station(t, b.review(), "S1"); s.Trips != want {
			t.Errorf("3 trips within %s: %d", within, s.Trips)
		}
	}
}

func TestTooManyTrips(t *testing.T) {
	// The limits are 4 and 12 in a night. Usual are two a day: 0.67 in eight hours,
	// of which five or more have a chance of 8e-4 and seven one of 1e-5 (Poisson).
	for _, c := range []struct {
		name  string
		n     int
		usual float64
		want  review.Verdict // empty: no finding
	}{
		{"at the limit", 4, math.NaN(), ""},
		{"over the limit, not rare", 5, math.NaN(), ""},
		{"over the limit and rare", 8, math.NaN(), review.Drifting},
		{"over the act limit", 13, math.NaN(), review.OutOfTolerance},
		{"as many as it usually has", 8, 24, ""},
		{"far more than it usually has", 8, 1, review.Drifting},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			b := modest()
			b.plant.Stations[0].TripsPerDay = c.usual
			b.trips("S1", c.n)
			r := b.review()
			if c.want == "" {
				wantFindings(t, r)
				return
			}
			wantFindings(t, r, "trips S1")
			f := finding(t, r, review.TooManyTrips)
			if f.Verdict != c.want || f.Change != float64(c.n) || f.Quantity != rf.Trips || !f.Since.Equal(b.hour(1)) || f.Caution == "" {
				t.Errorf("%+v", f)
			}
			if v := station(t, r, "S1").Verdict; v != c.want {
				t.Errorf("station is %s", v)
			}
		})
	}
}

func TestMedianOfTheOthersIsUsualWhereNothingIsGiven(t *testing.T) {
	// All trip as often, at other times: what all do is no fault of one.
	b := modest()
	for i, s := range allStations {
		for j := range 6 {
			b.trip(s, 1+float64(j)+0.3*float64(i))
		}
	}
	wantFindings(t, b.review())
}

func TestRepeatedTripsWithinARestartAreOne(t *testing.T) {
	b := modest()
	for i := range 10 {
		b.trip("S1", 3+float64(i)*1.5/60) // every 90 s
	}
	b.trip("S1", 5)
	if n := station(t, b.review(), "S1").Trips; n != 2 {
		t.Errorf("%d trips, want 2", n)
	}
}

func TestPlannedTripsAreNotCounted(t *testing.T) {
	for _, place := range []string{"S1", "", rf.MachinePlace} {
		b := modest()
		b.plant.Planned = []rf.Planned{{From: b.hour(0.5), To: b.hour(5), Place: place, Note: "conditioning"}}
		b.trips("S1", 10) // to 4:00
		b.trip("S1", 6)
		r := b.review()
		if n := station(t, r, "S1").Trips; n != 1 {
			t.Errorf("planned at %q: %d trips, want 1", place, n)
		}
		wantFindings(t, r)
	}
}

func TestCommonTripIsOneFinding(t *testing.T) {
	b := modest()
	for i, s := range allStations {
		b.trip(s, 4+float64(3*i)/3600) // within six seconds
	}
	r := b.review()
	wantFindings(t, r, "common_trip machine")
	f := finding(t, r, review.CommonTrip)
	if f.Verdict != review.Drifting || f.Change != 3 || !f.Since.Equal(b.hour(4)) {
		t.Errorf("%+v", f)
	}
	for _, s := range r.Stations {
		if s.Trips != 0 {
			t.Errorf("%s: a common trip is counted against it", s.Station)
		}
	}
}

// Trips that the log dates to a cell only are common in cells of a minute; in wide
// ones they may lie anywhere apart.
func TestCommonTripsDatedToACell(t *testing.T) {
	for _, test := range []struct {
		within time.Duration
		common bool
	}{{time.Minute, true}, {10 * time.Minute, false}} {
		b := modest()
		for _, s := range allStations {
			b.trip(s, 4)
		}
		for i := range b.events {
			b.events[i].Within = test.within
		}
		r := b.review()
		if !test.common {
			wantFindings(t, r)
			continue
		}
		if f := finding(t, r, review.CommonTrip); !strings.Contains(f.Message, "3 stations tripped within 70 s") {
			t.Errorf("%s", f.Message)
		}
	}
}

func TestTripsMinutesApartAreNotCommon(t *testing.T) {
	b := modest()
	for i, s := range allStations {
		b.trip(s, 4+float64(i)/60)
	}
	wantFindings(t, b.review())
}

func TestCommonTripsDoNotHideAStationsOwn(t *testing.T) {
	b := modest()
	for i := range 8 {
		for _, s := range allStations {
			b.trip(s, 0.9+0.8*float64(i))
		}
		b.trip("S1", 0.9+0.8*float64(i)+0.4)
	}
	b.sortEvents()
	r := b.review()
	if n := station(t, r, "S1").Trips; n != 8 {
		t.Errorf("S1 tripped %d times by itself, want 8", n)
	}
	if n := station(t, r, "S2").Trips; n != 0 {
		t.Errorf("S2 tripped %d times by itself", n)
	}
}

func TestTripReasonsAreCounted(t *testing.T) {
	b := modest()
	b.trips("S1", 9)
	for i := range b.events {
		b.events[i].Note = "vacuum"
		if i > 5 {
			b.events[i].Note = "reflected power"
		}
	}
	evidence := strings.Join(finding(t, b.review(), review.TooManyTrips).Evidence, "; ")
	if !strings.Contains(evidence, "reasons: vacuum 6, reflected power 3") {
		t.Errorf("evidence: %s", evidence)
	}
}

func TestClusteredTripsAreSaid(t *testing.T) {
	b := modest()
	for i := range 12 {
		b.trip("S1", 5+float64(i)*3/60)
	}
	evidence := strings.Join(finding(t, b.review(), review.TooManyTrips).Evidence, "; ")
	if !strings.Contains(evidence, "clusters") {
		t.Errorf("twelve trips within 36 min: %s", evidence)
	}
}

func TestEventsOfUnknownPlacesHarmNothing(t *testing.T) {
	b := modest()
	b.events = []series.Event{
		{At: b.hour(-1), Kind: series.Trip, Place: "S1"}, {At: b.hour(4), Kind: series.Trip, Place: "nobody"},
		{At: b.hour(99), Kind: series.Trip, Place: "S1"}, {At: b.hour(8), Kind: series.RFOff, Place: "S1"},
	}
	if r := b.review(); len(r.Events) != 4 {
		t.Errorf("events %+v", r.Events)
	}
}
