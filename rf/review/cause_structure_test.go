package review_test

import (
	"math"
	"strings"
	"testing"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

// warmWater is the water of a structure warmer by so many kelvin, and its body
// with it.
func warmWater(structure string, kelvin float64) []shift {
	return append(warmBody(structure, kelvin), by(structure, rf.WaterTemperature, kelvin))
}

// warmBody is the body alone: its return water and its phase advance follow.
func warmBody(structure string, kelvin float64) []shift {
	return []shift{
		by(structure, rf.BodyTemperature, kelvin), by(structure, rf.ReturnTemperature, kelvin),
		by(structure, rf.OutputPhase, slipDegPerK*kelvin),
	}
}

func TestWaterDetuning(t *testing.T) {
	for _, s := range []signature{
		{name: "warm", shifts: warmWater("S1A", 0.4), change: slipDegPerK * 0.4},
		{name: "cold", shifts: warmWater("S1A", -0.6), change: slipDegPerK * -0.6},
	} {
		s.cause, s.place, s.q, s.rel = review.WaterDetuning, "S1A", rf.PhaseAdvance, 0.03
		s.check(t)
	}
}

func TestWaterDetuningAfterTheBodysLag(t *testing.T) {
	// The inlet cycles by 0.2 K every forty minutes and drifts; the body follows
	// both with seven minutes, after 1 - exp(-t/tau) for a step (first order).
	const lagH = 7.0 / 60
	cycle := func(h float64) float64 { return 0.2 * math.Sin(2*math.Pi*h*1.5) }
	w := 2 * math.Pi * 1.5 * lagH
	lagged := func(h float64) float64 {
		return 0.2 * math.Sin(2*math.Pi*h*1.5-math.Atan(w)) / math.Hypot(1, w)
	}
	late := func(h float64) float64 { return ramp(3, 7)(h - lagH) }
	b := newBench()
	b.plant.Structures[0].ThermalTime = 7 * rf.Minute
	b.move("S1A", rf.WaterTemperature, cycle)
	b.move("S1A", rf.BodyTemperature, lagged)
	b.move("S1A", rf.ReturnTemperature, lagged)
	b.move("S1A", rf.OutputPhase, func(h float64) float64 { return slipDegPerK * lagged(h) })
	b.play(ramp(3, 7), by("S1A", rf.WaterTemperature, 0.5))
	b.play(late, warmBody("S1A", 0.5)...)
	r := b.review()
	wantFindings(t, r, "water_detuning S1A")
	fit := r.Structures[0].Fit
	if !near(fit.SlopeDegPerK, slipDegPerK, 0.04) || !near(fit.PhysicsDegPerK, slipDegPerK, 0.001) {
		t.Errorf("slope %v deg/K, physics %v, want %v", fit.SlopeDegPerK, fit.PhysicsDegPerK, slipDegPerK)
	}
	if fit.ThermalTimeFit || !near(float64(fit.ThermalTime), 420, 1e-9) || fit.CorrelationAbs < 0.98 {
		t.Errorf("fit %+v", fit)
	}
}

func TestThermalTimeIsFittedWhereNotGiven(t *testing.T) {
	const lagH = 12.0 / 60
	w := 2 * math.Pi * lagH
	b := newBench()
	b.move("S1A", rf.WaterTemperature, func(h float64) float64 { return 0.1 * math.Sin(2*math.Pi*h) })
	b.move("S1A", rf.OutputPhase, func(h float64) float64 {
		return slipDegPerK * 0.1 * math.Sin(2*math.Pi*h-math.Atan(w)) / math.Hypot(1, w)
	})
	fit := b.review().Structures[0].Fit
	if !fit.ThermalTimeFit || !near(float64(fit.ThermalTime), 720, 0.1) {
		t.Errorf("thermal time %v s, want 720", fit.ThermalTime)
	}
	if !(fit.SlopeLow < slipDegPerK && slipDegPerK < fit.SlopeHigh) || !near(fit.SlopeDegPerK, slipDegPerK, 0.06) {
		t.Errorf("slope %v in %v to %v, want %v", fit.SlopeDegPerK, fit.SlopeLow, fit.SlopeHigh, slipDegPerK)
	}
}

// loop hangs S2A and S2B on one water loop, with its own thermometer.
func loop(b *bench) {
	b.plant.Structures[2].WaterLoop, b.plant.Structures[3].WaterLoop = "W2", "W2"
	b.log("W2", rf.LoopTemperature, 30, 0.004)
}

func TestWaterOfALoop(t *testing.T) {
	both := append(warmWater("S2A", 0.4), warmWater("S2B", 0.4)...)
	signature{
		name: "its thermometer sees it", plant: loop, shifts: append(both, by("W2", rf.LoopTemperature, 0.4)),
		cause: review.WaterDetuning, place: "W2", q: rf.PhaseAdvance, change: slipDegPerK * 0.4, rel: 0.03,
	}.loop(t)
	signature{
		name: "its thermometer drifts", plant: loop, shifts: both,
		cause: review.RegulatingSensor, place: "W2", q: rf.PhaseAdvance, change: slipDegPerK * 0.4, rel: 0.03,
	}.loop(t)
	signature{
		name: "its thermometer drifts, inlets repeat it", plant: loop, shifts: append(warmBody("S2A", 0.4), warmBody("S2B", 0.4)...),
		cause: review.RegulatingSensor, place: "W2", q: rf.PhaseAdvance, change: slipDegPerK * 0.4, rel: 0.03,
	}.loop(t)
	signature{
		name: "one structure alone", plant: loop, shifts: warmWater("S2B", 0.4),
		cause: review.WaterDetuning, place: "S2B", q: rf.PhaseAdvance, change: slipDegPerK * 0.4, rel: 0.03,
	}.check(t)
}

// loop is check for a loop, which belongs to no station.
func (s signature) loop(t *testing.T) {
	t.Run(s.name, func(t *testing.T) {
		t.Parallel()
		b := newBench()
		s.plant(b)
		b.play(ramp(3, 7), s.shifts...)
		r := b.review()
		wantFindings(t, r, string(s.cause)+" "+s.place)
		f := finding(t, r, s.cause)
		if !f.Verdict.Flagged() || f.Station != "" || f.Quantity != s.q || !near(f.Change, s.change, s.rel) {
			t.Errorf("%s at station %q: %s by %v", f.Verdict, f.Station, f.Quantity, f.Change)
		}
		for _, i := range []int{2, 3} {
			if v := r.Structures[i].Verdict; v != f.Verdict {
				t.Errorf("%s hangs on the loop and is %s", r.Structures[i].Structure, v)
			}
		}
		if v := r.Structures[0].Verdict; v != review.InTolerance {
			t.Errorf("S1A does not hang on the loop and is %s", v)
		}
	})
}

func TestRegulatingSensor(t *testing.T) {
	signature{
		name: "water follows it", shifts: warmBody("S1A", 0.4),
		cause: review.RegulatingSensor, place: "S1A", q: rf.PhaseAdvance, change: slipDegPerK * 0.4, rel: 0.03,
	}.check(t)
}

func TestRegulatingSensorWithoutFlowAsksForTheFlow(t *testing.T) {
	b := newBench()
	b.drop("S1A", rf.WaterFlow)
	b.play(ramp(3, 7), warmBody("S1A", 0.4)...)
	r := b.review()
	wantFindings(t, r, "regulating_sensor S1A")
	f := finding(t, r, review.RegulatingSensor)
	if !f.Likely || len(f.NotLogged) != 1 || f.NotLogged[0] != "S1A water_flow" || !strings.Contains(f.Advice, "flow is not logged") {
		t.Errorf("likely %v, not logged %v: %s", f.Likely, f.NotLogged, f.Advice)
	}
}

func TestCoolingFlow(t *testing.T) {
	// 30 % less flow: the film's drop of 1.19 K grows by 0.7^-0.8 - 1 = 33 %, the
	// rise of the water by 43 %.
	signature{
		name: "flow down by 30 %", cause: review.CoolingFlow, place: "S1A", q: rf.PhaseAdvance, change: slipDegPerK * 0.39, rel: 0.04,
		shifts: []shift{
			byPercent("S1A", rf.WaterFlow, -30), by("S1A", rf.BodyTemperature, 0.39), by("S1A", rf.ReturnTemperature, 0.43),
			by("S1A", rf.OutputPhase, slipDegPerK*0.39),
		},
	}.check(t)
}

func TestHeatLoad(t *testing.T) {
	// A third more power into S1B: its body stands 1.19 K above its inlet in the
	// reference, and a third more now.
	signature{
		name: "more power", cause: review.HeatLoad, place: "S1B", q: rf.PhaseAdvance, change: slipDegPerK * 0.4, rel: 0.04,
		shifts: append(warmBody("S1B", 0.4), byPercent("S1B", rf.InputPower, 33), byPercent("S1B", rf.OutputPower, 33)),
	}.check(t)
}

func TestTemperatureSensor(t *testing.T) {
	for _, s := range []signature{
		{name: "inlet", shifts: []shift{by("S1A", rf.WaterTemperature, 0.5)}, q: rf.WaterTemperature},
		{name: "body", shifts: []shift{by("S1A", rf.BodyTemperature, 0.5)}, q: rf.BodyTemperature},
		{name: "return", shifts: []shift{by("S1A", rf.ReturnTemperature, 0.5)}, q: rf.ReturnTemperature},
	} {
		s.cause, s.place, s.change, s.rel = review.TemperatureSensor, "S1A", 0.5, 0.05
		s.check(t)
	}
}

func TestVerdictOfAWrongThermometerIsThatOfItsReading(t *testing.T) {
	// 0.2 and 0.5 K are the limits of the inlet.
	for kelvin, want := range map[float64]review.Verdict{0.35: review.Drifting, 0.7: review.OutOfTolerance} {
		b := newBench()
		b.play(ramp(2, 4), by("S1A", rf.WaterTemperature, kelvin))
		if f := finding(t, b.review(), review.TemperatureSensor); f.Verdict != want {
			t.Errorf("%v K: %s, want %s", kelvin, f.Verdict, want)
		}
	}
}

func TestReadingOfAStructureDoubted(t *testing.T) {
	for _, s := range []signature{
		{name: "input coupler", shifts: []shift{byPercent("S1A", rf.InputPower, -9)}, q: rf.InputPower, change: -0.09 * inputMW},
		{name: "output coupler", shifts: []shift{byPercent("S1A", rf.OutputPower, 9)}, q: rf.OutputPower, change: 0.09 * inputMW * throughTW},
		{name: "input phase pick-up", shifts: []shift{by("S1A", rf.InputPhase, 7)}, q: rf.InputPhase, change: 7},
		{name: "output phase pick-up", shifts: []shift{by("S1A", rf.OutputPhase, 7)}, q: rf.OutputPhase, change: 7},
		{name: "flow meter", shifts: []shift{byPercent("S1A", rf.WaterFlow, -12)}, q: rf.WaterFlow, change: -1.8},
	} {
		s.cause, s.place, s.rel = review.ReadingDoubted, "S1A", 0.05
		s.check(t)
	}
}

func TestWitnessOfAStructureLeftOut(t *testing.T) {
	for _, c := range []struct {
		name   string
		shifts []shift
		drop   []rf.Quantity
		want   string
		missed []string
	}{
		{"sensor without the body", warmBody("S1A", 0.4), []rf.Quantity{rf.BodyTemperature}, "regulating_sensor S1A", []string{"S1A body_temperature"}},
		{
			"loss without the output coupler", []shift{byPercent("S1A", rf.InputPower, -9)}, []rf.Quantity{rf.OutputPower},
			"waveguide_loss S1A", []string{"S1A output_power"},
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			b := newBench()
			b.play(ramp(3, 7), c.shifts...)
			b.drop("S1A", c.drop...)
			r := b.review()
			wantFindings(t, r, c.want)
			if len(r.Findings) != 1 {
				return
			}
			f := r.Findings[0]
			if !f.Likely || strings.Join(f.NotLogged, ",") != strings.Join(c.missed, ",") {
				t.Errorf("likely %v, not logged %v, want %v", f.Likely, f.NotLogged, c.missed)
			}
		})
	}
}

