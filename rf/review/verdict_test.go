package review_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

func TestVerdictWords(t *testing.T) {
	for _, c := range []struct {
		verdict review.Verdict
		words   string
		rank    int
		flagged bool
	}{
		{review.OutOfTolerance, "out of tolerance", 0, true},
		{review.Drifting, "drifting", 1, true},
		{review.NoData, "no data", 2, false},
		{review.InTolerance, "in tolerance", 3, false},
	} {
		if c.verdict.Words() != c.words || c.verdict.Rank() != c.rank || c.verdict.Flagged() != c.flagged {
			t.Errorf("%s: %q, rank %d, flagged %v", c.verdict, c.verdict.Words(), c.verdict.Rank(), c.verdict.Flagged())
		}
		for _, other := range []review.Verdict{review.OutOfTolerance, review.Drifting, review.NoData, review.InTolerance} {
			if worse := review.Worse(c.verdict, other); worse.Rank() != min(c.rank, other.Rank()) {
				t.Errorf("worse of %s and %s: %s", c.verdict, other, worse)
			}
		}
	}
}

func TestHold(t *testing.T) {
	tenth := 0.1
	for _, c := range []struct {
		name       string
		judged     float64
		drift, act float64
		want       review.Verdict
	}{
		{"nothing", 0, 1, 3, review.InTolerance},
		{"just inside", 0.999, 1, 3, review.InTolerance},
		{"at the drift limit", 1, 1, 3, review.InTolerance},
		{"at it from below", -1, 1, 3, review.InTolerance},
		{"binary rounding over it: 0.1 + 0.2 > 0.3", tenth + 0.2, 0.3, 1, review.InTolerance},
		{"a millionth beyond", 1.000001, 1, 3, review.Drifting},
		{"beyond", -1.1, 1, 3, review.Drifting},
		{"at the act limit", 3, 1, 3, review.Drifting},
		{"beyond the act limit", -3.001, 1, 3, review.OutOfTolerance},
		{"not known", math.NaN(), 1, 3, review.NoData},
		{"limits alike", 1, 1, 1, review.InTolerance},
		{"infinite", math.Inf(-1), 1, 3, review.OutOfTolerance},
		{"no limit", 1e9, math.Inf(1), math.Inf(1), review.InTolerance},
	} {
		if got := review.Hold(c.judged, c.drift, c.act); got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}

// limits lays one row of tolerances over the bench's.
func (b *bench) limits(q rf.Quantity, basis rf.Basis, drift, act float64, unit string) {
	var kept []rf.Tolerance
	for _, t := range b.plant.Tolerances {
		if t.Quantity != q {
			kept = append(kept, t)
		}
	}
	b.plant.Tolerances = append(kept, rf.Tolerance{Quantity: q, Basis: basis, DriftLimit: drift, ActLimit: act, Unit: unit})
}

// thermometer is a bench with little but the inlet water of S1A in its log, with
// limits so wide that half a shift fits between them.
func thermometer() *bench {
	b := newBench()
	b.only(rf.RFOn, rf.ForwardPower, rf.WaterTemperature)
	b.limits(rf.WaterTemperature, rf.Change, 1, 2, "K")
	return b
}

func water(t *testing.T, b *bench) *review.Trace {
	t.Helper()
	return trace(t, b.review(), "S1A", rf.WaterTemperature)
}

func TestVerdictsOfATraceByBasis(t *testing.T) {
	// A reading of no scatter and a fine resolution steps at 4:00.
	for _, c := range []struct {
		name   string
		basis  rf.Basis
		limits [2]float64
		from   float64
		to     float64
		want   review.Verdict
		judged float64
	}{
		{"change at the limit", rf.Change, [2]float64{0.2, 0.5}, 30, 30.2, review.InTolerance, 0.2},
		{"change at the limit, down", rf.Change, [2]float64{0.2, 0.5}, 30, 29.8, review.InTolerance, -0.2},
		{"change beyond", rf.Change, [2]float64{0.2, 0.5}, 30, 30.2001, review.Drifting, 0.2001},
		{"change at the act limit", rf.Change, [2]float64{0.2, 0.5}, 30, 30.5, review.Drifting, 0.5},
		{"change beyond the act limit", rf.Change, [2]float64{0.2, 0.5}, 30, 29.4999, review.OutOfTolerance, -0.5001},
		{"percent at the limit", rf.Relative, [2]float64{2, 5}, 30, 30.6, review.InTolerance, 2},
		{"percent beyond", rf.Relative, [2]float64{2, 5}, 30, 29.39, review.Drifting, -61.0 / 30},
		{"percent beyond the act limit", rf.Relative, [2]float64{2, 5}, 30, 31.6, review.OutOfTolerance, 160.0 / 30},
		{"multiple at the limit", rf.Ratio, [2]float64{3, 10}, 2, 6, review.InTolerance, 3},
		{"multiple beyond", rf.Ratio, [2]float64{3, 10}, 2, 6.1, review.Drifting, 3.05},
		{"multiple beyond the act limit", rf.Ratio, [2]float64{3, 10}, 2, 20.1, review.OutOfTolerance, 10.05},
		{"value itself at the limit", rf.Absolute, [2]float64{90, 97}, 50, 90, review.InTolerance, 90},
		{"value itself beyond", rf.Absolute, [2]float64{90, 97}, 50, 91, review.Drifting, 91},
		{"value itself beyond all night", rf.Absolute, [2]float64{90, 97}, 98, 98, review.OutOfTolerance, 98},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			b := thermometer()
			b.limits(rf.WaterTemperature, c.basis, c.limits[0], c.limits[1], "")
			r := b.at("S1A", rf.WaterTemperature)
			r.level, r.scatter = c.from, 0
			r.moves = []course{func(h float64) float64 { return 1e-5 * (stepAt(3)(h) - stepAt(3.2)(h)) }}
			b.play(stepAt(4), by("S1A", rf.WaterTemperature, c.to-c.from))
			w := water(t, b)
			if w.Verdict != c.want || !near(w.Judged, c.judged, 1e-9) {
				t.Errorf("%s at %v, want %s at %v (why %q)", w.Verdict, w.Judged, c.want, c.judged, w.Why)
			}
			if w.DriftLimit != c.limits[0] || w.ActLimit != c.limits[1] || w.Basis != c.basis {
				t.Errorf("held against %v %v %v", w.Basis, w.DriftLimit, w.ActLimit)
			}
		})
	}
}

