package review_test

import (
	"math"
	"testing"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

func station(t *testing.T, r *review.Report, name string) review.StationResult {
	t.Helper()
	for _, s := range r.Stations {
		if s.Station == name {
			return s
		}
	}
	t.Fatalf("no station %s", name)
	return review.StationResult{}
}

func megaelectronvolt(e rf.Energy) float64 { return rf.In(e, rf.Megaelectronvolt) }

// Gains of the bench by hand. A structure gains 10.48 sqrt(P/MW) MeV from a flat
// pulse (H. Wiedemann, Particle Accelerator Physics, eq. 18.105): 56.1 MeV from
// the 28.65 MW of S3. S1's two live on 73.86/5.156 MW each, multiplied by 1.605
// (Q0 1e5, beta 5, 3.5 us; direct integration): 127.3 MeV.
const (
	gainS1MeV = 127.33
	gainS3MeV = 56.10
)

func TestGainOfAStation(t *testing.T) {
	r := newBench().review()
	for name, want := range map[string]float64{"S1": gainS1MeV, "S2": gainS1MeV, "S3": gainS3MeV} {
		s := station(t, r, name)
		if !near(megaelectronvolt(s.Gain), want, 2e-3) || !near(megaelectronvolt(s.GainReference), want, 2e-3) {
			t.Errorf("%s gains %v MeV, %v in the reference, want %v", name, megaelectronvolt(s.Gain), megaelectronvolt(s.GainReference), want)
		}
	}
	s := station(t, r, "S1")
	if !near(s.PeakPowerGain, 5.156, 2e-3) || !near(s.PeakPowerGainDesign, 5.1563, 1e-4) || !near(s.EnergyMultiplication, 1.6049, 1e-4) {
		t.Errorf("peak power gain %v of %v, energy multiplication %v", s.PeakPowerGain, s.PeakPowerGainDesign, s.EnergyMultiplication)
	}
	if !near(s.Microperveance, 2, 1e-3) || !near(s.EfficiencyPercent, 40.72, 2e-3) || !near(s.ReflectedPercent, 1, 0.01) || s.OnPercent != 100 {
		t.Errorf("perveance %v, efficiency %v %%, reflected %v %%, on %v %%", s.Microperveance, s.EfficiencyPercent, s.ReflectedPercent, s.OnPercent)
	}
	if c := station(t, r, "S3"); !math.IsNaN(c.PeakPowerGain) || !math.IsNaN(c.EnergyMultiplication) || rf.Known(c.CompressorDetuning) {
		t.Errorf("S3 has no compressor: %+v", c)
	}
}

func TestCrestOffsetAndBeamLoading(t *testing.T) {
	// 0.1 A takes 37.47 MeV/A of each structure (Wiedemann, eq. 18.107).
	b := newBench()
	b.plant.Stations[2].CrestOffset = -20 * rf.Degree
	b.plant.BeamCurrent = 0.1
	want := gainS3MeV*math.Cos(20*math.Pi/180) - 3.747
	if got := megaelectronvolt(station(t, b.review(), "S3").Gain); !near(got, want, 2e-3) {
		t.Errorf("S3 gains %v MeV, want %v", got, want)
	}
}

func TestSharesAndRemainderAddUpToTheWhole(t *testing.T) {
	for _, c := range []struct {
		name   string
		crest  rf.Phase
		with   func(b *bench)
		shifts []shift
	}{
		{"quiet", -10 * rf.Degree, nil, nil},
		{"voltage", -10 * rf.Degree, nil, klystron(-1, -1.5, -2.5, -6)},
		{"cathode", 0, nil, klystron(0, -3, -3, 0)},
		{"compressor", 15 * rf.Degree, nil, compressor(0.844, -11.87, -3.47)},
		{"loss and water", -10 * rf.Degree, nil, append(powers(-8), warmWater("S1A", 0.6)...)},
		{"voltage, compressor and water", -20 * rf.Degree, nil, append(append(klystron(-1, -1.5, -2.5, -6), compressor(0.844, -11.87, -3.47)...), warmWater("S1B", 0.6)...)},
		{"a coupler doubted", 0, nil, []shift{byPercent("S1A", rf.InputPower, -9)}},
		{
			"set point", -10 * rf.Degree, func(b *bench) {
				b.log("S1", rf.BeamVoltage.Set(), voltageKV, 0)
				b.play(stepAt(2.5), append(klystron(1, 1.5, 2.5, 6), byPercent("S1", rf.BeamVoltage.Set(), 1))...)
			},
			klystron(0, 0, 0, 9),
		},
		{"no cause fits", 0, nil, []shift{byPercent("S1A", rf.InputPower, -9), byPercent("S1B", rf.InputPower, 7), byPercent("S1", rf.CompressedPower, 5)}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			b := newBench()
			b.width = 2 * time.Minute
			for i := range b.plant.Stations {
				b.plant.Stations[i].CrestOffset = c.crest
			}
			if c.with != nil {
				c.with(b)
			}
			b.play(ramp(3, 7), c.shifts...)
			for _, s := range b.review().Stations {
				sum := s.GainReference + s.Remainder
				for _, share := range s.Taken {
					sum += share.Taken
				}
				if !near(float64(sum), float64(s.Gain), 1e-9) {
					t.Errorf("%s: %v and its shares make %v, the gain is %v", s.Station, s.GainReference, sum, s.Gain)
				}
			}
		})
	}
}

