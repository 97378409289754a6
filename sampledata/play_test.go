package sampledata

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"
	"time"
)

func shortNight() Scenario {
	return Scenario{Seed: 3, Start: demoStart, Length: 2 * time.Hour, Interval: 30 * time.Second}
}

func TestTheSameSeedGivesTheSameNight(t *testing.T) {
	l := Prepare(Build(8, 5))
	write := func(s Scenario) string {
		var b bytes.Buffer
		if _, err := l.WriteCSV(s, &b); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	s := shortNight()
	once, again := write(s), write(s)
	if once != again {
		t.Error("the same seed gives two nights")
	}
	s.Seed++
	if write(s) == once {
		t.Error("two seeds give the same night")
	}
	if got, want := strings.Count(once, "\n"), 2*120+2; got != want {
		t.Errorf("%d lines, want %d", got, want)
	}
}

func TestWhatIsLeftOutChangesNothingElse(t *testing.T) {
	l := Prepare(Build(8, 5))
	s := shortNight()
	all, _ := play(t, l, s)
	s.Leave = []string{"beam_current", "S04A output_phase"}
	s.Faults = []Fault{{Kind: "reading_doubted", Place: "S03", Quantity: "forward_power", Size: 20, Start: demoStart}}
	some, _ := play(t, l, s)
	if some.column("S04", "beam_current") != nil || some.column("S04A", "output_phase") != nil {
		t.Error("a channel that was to be left out is logged")
	}
	same := func(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) }
	for _, c := range some.channels {
		if !slices.EqualFunc(all.column(c.Place, c.Quantity), some.column(c.Place, c.Quantity), same) && c.Header() != "S03 forward_power [MW]" {
			t.Errorf("%s changed", c.Header())
		}
	}
}

func TestRareNuisances(t *testing.T) {
	l := Prepare(Build(8, 5))
	s := calm()
	s.Length = 8 * time.Hour

	s.With = StationStandby
	r, _ := play(t, l, s)
	hours := 0.0
	for _, st := range l.stations {
		for _, on := range r.column(st.Name, "rf_on") {
			hours += (1 - on) / 60
		}
	}
	if math.Abs(hours-1) > 0.05 {
		t.Errorf("a station in standby for %v h, want 1", hours)
	}

	s.With = WarmUpStart
	r, _ = play(t, l, s)
	body := r.column("S04A", "body_temperature")
	if rise := body[len(body)-1] - body[0]; rise < 1 {
		t.Errorf("the body warmed by %v K after a cold start", rise)
	}

	s.With = MainsDip
	r, truth := play(t, l, s)
	tripped := 0
	for _, st := range truth.Stations {
		tripped += st.Trips
	}
	if tripped != 6 || !slices.Contains(r.words, "mains undervoltage") {
		t.Errorf("%d of 8 stations tripped for %q", tripped, r.words)
	}

	s.With = SetPointChange
	_, truth = play(t, l, s)
	if len(truth.Faults) != 1 || !truth.Faults[0].ByOperator || truth.Faults[0].Kind != "set_point" {
		t.Errorf("the truth tells of %v", truth.Faults)
	}
}

func TestPlannedStopIsPlayed(t *testing.T) {
	m := Build(8, 5)
	m.Planned = []Planned{{From: demoStart.Add(time.Hour), To: demoStart.Add(90 * time.Minute), Note: "access"}}
	r, _ := play(t, Prepare(m), calm())
	on := r.column("S04", "rf_on")
	if on[59] != 1 || on[60] != 0 || on[89] != 0 || on[91] != 1 {
		t.Errorf("RF around the planned stop: %v", on[58:93])
	}
	if energy := r.column("transfer", "beam_energy"); !math.IsNaN(energy[70]) {
		t.Error("beam without RF")
	}
}

