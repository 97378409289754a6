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

// meanOf is the mean of cells of a trace, by hand.
func meanOf(t *review.Trace, cells ...int) float64 {
	sum := 0.0
	for _, i := range cells {
		sum += t.Mean[i]
	}
	return sum / float64(len(cells))
}

func from(first, last int) []int {
	var cells []int
	for i := first; i < last; i++ {
		cells = append(cells, i)
	}
	return cells
}

func TestReferenceIsTheFirstSettledHour(t *testing.T) {
	tests := []struct {
		name    string
		with    func(b *bench)
		cells   []int // of S1
		settled time.Duration
		note    string
	}{
		{"whole", func(b *bench) {}, from(21, 81), time.Hour, ""},
		{
			"not together", func(b *bench) { b.trip("S1", 50.0/60) }, // settled again from minute 73
			append(from(21, 50), from(73, 104)...), time.Hour, "",
		},
		{
			"no further than two hours after the start", func(b *bench) { b.stop("S1", 0, 1) }, // settled from 81 on
			from(81, 120), 39 * time.Minute, "some places have only 39 settled minutes in it",
		},
		{
			"eight cells are enough", func(b *bench) { b.stop("S1", 0, 91.0/60) },
			from(112, 120), 8 * time.Minute, "some places have only 8 settled minutes in it",
		},
	}
	for _, c := range tests {
		t.Run(c.name, func(t *testing.T) {
			b := newBench()
			b.only(rf.RFOn, rf.ForwardPower, rf.BeamVoltage)
			c.with(b)
			r := b.review()
			v := trace(t, r, "S1", rf.BeamVoltage)
			if want := meanOf(v, c.cells...); !near(v.Reference, want, 1e-12) {
				t.Errorf("reference %v, want %v", v.Reference, want)
			}
			if v.Why != "" || v.Verdict != review.InTolerance {
				t.Errorf("verdict %s %q", v.Verdict, v.Why)
			}
			ref := r.Reference
			if ref.Kind != "first settled hour" || ref.Settled != c.settled || ref.Note != c.note {
				t.Errorf("reference said as %+v", ref)
			}
			if !ref.From.Equal(b.hour(21.0 / 60)) { // that of the other stations
				t.Errorf("reference from %v", ref.From)
			}
			if last := b.hour(float64(max(81, c.cells[len(c.cells)-1]+1)) / 60); !ref.To.Equal(last) {
				t.Errorf("reference to %v, want %v", ref.To, last)
			}
		})
	}
}

func TestTooFewCellsGiveNoReference(t *testing.T) {
	b := newBench()
	b.only(rf.RFOn, rf.ForwardPower, rf.BeamVoltage)
	b.stop("S1", 0, 92.0/60)
	v := trace(t, b.review(), "S1", rf.BeamVoltage)
	if v.Verdict != review.NoData || !math.IsNaN(v.Reference) || !math.IsNaN(v.Change) {
		t.Errorf("verdict %s, reference %v, change %v", v.Verdict, v.Reference, v.Change)
	}
	if v.Why != "only 7 settled cells in the reference, 8 are needed" {
		t.Errorf("why: %q", v.Why)
	}
}

func TestReferenceOfAGivenSpan(t *testing.T) {
	b := newBench()
	b.only(rf.RFOn, rf.ForwardPower, rf.BeamVoltage)
	b.play(ramp(0, 3), byPercent("S1", rf.BeamVoltage, 2))
	r := b.reviewWith(review.Options{ReferenceSpan: &series.Span{From: b.hour(4), To: b.hour(6)}})
	v := trace(t, r, "S1", rf.BeamVoltage)
	if want := meanOf(v, from(240, 360)...); !near(v.Reference, want, 1e-12) {
		t.Errorf("reference %v, want %v", v.Reference, want)
	}
	if v.Verdict != review.InTolerance || !within(v.Change, 0, 0.05) {
		t.Errorf("verdict %s, change %v", v.Verdict, v.Change)
	}
	ref := r.Reference
	if ref.Kind != "given span" || !ref.From.Equal(b.hour(4)) || !ref.To.Equal(b.hour(6)) || ref.Settled != 2*time.Hour {
		t.Errorf("reference said as %+v", ref)
	}
}