func TestWhatACauseTakes(t *testing.T) {
	for _, c := range []struct {
		name   string
		crest  float64 // degrees
		shifts []shift
		cause  review.Cause
		place  string
		taken  float64 // of the gain
		rel    float64
	}{
		// Power by V^2.5 is gain by V^1.25, and the pushing turns the station by 12 deg.
		{"voltage", 0, klystron(-2, -3, -4.93, -12), review.ModulatorVoltage, "S1", math.Pow(0.98, 1.25)*cosine(12) - 1, 0.03},
		{"loss", 0, powers(-8), review.WaveguideLoss, "S1", math.Sqrt(0.92) - 1, 0.03},
		{
			"loss in one arm of two", 0, []shift{byPercent("S1B", rf.InputPower, -8), byPercent("S1B", rf.OutputPower, -8)},
			review.WaveguideLoss, "S1B", (math.Sqrt(0.92) - 1) / 2, 0.04,
		},
		// The beam stands late of the crest, the RF leads: more lead is less gain.
		{"phase away from the crest", 20, klystron(0, 0, 0, 9), review.PhaseDrift, "S1", cosine(29)/cosine(20) - 1, 0.05},
		{"phase towards the crest", -20, klystron(0, 0, 0, 9), review.PhaseDrift, "S1", cosine(11)/cosine(20) - 1, 0.05},
		// 40 kHz off: |M| down by 3.05 %, its phase by 12.07 deg (direct integration).
		{"compressor on crest", 0, compressor(0.844, -11.87, -3.47), review.CompressorDetuning, "S1", 0.96948*cosine(12.07) - 1, 0.06},
		{"compressor off crest", -15, compressor(0.844, -11.87, -3.47), review.CompressorDetuning, "S1", 0.96948*cosine(27.07)/cosine(15) - 1, 0.06},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			b := newBench()
			b.width = 2 * time.Minute
			b.plant.Stations[0].CrestOffset = rf.Phase(c.crest) * rf.Degree
			b.play(ramp(3, 7), c.shifts...)
			r := b.review()
			s := station(t, r, "S1")
			whole := float64(s.Gain/s.GainReference) - 1
			if !near(whole, c.taken, c.rel) {
				t.Errorf("gain changed by %v, want %v", whole, c.taken)
			}
			if len(s.Taken) != 1 || s.Taken[0].Cause != c.cause || s.Taken[0].Place != c.place {
				t.Fatalf("taken by %+v", s.Taken)
			}
			if share := float64(s.Taken[0].Taken / s.GainReference); !near(share, c.taken, c.rel+0.05) {
				t.Errorf("%s took %v of the gain, want %v", c.cause, share, c.taken)
			}
			if f := finding(t, r, c.cause); f.EnergyCost != -s.Taken[0].Taken {
				t.Errorf("finding costs %v, the share is %v", f.EnergyCost, s.Taken[0].Taken)
			}
		})
	}
}

