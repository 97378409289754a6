package review_test

import (
	"strings"
	"testing"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

var (
	allStations   = []string{"S1", "S2", "S3"}
	allStructures = []string{"S1A", "S1B", "S2A", "S2B", "S3A"}
)

// everywhere joins what happens at each place.
func everywhere(places []string, at func(place string) []shift) []shift {
	var all []shift
	for _, p := range places {
		all = append(all, at(p)...)
	}
	return all
}

// turned is a turn of the phase of every station and all behind it.
func turned(deg float64) []shift {
	return append(
		everywhere(allStations, func(s string) []shift { return []shift{by(s, rf.ForwardPhase, deg)} }),
		everywhere(allStructures, func(s string) []shift {
			return []shift{by(s, rf.InputPhase, deg), by(s, rf.OutputPhase, deg)}
		})...)
}

func checkCommon(t *testing.T, r *review.Report, cause review.Cause, change, rel float64) review.Finding {
	t.Helper()
	f := finding(t, r, cause)
	if f.Place != rf.MachinePlace || f.Station != "" || !f.Verdict.Flagged() || !near(f.Change, change, rel) {
		t.Errorf("%s at %s: changed by %v %s, want %v", f.Verdict, f.Place, f.Change, f.Unit, change)
	}
	return f
}

func TestCommonWater(t *testing.T) {
	b := newBench()
	b.play(ramp(3, 7), everywhere(allStructures, func(s string) []shift { return warmWater(s, 0.4) })...)
	r := b.review()
	wantFindings(t, r, "common_water machine")
	if f := finding(t, r, review.CommonWater); !strings.Contains(f.Message, "too warm") {
		t.Errorf("message: %s", f.Message)
	}
	for _, s := range r.Structures {
		if s.Advice != review.Withheld || s.Reason != "the water of the whole machine moves" {
			t.Errorf("%s: %s, %s", s.Structure, s.Advice, s.Reason)
		}
	}
}

func TestStructureThatDiffersFromTheCommonWater(t *testing.T) {
	b := newBench()
	shifts := everywhere(allStructures[1:], func(s string) []shift { return warmWater(s, 0.4) })
	b.play(ramp(3, 7), append(shifts, warmWater("S1A", 0.9)...)...)
	r := b.review()
	wantFindings(t, r, "common_water machine", "water_detuning S1A")
	if f := finding(t, r, review.WaterDetuning); !near(f.Change, 0.9*slipDegPerK, 0.03) {
		t.Errorf("S1A moved by %v deg in all", f.Change)
	}
}

func TestWaterOfTwoStructuresIsNotCommon(t *testing.T) {
	b := newBench()
	b.play(ramp(3, 7), everywhere(allStructures[:2], func(s string) []shift { return warmWater(s, 0.4) })...)
	wantFindings(t, b.review(), "water_detuning S1A", "water_detuning S1B")
}

func TestCommonPhase(t *testing.T) {
	for name, c := range map[string]course{"step": stepAt(4), "ramp": ramp(3, 7)} {
		b := newBench()
		b.log(rf.MachinePlace, rf.ReferencePhase, 5, 0.05)
		b.play(c, append(turned(10), by(rf.MachinePlace, rf.ReferencePhase, 10))...)
		r := b.review()
		wantFindings(t, r, "common_phase machine")
		if f := checkCommon(t, r, review.CommonPhase, 10, 0.05); f.Step != (name == "step") {
			t.Errorf("%s told as step: %v", name, f.Step)
		}
	}
}

func TestCommonPhaseMovesNoBeam(t *testing.T) {
	b := newBench()
	for i := range b.plant.Stations {
		b.plant.Stations[i].CrestOffset = 20 * rf.Degree
	}
	b.play(ramp(3, 7), turned(10)...)
	for _, s := range b.review().Stations {
		if !within(float64(s.Gain-s.GainReference), 0, 0.002*float64(s.Gain)) {
			t.Errorf("%s gained %v, %v before", s.Station, s.Gain, s.GainReference)
		}
	}
}

func TestOwnPhaseBesideTheCommonOne(t *testing.T) {
	b := newBench()
	b.play(ramp(3, 7), turned(10)...)
	b.play(ramp(3, 7), klystron(0, 0, 0, 8)...)
	r := b.review()
	wantFindings(t, r, "common_phase machine", "phase_drift S1")
}

func TestCommonVoltage(t *testing.T) {
	mains := append(
		everywhere(allStations, func(s string) []shift {
			return []shift{
				byPercent(s, rf.BeamVoltage, -1), byPercent(s, rf.BeamCurrent, -1.5),
				byPercent(s, rf.ForwardPower, -2.5), by(s, rf.ForwardPhase, -6),
			}
		}),
		everywhere(allStructures, func(s string) []shift {
			return []shift{
				byPercent(s, rf.InputPower, -2.5), byPercent(s, rf.OutputPower, -2.5),
				by(s, rf.InputPhase, -6), by(s, rf.OutputPhase, -6),
			}
		})...)
	mains = append(mains, byPercent("S1", rf.CompressedPower, -2.5), byPercent("S2", rf.CompressedPower, -2.5))
	for name, c := range map[string]course{"step": stepAt(4), "ramp": ramp(3, 7)} {
		t.Run(name, func(t *testing.T) {
			b := newBench()
			b.play(c, mains...)
			wantFindings(t, b.review(), "common_voltage machine")
		})
	}
}

func TestCompressorsThatAllMoved(t *testing.T) {
	// S3 gets a compressor too: three are the fewest that are common.
	b := newBench()
	b.plant.Stations[2] = benchStation("S3")
	b.log("S3", rf.CompressedPower, compressedMW, 0.1)
	b.log("S3", rf.CompressorTemperature, 45, 0.004)
	for _, q := range []rf.Quantity{rf.InputPower, rf.OutputPower} {
		b.at("S3A", q).level *= 5.156
	}
	var shifts []shift
	for _, s := range allStations {
		shifts = append(shifts, by(s, rf.CompressorTemperature, 0.422), byPercent(s, rf.CompressedPower, -0.88))
	}
	shifts = append(shifts, everywhere(allStructures, func(s string) []shift {
		return []shift{
			by(s, rf.InputPhase, -5.97), by(s, rf.OutputPhase, -5.97),
			byPercent(s, rf.InputPower, -0.88), byPercent(s, rf.OutputPower, -0.88),
		}
	})...)
	b.play(ramp(3, 7), shifts...)
	wantFindings(t, b.review(), "common_water machine")
}

func TestGalleryMovesAllCablesALittle(t *testing.T) {
	// Cables of the gallery turn all pick-ups by a degree or two: no finding.
	b := newBench()
	b.log(rf.MachinePlace, rf.GalleryTemperature, 24, 0.02)
	b.play(ramp(2, 7), append(turned(2), by(rf.MachinePlace, rf.GalleryTemperature, 1.5))...)
	wantFindings(t, b.review())
}