func TestWaterSeenByTheBodyAlone(t *testing.T) {
	b := newBench()
	b.play(ramp(3, 7), warmWater("S1A", 0.4)...)
	b.drop("S1A", rf.WaterTemperature)
	r := b.review()
	wantFindings(t, r, "water_detuning S1A")
	if f := finding(t, r, review.WaterDetuning); !f.Likely || strings.Join(f.NotLogged, ",") != "S1A water_temperature" {
		t.Errorf("likely %v, not logged %v", f.Likely, f.NotLogged)
	}
}

// gun adds a station that feeds one standing-wave cavity, matched: Q0 13000, beta 1.
func gun(b *bench) {
	s := benchStation("S4")
	s.PhaseFlip = rf.Unknown[rf.Interval]()
	b.plant.Stations = append(b.plant.Stations, s)
	g := benchStructure("S4G")
	g.Kind, g.LengthM, g.Attenuation, g.FillingTime, g.PowerShare = rf.StandingWave, 0.16, math.NaN(), rf.Unknown[rf.Interval](), 1
	g.UnloadedQ, g.CouplingBeta, g.ShuntImpedanceOhm = 13000, 1, 3.5e6
	b.plant.Structures = append(b.plant.Structures, g)
	b.logStation(s)
	b.log("S4G", rf.ForwardPower, 8, 0.008)
	b.log("S4G", rf.ReflectedPower, 0.08, 0.001)
	b.log("S4G", rf.ForwardPhase, 33, 0.05)
	b.log("S4G", rf.CavityPhase, 21, 0.05)
	b.log("S4G", rf.CavityVoltage, 5.29, 0.004)
	b.log("S4G", rf.WaterTemperature, 30, 0.004)
	b.log("S4G", rf.BodyTemperature, 30.5, 0.005)
	b.log("S4G", rf.ReturnTemperature, 30.8, 0.005)
}