func cosine(deg float64) float64 { return math.Cos(deg * math.Pi / 180) }

func TestOtherStationsLoseNothing(t *testing.T) {
	b := newBench()
	b.play(ramp(3, 7), klystron(-2, -3, -4.93, -12)...)
	r := b.review()
	for _, name := range []string{"S2", "S3"} {
		if s := station(t, r, name); len(s.Taken) > 0 || !near(float64(s.Gain), float64(s.GainReference), 1e-3) {
			t.Errorf("%s: taken %+v, gain %v of %v", name, s.Taken, s.Gain, s.GainReference)
		}
	}
}

func TestBestReadingCarriesTheChain(t *testing.T) {
	inputs := []rf.Quantity{rf.InputPower}
	for _, c := range []struct {
		name   string
		drop   []rf.Quantity
		shifts []shift
		chain  string
	}{
		{"input power", nil, nil, "input_power"},
		{"else compressed power", inputs, nil, "compressed_power"},
		{"else forward power", append(inputs, rf.CompressedPower), nil, "forward_power"},
		{"input coupler doubted", nil, []shift{byPercent("S1A", rf.InputPower, -9)}, "compressed_power"},
		{"coupler behind the compressor doubted", inputs, []shift{byPercent("S1", rf.CompressedPower, -9)}, "forward_power"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			b := newBench()
			b.drop("", c.drop...)
			b.play(ramp(3, 7), c.shifts...)
			s := station(t, b.review(), "S1")
			if s.Chain != c.chain {
				t.Errorf("chain %s, want %s", s.Chain, c.chain)
			}
			if !near(megaelectronvolt(s.Gain), gainS1MeV, 2e-3) || !near(float64(s.Gain), float64(s.GainReference), 1e-3) {
				t.Errorf("gain %v MeV, %v in the reference", megaelectronvolt(s.Gain), megaelectronvolt(s.GainReference))
			}
		})
	}
}

func TestChainLeavesOutAReadingThatStandsStill(t *testing.T) {
	b := newBench()
	b.play(ramp(3, 7), klystron(-2, -3, -4.93, 0)...)
	b.at("S1A", rf.InputPower).still = [][2]float64{{4, 9}}
	r := b.review()
	if s := station(t, r, "S1"); s.Chain != "compressed_power" || !near(float64(s.Gain/s.GainReference), math.Pow(0.98, 1.25), 2e-3) {
		t.Errorf("chain %s, gain %v of %v", s.Chain, s.Gain, s.GainReference)
	}
}

func TestDoubtedPhaseMovesNoGain(t *testing.T) {
	b := newBench()
	b.plant.Stations[0].CrestOffset = 20 * rf.Degree
	b.play(ramp(3, 7), by("S1", rf.ForwardPhase, 9))
	if s := station(t, b.review(), "S1"); !near(float64(s.Gain), float64(s.GainReference), 1e-3) {
		t.Errorf("gain %v of %v", s.Gain, s.GainReference)
	}
}

func TestDoubtedAdvanceDetunesNothing(t *testing.T) {
	b := newBench()
	b.play(ramp(3, 7), by("S1A", rf.OutputPhase, 20))
	if s := station(t, b.review(), "S1"); !near(float64(s.Gain), float64(s.GainReference), 1e-3) {
		t.Errorf("gain %v of %v", s.Gain, s.GainReference)
	}
}

