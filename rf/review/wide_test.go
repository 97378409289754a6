package review_test

import (
	"math"
	"testing"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

// weeks returns a quiet log of twenty days in cells of four hours, with trips.
func weeks() *bench {
	b := newBench()
	b.hours, b.width = 480, 4*time.Hour
	return b
}

// A log of weeks is judged like one of a night: from its first cells to its last.
func TestWideCells(t *testing.T) {
	b := weeks()
	b.trip("S2", 100)
	quiet := b.review()
	for _, s := range quiet.Stations {
		if s.Verdict != review.InTolerance || !rf.Known(s.Gain) || !rf.Known(s.GainReference) {
			t.Errorf("%s: %s, gain %v of %v", s.Station, s.Verdict.Words(), s.Gain, s.GainReference)
		}
	}
	if quiet.Reference.Settled != 3*b.width || quiet.Reference.Kind != "first 3 settled cells" {
		t.Errorf("the reference: %s, %v; want three cells", quiet.Reference.Kind, quiet.Reference.Settled)
	}

	b.play(ramp(200, 400), by("S1", rf.DrivePower, -40), by("S1", rf.ForwardPower, -3), by("S1", rf.CompressedPower, -15),
		by("S1A", rf.InputPower, -7.4), by("S1B", rf.InputPower, -7.4), by("S1A", rf.OutputPower, -2.37), by("S1B", rf.OutputPower, -2.37))
	drifted := b.review()
	if s := station(t, drifted, "S1"); !s.Verdict.Flagged() {
		t.Errorf("S1 lost a tenth of its power and is %s", s.Verdict.Words())
	}
	if s := station(t, drifted, "S3"); s.Verdict != review.InTolerance {
		t.Errorf("S3 is %s", s.Verdict.Words())
	}
}

// The share of time with RF is that of the readings, however wide a cell is, and a
// trip in the last cell does not count a station out that ends with RF.
func TestTripInTheLastWideCell(t *testing.T) {
	const share = 0.98 // of the last cell with RF
	for _, test := range []struct {
		name string
		last float64 // reading of the state
		off  bool
	}{{"RF came back", 1, false}, {"RF stays off", 0, true}} {
		t.Run(test.name, func(t *testing.T) {
			b := weeks()
			b.log("S1", rf.RFOn, 1, 0)
			n := b.night()
			for i := range n.Channels {
				if c := &n.Channels[i]; c.Place == "S1" && c.Quantity == rf.RFOn {
					cell := &c.Cells[n.Cells-1]
					cell.Mean, cell.Min, cell.Last = share, 0, test.last
				}
			}
			s := station(t, review.Review(b.plant, n, review.Options{}), "S1")
			if got, want := s.OnPercent, 100*(1-(1-share)/float64(n.Cells)); math.Abs(got-want) > 1e-9 {
				t.Errorf("RF on %v %%, want %v", got, want)
			}
			if off := s.Gain == 0; off != test.off || !off && !rf.Known(s.Gain) {
				t.Errorf("gain %v", s.Gain)
			}
		})
	}
}
