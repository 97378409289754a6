package sampledata

import (
	"math"
	"testing"
	"time"
)

// witness is what one channel must show of a fault.
type witness struct {
	place, quantity string
	how             change
	low, high       float64
}

type change uint8

const (
	by    change = iota // later minus earlier, in the unit
	share               // in percent
	phase               // later minus earlier, along the circle
)

func (w witness) of(before, after float64) float64 {
	switch w.how {
	case share:
		return 100 * (after/before - 1)
	case phase:
		return turn(after - before)
	}
	return after - before
}

// The machine of these tests: S04 is stiff, S05 stands on a load line and its
// structures share the loop W05.
//
// Sizes: 16.6e-6/K x 2856 MHz = 47.4 kHz/K, and 360 x 47.4 kHz x 0.78 us = 13.3
// deg/K; power as V^2.0 to V^3.5 at fixed drive; 2 to 6 deg/dB against drive;
// perveance -3 % on a matched load line gives V +1.2 %, I -1.2 %.
func TestFaultsMoveTheirWitnesses(t *testing.T) {
	l := Prepare(Build(8, 5))
	still := func(place, quantity string) witness { return witness{place, quantity, by, -1e-3, 1e-3} }
	without, _ := play(t, l, calm())
	for _, c := range []struct {
		fault     Fault
		witnesses []witness
	}{
		{Fault{Kind: "water_detuning", Place: "S04A", Size: 0.5}, []witness{
			{"S04A", "water_temperature", by, 0.499, 0.501},
			{"S04A", "body_temperature", by, 0.498, 0.502},
			{"S04A", "output_phase", phase, -6.95, -6.35},
			still("S04A", "input_phase"), still("S04A", "water_flow"), still("S04B", "water_temperature"),
		}},
		{Fault{Kind: "water_detuning", Place: "W05", Size: -0.4}, []witness{
			{"W05", "loop_temperature", by, -0.401, -0.399},
			{"S05A", "output_phase", phase, 5, 5.6},
			{"S05B", "output_phase", phase, 5, 5.6},
		}},
		{Fault{Kind: "regulating_sensor", Place: "S04A", Size: 0.5}, []witness{
			{"S04A", "body_temperature", by, 0.498, 0.502},
			{"S04A", "output_phase", phase, -6.95, -6.35},
			still("S04A", "water_temperature"), still("S04A", "water_flow"), still("S04A", "input_power"),
		}},
		{Fault{Kind: "cooling_flow", Place: "S04A", Size: -30}, []witness{
			{"S04A", "water_flow", share, -30.01, -29.99},
			{"S04A", "body_temperature", by, 0.5, 1.6},
			{"S04A", "return_temperature", by, 0.3, 1.2},
			{"S04A", "output_phase", phase, -22, -6},
			still("S04A", "water_temperature"), still("S04A", "input_power"),
		}},
		{Fault{Kind: "heat_load", Place: "S04A", Size: 15}, []witness{
			{"S04A", "input_power", share, 14.9, 15.1},
			{"S04A", "output_power", share, 14.9, 15.1},
			{"S04A", "body_temperature", by, 0.25, 0.6},
			{"S04A", "output_phase", phase, -8, -3},
			still("S04A", "water_temperature"), still("S04A", "water_flow"), still("S04B", "input_power"),
		}},
		{Fault{Kind: "temperature_sensor", Place: "S04A", Size: 0.5}, []witness{
			{"S04A", "water_temperature", by, 0.499, 0.501},
			still("S04A", "output_phase"), still("S04A", "body_temperature"), still("transfer", "beam_energy"),
		}},
		{Fault{Kind: "temperature_sensor", Place: "S04A", Quantity: "body_temperature", Size: -0.5}, []witness{
			{"S04A", "body_temperature", by, -0.501, -0.499}, still("S04A", "water_temperature"),
		}},
		{Fault{Kind: "reading_doubted", Place: "S04", Size: 3}, []witness{
			{"S04", "beam_voltage", share, 2.99, 3.01},
			still("S04", "beam_current"), still("S04", "forward_power"), still("transfer", "beam_energy"),
		}},
		{Fault{Kind: "reading_doubted", Place: "S04A", Quantity: "output_phase", Size: 12}, []witness{
			{"S04A", "output_phase", phase, 11.99, 12.01}, still("S04A", "output_power"),
		}},
		{Fault{Kind: "compressor_detuning", Place: "S04", Size: 0.6}, []witness{
			{"S04", "compressor_temperature", by, 0.597, 0.603},
			{"S04A", "input_phase", phase, -10.5, -7},
			{"S04A", "output_phase", phase, -10.5, -7},
			{"S04", "compressed_power", share, -6, -0.5},
			{"transfer", "beam_energy", by, -20, -0.5},
			still("S04", "forward_phase"), still("S04", "forward_power"),
		}},
		{Fault{Kind: "modulator_voltage", Place: "S04", Size: -1.5}, []witness{
			{"S04", "beam_voltage", share, -1.51, -1.49},
			{"S04", "beam_current", share, -2.3, -2.2},
			{"S04", "forward_power", share, -5.25, -3},
			{"S04", "forward_phase", phase, -14, -7},
			{"S04A", "input_phase", phase, -14, -7},
			still("S04", "beam_voltage_set"), still("S04", "drive_power"), still("S03", "beam_voltage"),
		}},
		{Fault{Kind: "modulator_voltage", Place: "S05", Size: 1}, []witness{
			{"S05", "beam_voltage", share, 0.99, 1.01},
			{"S05", "beam_current", share, 1.49, 1.52},
		}},
		{Fault{Kind: "cathode_emission", Place: "S05", Size: -3}, []witness{
			{"S05", "beam_voltage", share, 1.1, 1.3},
			{"S05", "beam_current", share, -1.3, -1.1},
			{"S05", "forward_power", share, -0.7, 0.7},
		}},
		{Fault{Kind: "cathode_emission", Place: "S04", Size: -3}, []witness{
			still("S04", "beam_voltage"), {"S04", "beam_current", share, -3.01, -2.99}, {"S04", "forward_power", share, -3.01, -2.99},
		}},
		{Fault{Kind: "drive_power", Place: "S04", Size: -20}, []witness{
			{"S04", "drive_power", share, -20.1, -19.9},
			{"S04", "forward_power", share, -12, -0.5},
			{"S04", "forward_phase", phase, -6, -1.9},
			still("S04", "beam_voltage"), still("S04", "beam_current"),
		}},
		{Fault{Kind: "phase_drift", Place: "S04", Size: 10}, []witness{
			{"S04", "forward_phase", phase, 9.99, 10.01}, {"S04A", "input_phase", phase, 9.99, 10.01},
			{"S04A", "output_phase", phase, 9.99, 10.01}, {"transfer", "beam_energy", by, -10, -0.2},
			still("S04", "drive_phase"), still("S04", "forward_power"),
		}},
		{Fault{Kind: "waveguide_loss", Place: "S04", Size: 10}, []witness{
			{"S04A", "input_power", share, -10.1, -9.9}, {"S04B", "output_power", share, -10.1, -9.9},
			{"transfer", "beam_energy", by, -15, -1}, still("S04", "compressed_power"), still("S04", "forward_power"),
		}},
		{Fault{Kind: "waveguide_loss", Place: "S04A", Size: 10}, []witness{
			{"S04A", "input_power", share, -10.1, -9.9}, {"S04A", "output_power", share, -10.1, -9.9}, still("S04B", "input_power"),
		}},
		{Fault{Kind: "reflected_power", Place: "S04", Size: 4}, []witness{
			{"S04", "reflected_power", share, 200, 1000}, {"S04", "compressed_power", share, -4.1, -3.9}, still("S04", "forward_power"),
		}},
		{Fault{Kind: "set_point", Place: "S04", Size: 1}, []witness{
			{"S04", "beam_voltage_set", share, 0.99, 1.01}, {"S04", "beam_voltage", share, 0.99, 1.01},
		}},
		{Fault{Kind: "set_point", Place: "S04", Quantity: "drive_phase", Size: -6}, []witness{
			{"S04", "drive_phase_set", phase, -6.01, -5.99}, {"S04", "drive_phase", phase, -6.01, -5.99}, {"S04", "forward_phase", phase, -6.01, -5.99},
		}},
		{Fault{Kind: "trips", Place: "S04", Size: 9, Ramp: time.Hour}, []witness{{"S04", "trip_count", by, 9, 9}}},
		{Fault{Kind: "vacuum", Place: "S04", Size: 8}, []witness{{"S04", "vacuum_pressure", share, 690, 710}}},
		{Fault{Kind: "headroom", Place: "W05", Size: 96}, []witness{
			{"W05", "valve_opening", by, 30, 70}, still("W05", "loop_temperature"), still("S05A", "output_phase"),
		}},
		{Fault{Kind: "headroom", Place: "S04", Size: 98}, []witness{
			{"S04", "drive_power", share, 3, 40}, still("S04", "forward_power"), still("S04", "forward_phase"),
		}},
		{Fault{Kind: "common_water", Place: "machine", Size: 0.3}, []witness{
			{"S04A", "water_temperature", by, 0.299, 0.301}, {"S07B", "output_phase", phase, -12, -3}, {"S04", "compressor_temperature", by, 0.29, 0.31},
		}},
		{Fault{Kind: "common_phase", Place: "machine", Size: 8}, []witness{
			{"S04", "forward_phase", phase, 7.99, 8.01}, {"S07B", "output_phase", phase, 7.99, 8.01},
			{"machine", "reference_phase", phase, 7.99, 8.01}, still("transfer", "beam_energy"),
		}},
		{Fault{Kind: "common_voltage", Place: "machine", Size: -0.8}, []witness{
			{"S04", "beam_voltage", share, -0.81, -0.79}, {"S05", "beam_voltage", share, -0.81, -0.79}, {"S01", "beam_voltage", share, -0.81, -0.79},
		}},
		{Fault{Kind: "common_trip", Place: "machine", Size: 100}, []witness{
			{"S04", "trip_count", by, 1, 1}, {"S07", "trip_count", by, 1, 1},
		}},
	} {
		t.Run(c.fault.Kind+"@"+c.fault.Place+c.fault.Quantity, func(t *testing.T) {
			c.fault.Start = demoStart.Add(time.Hour)
			with, _ := play(t, l, calm(c.fault))
			for _, w := range c.witnesses {
				got := w.of(without.level(t, w.place, w.quantity), with.level(t, w.place, w.quantity))
				if !(got >= w.low && got <= w.high) {
					t.Errorf("%s %s moved by %v, want %v to %v", w.place, w.quantity, got, w.low, w.high)
				}
			}
		})
	}
}