func TestGivenSpanOutsideTheLog(t *testing.T) {
	b := newBench()
	b.only(rf.RFOn, rf.ForwardPower, rf.BeamVoltage)
	for _, span := range []series.Span{
		{From: b.hour(-5), To: b.hour(-3)}, {From: b.hour(20), To: b.hour(22)}, {From: b.hour(5), To: b.hour(4)},
	} {
		v := trace(t, b.reviewWith(review.Options{ReferenceSpan: &span}), "S1", rf.BeamVoltage)
		if v.Verdict != review.NoData || v.Why == "" {
			t.Errorf("%v: verdict %s %q", span, v.Verdict, v.Why)
		}
	}
}

// handover is what an accepted handover carries: levels by place and quantity.
func handover(b *bench, values map[string]map[rf.Quantity]float64) review.Options {
	return review.Options{Levels: &review.Levels{From: b.hour(-24), To: b.hour(-16), Values: values}}
}

func TestReferenceOfAnAcceptedHandover(t *testing.T) {
	b := newBench()
	r := b.reviewWith(handover(b, map[string]map[rf.Quantity]float64{
		"S1": {rf.BeamVoltage: voltageKV, rf.ForwardPhase: 12 - 3*360, rf.BeamCurrent: currentA * 0.95},
		"S2": {rf.ForwardPhase: 2 + 360},
	}))
	if ref := r.Reference; ref.Kind != "accepted handover" || !ref.From.Equal(b.hour(-24)) || !ref.To.Equal(b.hour(-16)) {
		t.Errorf("reference said as %+v", ref)
	}
	if v := trace(t, r, "S1", rf.BeamVoltage); v.Reference != voltageKV {
		t.Errorf("voltage reference %v", v.Reference)
	}
	if i := trace(t, r, "S1", rf.BeamCurrent); i.Verdict != review.OutOfTolerance || !near(i.Judged, 100*0.05/0.95, 0.01) {
		t.Errorf("current %s, judged %v", i.Verdict, i.Judged)
	}
	// Phases come back by whole turns only.
	if p := trace(t, r, "S1", rf.ForwardPhase); p.Reference != 12 || p.Verdict != review.InTolerance {
		t.Errorf("S1 phase reference %v, %s", p.Reference, p.Verdict)
	}
	if p := trace(t, r, "S2", rf.ForwardPhase); p.Reference != 2 || p.Verdict != review.OutOfTolerance {
		t.Errorf("S2 phase reference %v, %s", p.Reference, p.Verdict)
	}
	// What the handover does not carry is measured from the first settled hour.
	if w := trace(t, r, "S1A", rf.WaterTemperature); !near(w.Reference, meanOf(w, from(21, 81)...), 1e-12) {
		t.Errorf("water reference %v", w.Reference)
	}
}

func TestOtherModeIsSaidAndNotCompared(t *testing.T) {
	b := newBench()
	b.log("S1", rf.BeamVoltage.Set(), voltageKV, 0)
	b.log("S2", rf.DrivePhase.Set(), 77, 0)
	r := b.reviewWith(handover(b, map[string]map[rf.Quantity]float64{
		"S1": {rf.BeamVoltage.Set(): 250, rf.BeamVoltage: 250, rf.ForwardPower: 25, rf.CompressorTemperature: 44},
		"S2": {rf.DrivePhase.Set(): 40, rf.ForwardPhase: -25, rf.BeamVoltage: voltageKV},
	}))
	for _, c := range []struct {
		place string
		q     rf.Quantity
		other bool
	}{
		{"S1", rf.BeamVoltage, true},
		{"S1", rf.ForwardPower, true},
		{"S1A", rf.InputPower, true},
		{"S1", rf.CompressorTemperature, false}, // follows no set value of the station
		{"S1A", rf.WaterTemperature, false},
		{"S2", rf.ForwardPhase, true},
		{"S2A", rf.InputPhase, true},
		{"S2", rf.BeamVoltage, false},
		{"S3", rf.BeamVoltage, false},
	} {
		v := trace(t, r, c.place, c.q)
		said := strings.Contains(v.Why, "another mode")
		if said != c.other || said != (v.Verdict == review.NoData) {
			t.Errorf("%s %s: %s, why %q", c.place, c.q, v.Verdict, v.Why)
		}
	}
	if why := trace(t, r, "S1", rf.BeamVoltage).Why; !strings.Contains(why, "267 kV instead of 250 kV") {
		t.Errorf("why: %q", why)
	}
	for _, f := range r.Findings {
		if f.Verdict.Flagged() && f.Place != "S1" {
			t.Errorf("%s %s: %s", f.Place, f.Cause, f.Message)
		}
	}
}