func TestNamedPlaceOverridesTheLimitForAll(t *testing.T) {
	b := thermometer()
	b.plant.Tolerances = append(b.plant.Tolerances,
		rf.Tolerance{Quantity: rf.WaterTemperature, Place: "S1B", Basis: rf.Change, DriftLimit: 0.1, ActLimit: 0.3, Unit: "K"})
	b.play(stepAt(4), by("S1A", rf.WaterTemperature, 0.4), by("S1B", rf.WaterTemperature, 0.4))
	r := b.review()
	if w := trace(t, r, "S1A", rf.WaterTemperature); w.Verdict != review.InTolerance {
		t.Errorf("S1A %s", w.Verdict)
	}
	if w := trace(t, r, "S1B", rf.WaterTemperature); w.Verdict != review.OutOfTolerance {
		t.Errorf("S1B %s", w.Verdict)
	}
}

func TestWorseOfTwoTolerancesCounts(t *testing.T) {
	// Pressure is held against multiples of its reference and against a level.
	b := newBench()
	b.at("S1", rf.VacuumPressure).level = 8e-8
	b.at("S2", rf.VacuumPressure).level = 1e-9
	b.at("S2", rf.VacuumPressure).scatter = 1e-11
	b.play(ramp(3, 5), byPercent("S1", rf.VacuumPressure, 50), byPercent("S2", rf.VacuumPressure, 400))
	r := b.review()
	for place, want := range map[string]rf.Basis{"S1": rf.Absolute, "S2": rf.Ratio} {
		if p := trace(t, r, place, rf.VacuumPressure); p.Verdict != review.Drifting || p.Basis != want {
			t.Errorf("%s: %s by %s", place, p.Verdict, p.Basis)
		}
	}
}