func TestStandingWaveCavity(t *testing.T) {
	// Q_L 6500 at 2856 MHz: tan(psi) = 2 Q_L d/f. 0.6 K is 28.4 kHz and 7.37 deg; the
	// voltage goes as cos(psi), the reflected fraction of a matched cavity as
	// sin(psi)^2: 0.83 % and 1.65 %.
	warm := []shift{
		by("S4G", rf.WaterTemperature, 0.6), by("S4G", rf.BodyTemperature, 0.6), by("S4G", rf.ReturnTemperature, 0.6),
		by("S4G", rf.CavityPhase, -7.37), byPercent("S4G", rf.CavityVoltage, -0.83), by("S4G", rf.ReflectedPower, 0.0165*8),
	}
	for _, s := range []signature{
		{name: "warm water", shifts: warm, cause: review.WaterDetuning, q: rf.PhaseAdvance, change: -7.37},
		{name: "cavity phase pick-up", shifts: []shift{by("S4G", rf.CavityPhase, 6)}, cause: review.ReadingDoubted, q: rf.CavityPhase, change: 6},
		{name: "cavity voltage", shifts: []shift{byPercent("S4G", rf.CavityVoltage, -4)}, cause: review.ReadingDoubted, q: rf.CavityVoltage, change: -0.2116},
		{name: "thermometer", shifts: []shift{by("S4G", rf.WaterTemperature, 0.5)}, cause: review.TemperatureSensor, q: rf.WaterTemperature, change: 0.5},
	} {
		s.plant, s.place, s.rel = gun, "S4G", 0.05
		s.check(t)
	}
}
