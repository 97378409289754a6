package review_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

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
			t.Parallel()
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
