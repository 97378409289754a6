package sampledata_test

import (
	"io"
	"math"
	"testing"
	"time"

	"dawncrest/rf"
	"dawncrest/sampledata"
)

// known is a Sink that holds every channel against the program's own table of
// quantities.
type known struct {
	t        *testing.T
	channels []sampledata.Channel
	infos    []rf.Info
}

func (k *known) Begin(channels []sampledata.Channel) error {
	k.channels = channels
	for _, c := range channels {
		// A place is of some kind in the machine; its header must be known there.
		info, ok := rf.Quantity(c.Quantity).Info()
		if c.Place == rf.MachinePlace {
			info, ok = rf.Quantity(c.Quantity).InfoAt(rf.OfMachine)
		}
		switch {
		case !ok || info.Derived:
			k.t.Errorf("%s: no logged quantity", c.Header())
		case c.Unit != info.Unit:
			k.t.Errorf("%s: native unit is %q", c.Header(), info.Unit)
		}
		k.infos = append(k.infos, info)
	}
	return nil
}

func (k *known) Row(_ time.Time, values []float64, _ []string) error {
	for i, v := range values {
		if info := k.infos[i]; info.Form != rf.Text && !math.IsNaN(v) && (v < info.Low || v > info.High) {
			k.t.Errorf("%s: %v lies outside %v to %v", k.channels[i].Header(), v, info.Low, info.High)
		}
	}
	return nil
}

func TestEveryChannelIsKnown(t *testing.T) {
	s := sampledata.DemoScenario()
	s.Length, s.Interval = 4*time.Hour, time.Minute
	s.With = sampledata.SetPointChange | sampledata.StationStandby | sampledata.WarmUpStart | sampledata.MainsDip
	s.Faults = nil
	k := &known{t: t}
	if _, err := sampledata.Build(12, 3).Play(s, k); err != nil {
		t.Fatal(err)
	}
	if len(k.channels) < 300 {
		t.Errorf("only %d channels", len(k.channels))
	}
}

func TestBareLogOfTheBigMachine(t *testing.T) {
	m := sampledata.Build(24, 9)
	s := sampledata.Scenario{Seed: 1, Start: time.Date(2026, 1, 5, 18, 0, 0, 0, time.UTC), Length: time.Hour, Interval: time.Minute, Leave: sampledata.BareLog()}
	k := &known{t: t}
	if _, err := m.Play(s, k); err != nil {
		t.Fatal(err)
	}
	if len(k.channels) != 528 || len(m.Structures) != 40 {
		t.Errorf("%d channels of %d structures, want 528 of 40", len(k.channels), len(m.Structures))
	}
}

type cells struct{ sum float64 }

func (*cells) Begin([]sampledata.Channel) error { return nil }

func (c *cells) Row(_ time.Time, values []float64, _ []string) error {
	for _, v := range values {
		c.sum += v
	}
	return nil
}

func bigNight(interval time.Duration) (*sampledata.Linac, sampledata.Scenario) {
	return sampledata.Prepare(sampledata.Build(24, 9)), sampledata.Scenario{
		Seed: 1, Start: time.Date(2026, 1, 5, 18, 0, 0, 0, time.UTC), Length: 12 * time.Hour, Interval: interval, Leave: sampledata.BareLog(),
	}
}

func BenchmarkPlayBigNight(b *testing.B) {
	l, s := bigNight(30 * time.Second)
	for b.Loop() {
		if _, err := l.Play(s, &cells{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPrepareBigMachine(b *testing.B) {
	m := sampledata.Build(24, 9)
	for b.Loop() {
		sampledata.Prepare(m)
	}
}

func BenchmarkWriteBigNight(b *testing.B) {
	l, s := bigNight(10 * time.Second)
	for b.Loop() {
		if _, err := l.WriteCSV(s, io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}