func TestEveryKindHasItsWitness(t *testing.T) {
	l := Prepare(Build(8, 5))
	without, _ := play(t, l, calm())
	for _, k := range FaultKinds() {
		place := map[placeKind]string{atMachine: "machine"}[k.places]
		switch {
		case place != "":
		case k.places&atStation != 0:
			place = "S04"
		default:
			place = "S04A"
		}
		f := Fault{Kind: k.Name, Place: place, Size: k.Default, Ramp: time.Hour, Start: demoStart.Add(time.Hour)}
		with, truth := play(t, l, calm(f))
		same := len(with.values) == len(without.values)
		for i := range with.values {
			for k := 0; same && k < len(with.values[i]); k++ {
				a, b := with.values[i][k], without.values[i][k]
				same = a == b || math.IsNaN(a) && math.IsNaN(b)
			}
		}
		// Without noise a reading that stands still and one that lives look alike.
		if same && k.Name != "stuck_reading" {
			t.Errorf("%s at its usual size changes nothing in the log", k.Name)
		}
		if len(truth.Faults) != 1 || truth.Faults[0].Kind != k.Name {
			t.Errorf("%s: the truth tells of %v", k.Name, truth.Faults)
		}
	}
}

func TestStuckReadingAndGap(t *testing.T) {
	l := Prepare(Build(8, 5))
	s := calm(
		Fault{Kind: "stuck_reading", Place: "S04", Size: 2, Start: demoStart.Add(time.Hour)},
		Fault{Kind: "data_gap", Place: "S05A", Size: 30, Start: demoStart.Add(2 * time.Hour)},
		Fault{Kind: "data_gap", Place: "machine", Size: 10, Start: demoStart.Add(4 * time.Hour)},
	)
	s.Without = 0
	r, _ := play(t, l, s)
	power := r.column("S04", "forward_power")
	for i := 61; i < 180; i++ {
		if power[i] != power[60] {
			t.Fatalf("minute %d: %v, stood at %v", i, power[i], power[60])
		}
	}
	if power[182] == power[60] && power[183] == power[60] && power[184] == power[60] {
		t.Error("the reading never moved again")
	}
	missing := 0
	for _, v := range r.column("S05A", "output_phase") {
		if math.IsNaN(v) {
			missing++
		}
	}
	if missing != 30 {
		t.Errorf("%d readings missing, want 30", missing)
	}
	if want := 5*60 + 1 - 10; len(r.times) != want {
		t.Errorf("%d rows, want %d", len(r.times), want)
	}
}
