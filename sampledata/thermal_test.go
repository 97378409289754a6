package sampledata

import (
	"math"
	"testing"
	"time"
)

// calm is a night without anything but what its faults do.
func calm(faults ...Fault) Scenario {
	return Scenario{
		Seed: 11, Start: demoStart, Length: 5 * time.Hour, Interval: time.Minute, Faults: faults,
		Without: everyday &^ CouplerErrors,
	}
}

func TestBodyFollowsInletWithItsLag(t *testing.T) {
	l := Prepare(Build(8, 5))
	x := 4
	name := l.structures[x].Name
	n, err := l.newNight(calm(Fault{Kind: "water_detuning", Place: name, Size: 1, Start: demoStart.Add(time.Hour)}))
	if err != nil {
		t.Fatal(err)
	}
	n.spinUp()
	before := n.now.structures[x].bodyC
	hidden := l.structures[x].hidden
	const stepS = 1
	for s := float64(stepS); s < 2.5*3600; s += stepS {
		n.advance(s, stepS)
		// Two lags in a row: the water on its way, then the body.
		after := s - 3600
		want := 0.0
		if after > 0 {
			a, b := hidden.waterLagS, hidden.lagS
			want = 1 - (b*math.Exp(-after/b)-a*math.Exp(-after/a))/(b-a)
		}
		if got := n.now.structures[x].bodyC - before; math.Abs(got-want) > 0.005 {
			t.Fatalf("%v s after the step the body has moved %v K, want %v", after, got, want)
		}
	}
}

func TestHeatGoesToTheWater(t *testing.T) {
	l := Prepare(Build(8, 5))
	n, err := l.newNight(calm())
	if err != nil {
		t.Fatal(err)
	}
	n.spinUp()
	for x := range n.now.structures {
		p, s := &l.structures[x], &n.now.structures[x]
		if !near(s.waterHeatKW, s.heatKW, 1e-4) {
			t.Errorf("%s: %v kW into the copper, %v kW into the water", p.Name, s.heatKW, s.waterHeatKW)
		}
		if want := s.heatKW * p.hidden.heatingKPerKW; !near(s.bodyC-s.waterC, want, 1e-4) {
			t.Errorf("%s: body %v K above inlet, want %v", p.Name, s.bodyC-s.waterC, want)
		}
		if rise := s.bodyC - s.waterC; rise < 0.2 || rise > 8 {
			t.Errorf("%s: body %v K above inlet is nothing like a linac", p.Name, rise)
		}
	}
}

func TestBodyRecoversFromATrip(t *testing.T) {
	l := Prepare(Build(8, 5))
	n, err := l.newNight(calm())
	if err != nil {
		t.Fatal(err)
	}
	n.stops[4] = []stop{{fromS: 600, toS: 720, riseS: 40, trip: true}}
	x := l.stations[4].structures[0]
	n.spinUp()
	before := n.now.structures[x]
	n.advance(720, 720)
	cold := n.now.structures[x]
	if cold.bodyC > before.bodyC-0.3 || cold.detuningKHz < before.detuningKHz+14 {
		t.Errorf("two minutes without RF took the body from %v to %v degC", before.bodyC, cold.bodyC)
	}
	n.advance(720+3*3600, 3*3600)
	if back := n.now.structures[x]; math.Abs(back.bodyC-before.bodyC) > 0.01 {
		t.Errorf("the body is at %v degC three hours later, was %v", back.bodyC, before.bodyC)
	}
}
