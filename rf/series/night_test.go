package series

import (
	"testing"
	"time"

	"dawncrest/rf"
)

func TestNightGrid(t *testing.T) {
	n := Night{Start: dusk, Width: time.Minute, Cells: 600}
	if got, want := n.End(), dusk.Add(10*time.Hour); !got.Equal(want) {
		t.Errorf("end: got %v, want %v", got, want)
	}
	tests := []struct {
		after time.Duration
		want  int
	}{
		{-time.Nanosecond, -1}, {0, 0}, {time.Minute - 1, 0}, {time.Minute, 1},
		{10*time.Hour - 1, 599}, {10 * time.Hour, 600}, {-5 * time.Hour, -1},
	}
	for _, tt := range tests {
		if got := n.Index(dusk.Add(tt.after)); got != tt.want {
			t.Errorf("%v after the start: got cell %d, want %d", tt.after, got, tt.want)
		}
	}
	for i := range n.Cells {
		if got := n.Index(n.At(i)); got != i {
			t.Fatalf("cell %d begins in cell %d", i, got)
		}
	}
}

func TestNightChannel(t *testing.T) {
	n := Night{Channels: []Channel{
		{Place: "S01", Quantity: rf.ForwardPower},
		{Place: "S01", Quantity: rf.ForwardPhase},
		{Place: "S02", Quantity: rf.ForwardPower},
	}}
	got := n.Channel("S01", rf.ForwardPhase)
	if got != &n.Channels[1] {
		t.Errorf("got %v, want the night's own channel", got)
	}
	for _, missing := range []struct {
		place string
		q     rf.Quantity
	}{{"S02", rf.ForwardPhase}, {"s01", rf.ForwardPower}, {"", rf.ForwardPower}} {
		if got := n.Channel(missing.place, missing.q); got != nil {
			t.Errorf("%s of %q: got %v, want none", missing.q, missing.place, got)
		}
	}
}

func TestNightEventsAt(t *testing.T) {
	n := Night{Events: []Event{
		{At: dusk, Kind: Trip, Place: "S01", Note: "first"},
		{At: dusk.Add(time.Second), Kind: RFOff, Place: "S01"},
		{At: dusk.Add(time.Minute), Kind: Trip, Place: "S02"},
		{At: dusk.Add(time.Hour), Kind: Trip, Place: "S01", Note: "second"},
	}}
	got := n.EventsAt("S01", Trip)
	if len(got) != 2 || got[0].Note != "first" || got[1].Note != "second" {
		t.Errorf("got %v, want the two trips of S01 in order", got)
	}
	if got := n.EventsAt("S03", Trip); got != nil {
		t.Errorf("a place without events: got %v", got)
	}
}
