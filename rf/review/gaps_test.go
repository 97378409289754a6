package review_test

import (
	"testing"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

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
			t.Parallel()
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