func TestOrdinaryNightLooksLikeOne(t *testing.T) {
	l := Prepare(Build(24, 9))
	s := shortNight()
	s.Length = 12 * time.Hour
	r, truth := play(t, l, s)
	for _, st := range truth.Stations {
		if st.Trips > 2 {
			t.Errorf("%s tripped %d times", st.Station, st.Trips)
		}
	}
	for _, q := range []string{"forward_phase", "input_phase", "output_phase"} {
		for _, c := range r.channels {
			if c.Quantity != q {
				continue
			}
			for _, v := range r.column(c.Place, q) {
				if math.Abs(v) > 180 {
					t.Fatalf("%s: %v", c.Header(), v)
				}
			}
		}
	}
	for _, structure := range truth.Structures {
		if d := *structure.LastDetuning - *structure.FirstDetuning; math.Abs(d) > 6 {
			t.Errorf("%s moved by %v kHz in a night without faults", structure.Structure, d)
		}
	}
	for _, w := range truth.Waypoints {
		if change := *w.LastEnergyMeV / *w.FirstEnergyMeV; math.Abs(change-1) > 0.004 {
			t.Errorf("%s: energy changed by a factor %v in a night without faults", w.Waypoint, change)
		}
	}
}

func TestTruth(t *testing.T) {
	l := Prepare(Build(8, 5))
	s := shortNight()
	s.Length = 6 * time.Hour
	s.Faults = []Fault{
		{Kind: "water_detuning", Place: "S04A", Size: 0.5, Ramp: time.Hour},
		{Kind: "phase_drift", Place: "S03", Size: 30},
		{Kind: "temperature_sensor", Place: "S06A", Size: 0.5},
		{Kind: "compressor_detuning", Place: "S06", Size: 0.5},
	}
	r, truth := play(t, l, s)
	water, drift, sensor, compressor := truth.Faults[0], truth.Faults[1], truth.Faults[2], truth.Faults[3]
	if got := *water.DetuningKHz; !near(got, -0.5*47.4, 0.02) {
		t.Errorf("0.5 K too warm detunes by %v kHz", got)
	}
	i, _ := l.machine.structure("S04A")
	resting := l.restDetuning(i) / l.structures[i].hidden.kHzPerK
	if got := *water.WaterChangeK; math.Abs(got-(resting-0.5)) > 0.06 {
		t.Errorf("the set point must change by %v K, it rested at %v K before 0.5 K more", got, -resting)
	}
	j, _ := l.machine.station("S03")
	lost := real(l.stationGain(&l.stations[j], l.stations[j].nearTune, l.restDetuning))
	if got := *drift.EnergyLostMeV; !near(got, lost*(1-math.Cos(30*math.Pi/180)), 0.15) {
		t.Errorf("30 deg at S03 cost %v MeV of %v", got, lost)
	}
	if *sensor.EnergyLostMeV != 0 || *sensor.DetuningKHz != 0 {
		t.Errorf("a thermometer that lies costs %v MeV", *sensor.EnergyLostMeV)
	}
	if got := *compressor.DetuningKHz; !near(got, -0.5*47.4, 0.02) {
		t.Errorf("a compressor 0.5 K too warm is off by %v kHz", got)
	}
	last := truth.Waypoints[len(truth.Waypoints)-1]
	if got := r.column("transfer", "beam_energy"); !near(got[len(got)-1], *last.LastEnergyMeV, 5e-3) {
		t.Errorf("beam energy read as %v, is %v", got[len(got)-1], *last.LastEnergyMeV)
	}
}

