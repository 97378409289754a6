package review_test

import (
	"fmt"
	"math"
	"runtime"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

func TestQuietNightHasNoFinding(t *testing.T) {
	for seed := uint64(1); seed <= 3; seed++ {
		b := newBench()
		b.seed = seed
		r := b.review()
		wantFindings(t, r)
		if len(r.NotJudged) > 0 || r.Coverage != 100 {
			t.Errorf("seed %d: coverage %v %%, not judged %+v", seed, r.Coverage, r.NotJudged)
		}
		for _, s := range r.Stations {
			if s.Verdict != review.InTolerance {
				t.Errorf("seed %d: %s is %s", seed, s.Station, s.Verdict)
			}
		}
		for _, s := range r.Structures {
			if s.Verdict != review.InTolerance || s.Advice != review.Leave {
				t.Errorf("seed %d: %s is %s, %s", seed, s.Structure, s.Verdict, s.Advice)
			}
		}
	}
}

func TestWhatOrdinaryNightsBring(t *testing.T) {
	// None of it is a fault; each must leave the list of findings empty.
	sine := func(size, periodH, at float64) course {
		return func(h float64) float64 { return size * math.Sin(2*math.Pi*(h/periodH+at)) }
	}
	for _, c := range []struct {
		name string
		with func(b *bench)
	}{
		{"water cycles by 0.05 K every half hour", func(b *bench) {
			for i, s := range allStructures {
				water, late := sine(0.05, 0.5, 0.2*float64(i)), sine(0.03, 0.5, 0.2*float64(i)-0.15)
				b.move(s, rf.WaterTemperature, water)
				b.move(s, rf.BodyTemperature, late)
				b.move(s, rf.OutputPhase, func(h float64) float64 { return slipDegPerK * late(h) })
			}
		}},
		{"a trip or two at every station", func(b *bench) {
			for i, s := range allStations {
				b.trip(s, 2.3+1.1*float64(i))
				b.trip(s, 6.1+0.2*float64(i))
			}
			b.sortEvents()
		}},
		{"standby for an hour", func(b *bench) { b.stop("S2", 4, 5) }},
		{"warm-up at the start", func(b *bench) {
			cold := func(h float64) float64 { return -2 * math.Exp(-h/0.1) }
			for _, s := range allStructures {
				b.move(s, rf.BodyTemperature, cold)
				b.move(s, rf.OutputPhase, func(h float64) float64 { return slipDegPerK * cold(h) })
			}
		}},
		{"thermometers of a tenth of a kelvin", func(b *bench) {
			for i, s := range allStructures {
				b.at(s, rf.WaterTemperature).step, b.at(s, rf.WaterTemperature).level = 0.1, 30+0.02*float64(i)
				b.at(s, rf.BodyTemperature).step = 0.1
			}
		}},
		{"couplers wrong by several per cent", func(b *bench) {
			b.at("S1A", rf.InputPower).level *= 1.06
			b.at("S1B", rf.OutputPower).level *= 0.93
			b.at("S2", rf.CompressedPower).level *= 0.95
		}},
		{"a compressor that breathes by 0.05 K", func(b *bench) {
			warm := sine(0.05, 0.6, 0)
			b.move("S1", rf.CompressorTemperature, warm)
			for _, s := range allStructures[:2] {
				for _, q := range []rf.Quantity{rf.InputPhase, rf.OutputPhase} {
					b.move(s, q, func(h float64) float64 { return -14 * warm(h) })
				}
			}
		}},
		{"pick-ups that wander by half a degree", func(b *bench) {
			for i, s := range allStructures {
				b.move(s, rf.InputPhase, sine(0.5, 7, 0.17*float64(i)))
				b.move(s, rf.OutputPhase, sine(0.5, 9, 0.31*float64(i)))
			}
		}},
		{"phases that wrap", func(b *bench) {
			b.at("S1", rf.ForwardPhase).level = 179.9
			b.at("S1A", rf.OutputPhase).level = -180
		}},
		{"mains that move all voltages by a tenth of a per cent", func(b *bench) {
			for _, s := range allStations {
				b.play(sine(1, 6, 0), byPercent(s, rf.BeamVoltage, 0.1), byPercent(s, rf.BeamCurrent, 0.15), byPercent(s, rf.ForwardPower, 0.25), by(s, rf.ForwardPhase, 0.6))
			}
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			b := newBench()
			c.with(b)
			wantFindings(t, b.review())
		})
	}
}

func TestUnexplainedSaysWhatWasTried(t *testing.T) {
	// Pulse flatness has no cause of its own; a voltage that rises while its current
	// falls and its power rises fits none.
	b := newBench()
	b.log("S2", rf.PulseFlatness, 0.1, 0.01)
	b.play(ramp(3, 7), by("S2", rf.PulseFlatness, 0.5))
	r := b.review()
	wantFindings(t, r, "unexplained S2")
	f := finding(t, r, review.Unexplained)
	if f.Verdict != review.Drifting || f.Quantity != rf.PulseFlatness || !near(f.Change, 0.5, 0.05) || !strings.Contains(f.Advice, "Touch nothing on this alone") {
		t.Errorf("%+v", f)
	}

	b = newBench()
	b.play(ramp(3, 7), by("S1A", rf.BodyTemperature, 1), by("S1A", rf.OutputPhase, 12))
	r = b.review()
	for _, f := range r.Findings {
		if f.Cause == review.Unexplained && !strings.Contains(strings.Join(f.Evidence, ";"), "tried: ") {
			t.Errorf("does not say what was tried: %v", f.Evidence)
		}
		if f.Cause == review.WaterDetuning {
			t.Errorf("warmer and leading: %s", f.Message)
		}
	}
}

func TestEachFlaggedReadingIsAccountedFor(t *testing.T) {
	// A flagged trace is told, at its station at least.
	b := newBench()
	b.play(ramp(3, 7), byPercent("S1", rf.BeamVoltage, 2), byPercent("S1", rf.ForwardPower, 6), by("S1A", rf.BodyTemperature, 1), by("S2A", rf.InputPhase, 20))
	r := b.review()
	at := map[string]bool{}
	for _, f := range r.Findings {
		at[f.Station] = true
	}
	for i := range r.Traces {
		if tr := &r.Traces[i]; tr.Verdict.Flagged() && !at[b.stationOf(tr.Place)] {
			t.Errorf("%s %s is %s and nothing is said of it", tr.Place, tr.Quantity, tr.Verdict)
		}
	}
}

func TestFindingsAreSortedByVerdictAndCost(t *testing.T) {
	b := newBench()
	b.play(ramp(3, 7), powers(-25)...)                                                                   // out of tolerance, the dearest
	b.play(ramp(3, 7), byPercent("S3A", rf.InputPower, -12), byPercent("S3A", rf.OutputPower, -12))      // out of tolerance
	b.play(ramp(3, 7), byPercent("S2", rf.BeamVoltage, 1))                                               // drifting, costs nothing
	b.play(ramp(3, 7), byPercent("S2B", rf.InputPower, -5), byPercent("S2B", rf.OutputPower, -5))        // drifting
	b.at("S2A", rf.WaterFlow).silent = [][2]float64{{3, 4}}                                              // no data
	b.log("S2", rf.BeamVoltage.Set(), voltageKV, 0).moves = []course{func(float64) float64 { return 0 }} // set and left
	r := b.review()
	var order []string
	for i, f := range r.Findings {
		order = append(order, string(f.Cause)+" "+f.Place)
		if i == 0 {
			continue
		}
		last := r.Findings[i-1]
		if f.Verdict.Rank() < last.Verdict.Rank() || f.Verdict == last.Verdict && f.EnergyCost > last.EnergyCost {
			t.Errorf("%s at %v before %s at %v", last.Verdict, last.EnergyCost, f.Verdict, f.EnergyCost)
		}
	}
	want := []string{"waveguide_loss S1", "waveguide_loss S3", "waveguide_loss S2B", "reading_doubted S2", "data_gap S2A"}
	if diff := cmp.Diff(want, order); diff != "" {
		t.Errorf("order (-want +got):\n%s", diff)
	}
}

// busy is a night in which much happens at once.
func busy() *bench {
	b := newBench()
	b.waypoint("S2", 200)
	b.waypoint("S3", 300)
	b.plant.Waypoints[0].R56M = -0.05
	b.log("WS3", rf.BeamEnergy, budgetMeV, 0.05)
	loop(b)
	b.plant.Structures[0].TunedPhase = 40 * rf.Degree
	b.trip("S3", 5)
	b.stop("S2", 3.1, 3.4)
	b.play(ramp(3, 7), klystron(-1, -1.5, -2.5, -6)...)
	b.play(ramp(2, 6), append(warmWater("S2A", 0.5), warmWater("S2B", 0.5)...)...)
	b.play(stepAt(4), append(phaseFollows(12), byPercent("S3A", rf.WaterFlow, -9))...)
	b.play(ramp(1.5, 7.5), byPercent("S2", rf.VacuumPressure, 400), by("S1B", rf.BodyTemperature, 0.5))
	b.at("S2", rf.DrivePower).still = [][2]float64{{4, 9}}
	b.at("S3A", rf.InputPower).silent = [][2]float64{{2, 3}}
	return b
}

// exact writes a value out to the last bit of its numbers, NaN and all.
func exact(v any) string { return fmt.Sprintf("%+v", v) }

// wantSame holds what was written out of two reports against each other.
func wantSame(t *testing.T, first, again string) {
	t.Helper()
	for i := range min(len(first), len(again)) {
		if first[i] != again[i] {
			from := max(0, i-150)
			t.Fatalf("%q\nand then\n%q", first[from:min(i+50, len(first))], again[from:min(i+50, len(again))])
		}
	}
	if len(first) != len(again) {
		t.Fatalf("%d bytes and then %d", len(first), len(again))
	}
}

func TestBusyNightTellsMuch(t *testing.T) {
	r := busy().review()
	if len(r.Findings) < 6 {
		t.Errorf("a night for the tests of order says little: %v", told(r.Findings))
	}
}

func TestReportDoesNotDependOnTheNumberOfProcessors(t *testing.T) {
	b := busy()
	night := b.night()
	before := runtime.GOMAXPROCS(1)
	defer runtime.GOMAXPROCS(before)
	alone := exact(*review.Review(b.plant, night, review.Options{}))
	runtime.GOMAXPROCS(2)
	wantSame(t, alone, exact(*review.Review(b.plant, night, review.Options{})))
}

func TestReviewTwiceIsTheSame(t *testing.T) {
	b := busy()
	night := b.night()
	first := exact(*review.Review(b.plant, night, review.Options{}))
	for range 5 {
		wantSame(t, first, exact(*review.Review(b.plant, night, review.Options{})))
	}
}

func TestReviewLeavesItsInputsAlone(t *testing.T) {
	b := busy()
	night := b.night()
	plant, readings := exact(*b.plant), exact(*night)
	review.Review(b.plant, night, review.Options{})
	wantSame(t, plant, exact(*b.plant))
	wantSame(t, readings, exact(*night))
}

func TestBandsOfATrace(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		basis           rf.Basis
		drift, act      [2]float64
		driftAt, driftA float64
	}{
		{rf.Relative, [2]float64{-51, -49}, [2]float64{-52.5, -47.5}, 2, 5},
		{rf.Change, [2]float64{-52, -48}, [2]float64{-55, -45}, 2, 5},
		{rf.Absolute, [2]float64{-2, 2}, [2]float64{-5, 5}, 2, 5},
		{rf.Ratio, [2]float64{nan, -100}, [2]float64{nan, -250}, 2, 5},
	} {
		tr := review.Trace{Reference: -50, Basis: c.basis, DriftLimit: c.driftAt, ActLimit: c.driftA}
		dl, dh := tr.ReferenceBand()
		al, ah := tr.ActBand()
		if diff := cmp.Diff([][2]float64{c.drift, c.act}, [][2]float64{{dl, dh}, {al, ah}}, cmpopts.EquateNaNs()); diff != "" {
			t.Errorf("%s:\n%s", c.basis, diff)
		}
	}
}