func TestScatterAloneIsNoDrift(t *testing.T) {
	// Quarter hours that scatter by the drift limit cannot tell a change of it.
	random := rand.New(rand.NewPCG(7, 7))
	quarter := make([]float64, 33)
	for i := range quarter {
		quarter[i] = 0.15 * random.NormFloat64()
	}
	quarter[31], quarter[32] = 0.25, 0.25 // beyond the limit, where it happens to end
	b := thermometer()
	b.limits(rf.WaterTemperature, rf.Change, 0.2, 0.5, "K")
	b.move("S1A", rf.WaterTemperature, func(h float64) float64 { return quarter[int(4*h)] })
	if w := water(t, b); w.Verdict != review.InTolerance {
		t.Errorf("%s: changed by %v with noise %v", w.Verdict, w.Change, w.Noise)
	}
}

func TestFewerThanEightCellsGiveNoVerdict(t *testing.T) {
	for _, c := range []struct {
		readings float64 // in the night
		want     review.Verdict
	}{{7, review.NoData}, {8, review.InTolerance}} {
		b := thermometer()
		b.at("S1A", rf.WaterTemperature).silent = [][2]float64{{0, 1}, {1 + c.readings/60, 9}}
		w := water(t, b)
		if w.Verdict != c.want || (w.Why == "") != (c.want == review.InTolerance) {
			t.Errorf("%v readings: %s %q", c.readings, w.Verdict, w.Why)
		}
	}
}

func TestPhaseThatIsNotLockedGivesNoVerdict(t *testing.T) {
	b := newBench()
	b.at("S1", rf.ForwardPhase).inCell = 60
	b.at("S2", rf.ForwardPhase).inCell = 20
	r := b.review()
	if p := trace(t, r, "S1", rf.ForwardPhase); p.Verdict != review.NoData || p.Why != "the phase is not locked" || !math.IsNaN(p.Change) {
		t.Errorf("scatter of 60 deg: %s %q, change %v", p.Verdict, p.Why, p.Change)
	}
	if p := trace(t, r, "S2", rf.ForwardPhase); p.Verdict != review.InTolerance {
		t.Errorf("scatter of 20 deg: %s %q", p.Verdict, p.Why)
	}
}

func TestMissingReadingsAreNeverInTolerance(t *testing.T) {
	// Voltage and current are never read in the same hours: perveance is not known.
	b := newBench()
	b.at("S1", rf.BeamVoltage).silent = [][2]float64{{4, 9}}
	b.at("S1", rf.BeamCurrent).silent = [][2]float64{{0, 4}}
	r := b.review()
	p := trace(t, r, "S1", rf.Microperveance)
	if p.Verdict != review.NoData || !math.IsNaN(p.Now) || !math.IsNaN(p.Judged) {
		t.Errorf("perveance %s, now %v", p.Verdict, p.Now)
	}
	if !math.IsNaN(r.Stations[0].Microperveance) {
		t.Errorf("station's perveance %v", r.Stations[0].Microperveance)
	}
	if r.Trace("S1", rf.HeaterCurrent) != nil {
		t.Error("a trace of what was never logged")
	}
}

func TestPlaceWithoutReadingsHasNoData(t *testing.T) {
	b := newBench()
	for _, place := range []string{"S2", "S2A", "S2B"} {
		for _, info := range rf.Quantities() {
			b.drop(place, info.Name)
		}
	}
	r := b.review()
	if s := r.Stations[1]; s.Verdict != review.NoData || rf.Known(s.Gain) {
		t.Errorf("station %s, gain %v", s.Verdict, s.Gain)
	}
	for _, s := range r.Structures[2:4] {
		if s.Verdict != review.NoData || rf.Known(s.Detuning) || s.Advice != review.Withheld || s.Reason != "too little data" {
			t.Errorf("structure %s, detuning %v, %s %q", s.Verdict, s.Detuning, s.Advice, s.Reason)
		}
	}
}

func TestZeroReferenceHasNoPercent(t *testing.T) {
	b := thermometer()
	b.limits(rf.WaterTemperature, rf.Relative, 2, 5, "%")
	r := b.at("S1A", rf.WaterTemperature)
	r.level, r.scatter = 0, 0
	b.play(stepAt(4), by("S1A", rf.WaterTemperature, 1))
	if w := water(t, b); w.Verdict != review.NoData {
		t.Errorf("%s, judged %v", w.Verdict, w.Judged)
	}
}