func TestRefusedScenarios(t *testing.T) {
	l := Prepare(Build(8, 5))
	for _, c := range []struct {
		name  string
		spoil func(*Scenario)
		says  string
	}{
		{"no start", func(s *Scenario) { s.Start = time.Time{} }, "no start"},
		{"no length", func(s *Scenario) { s.Length = 0 }, "length"},
		{"interval beyond the length", func(s *Scenario) { s.Interval = 3 * time.Hour }, "interval"},
		{"unknown kind", func(s *Scenario) { s.Faults = []Fault{{Kind: "gremlins", Place: "S04"}} }, "no such kind"},
		{"unknown place", func(s *Scenario) { s.Faults = []Fault{{Kind: "vacuum", Place: "S99", Size: 5}} }, "no such place"},
		{"place of another kind", func(s *Scenario) { s.Faults = []Fault{{Kind: "vacuum", Place: "S04A", Size: 5}} }, "station"},
		{"no compressor", func(s *Scenario) { s.Faults = []Fault{{Kind: "compressor_detuning", Place: "S01", Size: 1}} }, "no compressor"},
		{"shared water", func(s *Scenario) { s.Faults = []Fault{{Kind: "water_detuning", Place: "S05A", Size: 1}} }, "W05"},
		{"no such reading", func(s *Scenario) {
			s.Faults = []Fault{{Kind: "reading_doubted", Place: "S04", Quantity: "water_flow", Size: 1}}
		}, "no reading"},
		{"no reading to choose", func(s *Scenario) {
			s.Faults = []Fault{{Kind: "vacuum", Place: "S04", Quantity: "forward_power", Size: 5}}
		}, "no reading to choose"},
		{"outside the night", func(s *Scenario) { s.Faults = []Fault{{Kind: "vacuum", Place: "S04", Size: 5, Clock: "12:00"}} }, "outside the night"},
		{"size is no number", func(s *Scenario) { s.Faults = []Fault{{Kind: "water_detuning", Place: "S04A", Size: math.NaN()}} }, "no usable number"},
	} {
		s := shortNight()
		c.spoil(&s)
		if _, err := l.Play(s, &rows{}); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: got %v, want an error that says %q", c.name, err, c.says)
		}
	}
}

func TestFaultsBeginWhenTheyAreTold(t *testing.T) {
	m := Build(8, 5)
	m.TimeZone = "Europe/Paris" // an hour ahead in winter
	n, err := Prepare(m).newNight(calm(
		Fault{Kind: "vacuum", Place: "S04", Size: 5, Clock: "20:45"},
		Fault{Kind: "vacuum", Place: "S04", Size: 5, Clock: "00:10"},
		Fault{Kind: "vacuum", Place: "S04", Size: 5, After: 2 * time.Hour},
		Fault{Kind: "vacuum", Place: "S04", Size: 5},
	))
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []time.Duration{75 * time.Minute, 280 * time.Minute, 2 * time.Hour, 75 * time.Minute} {
		if got := n.faults[i].Start.Sub(demoStart); got != want {
			t.Errorf("fault %d begins %v into the night, want %v", i, got, want)
		}
	}
}

func TestParseFault(t *testing.T) {
	for _, c := range []struct {
		text string
		want Fault
	}{
		{"water_detuning@S06B=0.5@22:30/3h", Fault{Kind: "water_detuning", Place: "S06B", Size: 0.5, Clock: "22:30", Ramp: 3 * time.Hour}},
		{"vacuum@S02", Fault{Kind: "vacuum", Place: "S02", Size: 8, Ramp: 2 * time.Hour}},
		{"set_point:drive_phase@S02=-5@03:05", Fault{Kind: "set_point", Place: "S02", Quantity: "drive_phase", Size: -5, Clock: "03:05"}},
		{"phase_drift@S03=12/0", Fault{Kind: "phase_drift", Place: "S03", Size: 12}},
	} {
		got, err := ParseFault(c.text)
		if err != nil || got != c.want {
			t.Errorf("%s: got %v, %v, want %v", c.text, got, err, c.want)
		}
	}
	for _, c := range []struct{ text, says string }{
		{"water_detuning", "no @place"},
		{"rust@S01=1", "no such kind"},
		{"water_detuning@=1", "no place"},
		{"water_detuning@S06B=warm", "no number (in K)"},
		{"water_detuning@S06B=1e9", "no number"},
		{"water_detuning@S06B=1@25:00", "hh:mm"},
		{"water_detuning@S06B=1/quickly", "no length of time"},
	} {
		if _, err := ParseFault(c.text); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: got %v, want an error that says %q", c.text, err, c.says)
		}
	}
}
