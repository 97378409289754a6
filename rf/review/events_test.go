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

func TestDataGap(t *testing.T) {
	silent := func(from, to float64, match func(r *reading) bool) func(b *bench) {
		return func(b *bench) {
			for _, r := range b.readings {
				if match(r) {
					r.silent = append(r.silent, [2]float64{from, to})
				}
			}
		}
	}
	all := func(*reading) bool { return true }
	of := func(station string) func(*reading) bool {
		return func(r *reading) bool { return r.place[:2] == station }
	}
	one := func(place string, q rf.Quantity) func(*reading) bool {
		return func(r *reading) bool { return r.place == place && r.q == q }
	}
	for _, c := range []struct {
		name    string
		with    func(b *bench)
		want    []string
		minutes float64
	}{
		{"nine minutes", silent(3, 3.15, one("S1", rf.BeamVoltage)), nil, 0},
		{"one channel", silent(3, 3.5, one("S1", rf.BeamVoltage)), []string{"data_gap S1"}, 30},
		{"one channel of a structure", silent(3, 4, one("S1A", rf.WaterTemperature)), []string{"data_gap S1A"}, 60},
		{"all of a station", silent(3, 4, of("S1")), []string{"data_gap S1"}, 60},
		{"the machine", silent(3, 4, all), []string{"data_gap machine"}, 60},
		{"to the end", silent(7, 9, of("S2")), []string{"data_gap S2"}, 60},
		{
			"two stations at other times", func(b *bench) {
				silent(2, 3, of("S1"))(b)
				silent(4, 5, of("S2"))(b)
			}, []string{"data_gap S1", "data_gap S2"}, 60,
		},
		{
			"planned at the station", func(b *bench) {
				b.plant.Planned = []rf.Planned{{From: b.hour(3), To: b.hour(4), Place: "S1"}}
				silent(3, 4, of("S1"))(b)
			}, nil, 0,
		},
		{
			"planned for all", func(b *bench) {
				b.plant.Planned = []rf.Planned{{From: b.hour(3), To: b.hour(4)}}
				silent(3, 4, all)(b)
			}, nil, 0,
		},
		{
			"planned elsewhere", func(b *bench) {
				b.plant.Planned = []rf.Planned{{From: b.hour(3), To: b.hour(4), Place: "S2"}}
				silent(3, 4, of("S1"))(b)
			}, []string{"data_gap S1"}, 60,
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := modest()
			c.with(b)
			r := b.review()
			wantFindings(t, r, c.want...)
			for _, f := range r.Findings {
				if f.Verdict != review.NoData || !within(f.Change, c.minutes, 1.01) || f.Unit != "min" {
					t.Errorf("%s: %s for %v %s", f.Place, f.Verdict, f.Change, f.Unit)
				}
				if f.Until.IsZero() != (c.name == "to the end") {
					t.Errorf("%s: until %v", f.Place, f.Until)
				}
			}
		})
	}
}

func TestBeamMayBeSilentWhileAStationIsOff(t *testing.T) {
	b := modest()
	b.waypoint("S3", 300)
	b.log("WS3", rf.BeamEnergy, budgetMeV, 0.02)
	b.stop("S2", 3, 4)
	b.at("WS3", rf.BeamEnergy).silent = [][2]float64{{3, 4}}
	wantFindings(t, b.review())
	b.stops = nil
	wantFindings(t, b.review(), "data_gap WS3")
}

func TestCoverage(t *testing.T) {
	b := modest()
	b.only(rf.RFOn, rf.BeamVoltage) // six channels
	for _, s := range allStations {
		b.at(s, rf.BeamVoltage).silent = [][2]float64{{2, 4}} // a quarter of one half
	}
	if got := b.review().Coverage; !near(got, 87.5, 1e-9) {
		t.Errorf("coverage %v %%", got)
	}
	b.plant.Planned = []rf.Planned{{From: b.hour(2), To: b.hour(4)}}
	if got := b.review().Coverage; got != 100 {
		t.Errorf("coverage %v %%, and the gap is planned", got)
	}
}

func TestStuckReading(t *testing.T) {
	for _, c := range []struct {
		name string
		with func(b *bench)
		want []string
	}{
		{
			"to the end", func(b *bench) { b.at("S1", rf.BeamVoltage).still = [][2]float64{{5, 9}} },
			[]string{"stuck_reading S1"},
		},
		{
			"and live again", func(b *bench) { b.at("S1A", rf.WaterTemperature).still = [][2]float64{{3, 5}} },
			[]string{"stuck_reading S1A"},
		},
		{"for twenty minutes", func(b *bench) { b.at("S1", rf.BeamVoltage).still = [][2]float64{{5, 5.33}} }, nil},
		{
			// A thermometer of a tenth of a kelvin that regulates well toggles, or not.
			"coarse thermometer", func(b *bench) {
				w := b.at("S1A", rf.WaterTemperature)
				w.step, w.level = 0.1, 30.04
				w.moves = []course{func(h float64) float64 { return 0.02 * math.Sin(2*math.Pi*h/2.7) }}
			}, nil,
		},
		{"never moves at all", func(b *bench) { b.at("S1A", rf.WaterTemperature).still = [][2]float64{{0, 9}} }, nil},
		{"set value", func(b *bench) { b.log("S1", rf.BeamVoltage.Set(), voltageKV, 0) }, nil},
		{"counter", func(b *bench) { b.log("S1", rf.TripCount, 1234, 0) }, nil},
		{"power while RF is off", func(b *bench) { b.stop("S1", 3, 6) }, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := modest()
			c.with(b)
			r := b.review()
			wantFindings(t, r, c.want...)
			for _, f := range r.Findings {
				if f.Verdict != review.NoData || f.Since.Sub(b.hour(map[bool]float64{true: 5, false: 3}[f.Place == "S1"])).Abs() > time.Minute {
					t.Errorf("%s %s since %v", f.Place, f.Verdict, f.Since)
				}
				if f.Until.IsZero() != (f.Place == "S1") {
					t.Errorf("%s until %v", f.Place, f.Until)
				}
			}
		})
	}
}

func TestStuckReadingExplainsNothing(t *testing.T) {
	// The divider stands still while the voltage falls: the perveance that follows
	// from it is none, and the rest still tells what happened.
	b := newBench()
	b.play(ramp(3, 7), klystron(-1, -1.5, -2.5, -6)...)
	b.at("S1", rf.BeamVoltage).still = [][2]float64{{2.5, 9}}
	r := b.review()
	found := told(r.Findings)
	for _, f := range found {
		if strings.HasPrefix(f, "cathode_emission") {
			t.Errorf("told by a voltage that stands still: %v", found)
		}
	}
	if f := finding(t, r, review.StuckReading); f.Quantity != rf.BeamVoltage {
		t.Errorf("%+v", f)
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