func TestSameModeOfAHandoverIsCompared(t *testing.T) {
	b := newBench()
	b.log("S1", rf.BeamVoltage.Set(), voltageKV, 0)
	r := b.reviewWith(handover(b, map[string]map[rf.Quantity]float64{
		"S1": {rf.BeamVoltage.Set(): voltageKV * 1.0005, rf.BeamVoltage: voltageKV},
	}))
	if v := trace(t, r, "S1", rf.BeamVoltage); v.Verdict != review.InTolerance {
		t.Errorf("verdict %s, why %q", v.Verdict, v.Why)
	}
}

func TestMovingReferenceIsRefused(t *testing.T) {
	// The drift limit of inlet water is 0.2 K. A warm-up of 0.5 K/h moves a
	// reference by it, one of 0.05 K/h does not.
	for _, c := range []struct {
		perHour float64
		refused bool
	}{{0.5, true}, {-0.5, true}, {0.05, false}} {
		b := newBench()
		b.only(rf.RFOn, rf.ForwardPower, rf.WaterTemperature)
		b.play(ramp(0, 2), by("S1A", rf.WaterTemperature, 2*c.perHour))
		w := trace(t, b.review(), "S1A", rf.WaterTemperature)
		if refused := strings.Contains(w.Why, "reference itself moved"); refused != c.refused || refused != (w.Verdict == review.NoData) {
			t.Errorf("%v K/h: %s, why %q", c.perHour, w.Verdict, w.Why)
		}
	}
}

func TestStepWithinTheReferenceIsRefused(t *testing.T) {
	b := newBench()
	b.only(rf.RFOn, rf.ForwardPower, rf.WaterTemperature)
	b.play(stepAt(50.0/60), by("S1A", rf.WaterTemperature, 0.5))
	if w := trace(t, b.review(), "S1A", rf.WaterTemperature); w.Verdict != review.NoData || !strings.Contains(w.Why, "reference itself moved") {
		t.Errorf("%s, why %q", w.Verdict, w.Why)
	}
}

func TestNowIsTheLastSettledQuarterHour(t *testing.T) {
	tests := []struct {
		name  string
		with  func(b *bench)
		cells []int
		end   float64 // hours
	}{
		{"to the log's end", func(b *bench) {}, from(465, 480), 8},
		{"to a stop", func(b *bench) { b.stop("S1", 6.5, 9) }, from(375, 390), 6.5},
		{"around a trip", func(b *bench) { b.trip("S1", 7.5) }, append(from(442, 450), from(473, 480)...), 8}, // settled again from 473
	}
	for _, c := range tests {
		t.Run(c.name, func(t *testing.T) {
			b := newBench()
			b.only(rf.RFOn, rf.ForwardPower, rf.BeamVoltage)
			c.with(b)
			v := trace(t, b.review(), "S1", rf.BeamVoltage)
			if want := meanOf(v, c.cells...); !near(v.Now, want, 1e-12) {
				t.Errorf("now %v, want %v", v.Now, want)
			}
			if !v.NowAt.Equal(b.hour(c.end)) {
				t.Errorf("now at %v, want %v", v.NowAt, b.hour(c.end))
			}
		})
	}
}