func TestDoubtedReadingCostsNothing(t *testing.T) {
	b := newBench()
	b.play(ramp(3, 7), byPercent("S1A", rf.InputPower, -9), by("S2A", rf.WaterTemperature, 0.5))
	for _, f := range b.review().Findings {
		if f.EnergyCost != 0 {
			t.Errorf("%s %s costs %v", f.Cause, f.Place, f.EnergyCost)
		}
	}
}

func TestSilentStationHasNoGainAndIsHeld(t *testing.T) {
	b := newBench()
	for _, r := range b.readings {
		if b.stationOf(r.place) == "S2" {
			r.silent = [][2]float64{{6, 9}}
		}
	}
	b.plant.Waypoints = []rf.Waypoint{{Name: "end", AfterStation: "S3", Required: 300 * rf.Megaelectronvolt, TolerancePercent: 0.5, R56M: math.NaN()}}
	r := b.review()
	s := station(t, r, "S2")
	if rf.Known(s.Gain) || !s.GainHeld || !near(megaelectronvolt(s.GainReference), gainS1MeV, 2e-3) {
		t.Errorf("gain %v, held %v, reference %v", s.Gain, s.GainHeld, s.GainReference)
	}
	if budget := megaelectronvolt(r.Waypoints[0].Budget); !near(budget, 5+2*gainS1MeV+gainS3MeV, 2e-3) {
		t.Errorf("budget %v MeV", budget)
	}
}

func TestSpareMakesNoEnergyNow(t *testing.T) {
	b := newBench()
	b.plant.Stations[1].Spare = true
	b.plant.Waypoints = []rf.Waypoint{{Name: "end", AfterStation: "S3", Required: 180 * rf.Megaelectronvolt, R56M: math.NaN()}}
	r := b.review()
	if s := station(t, r, "S2"); rf.Known(s.Gain) || rf.Known(s.GainReference) || s.GainHeld {
		t.Errorf("spare gains %v", s.Gain)
	}
	if budget := megaelectronvolt(r.Waypoints[0].Budget); !near(budget, 5+gainS1MeV+gainS3MeV, 2e-3) {
		t.Errorf("budget %v MeV", budget)
	}
}

func TestScatterOfAStation(t *testing.T) {
	// 0.09 kV of 267 kV: gain by V^1.25, and off crest by the pushing of 6 deg per
	// per cent, both at once: |1.25 cos - 10.47 sin| of the gain on crest.
	sigma := 3 * 0.03 / voltageKV
	for deg, factor := range map[float64]float64{
		0:   1.25,
		20:  math.Abs(1.25*cosine(20) - 10.472*math.Sin(20*math.Pi/180)),
		-20: 1.25*cosine(20) + 10.472*math.Sin(20*math.Pi/180),
	} {
		b := newBench()
		b.plant.Stations[2].CrestOffset = rf.Phase(deg) * rf.Degree
		if got := megaelectronvolt(station(t, b.review(), "S3").EnergyScatter); !near(got, factor*sigma*gainS3MeV, 0.01) {
			t.Errorf("at %v deg: %v MeV, want %v", deg, got, factor*sigma*gainS3MeV)
		}
	}
}

func TestHighestSettledPower(t *testing.T) {
	b := newBench()
	b.move("S1", rf.ForwardPower, func(h float64) float64 {
		if h < 0.2 {
			return 5 // while it warms up
		}
		return 2 * (stepAt(5)(h) - stepAt(6)(h))
	})
	s := station(t, b.review(), "S1")
	if got := rf.In(s.PowerHighest, rf.Megawatt); !near(got, 32, 5e-3) {
		t.Errorf("highest settled power %v MW", got)
	}
	if got := rf.In(s.PowerNow, rf.Megawatt); !near(got, 30, 5e-3) {
		t.Errorf("power now %v MW", got)
	}
}
