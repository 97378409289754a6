package review_test

import (
	"fmt"
	"strings"
	"testing"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

// spansOf writes the spans of settled cells as minutes of the night: "21-240".
func spansOf(t *review.Trace) string {
	var spans []string
	for i := 0; i < len(t.Settled); i++ {
		if !t.Settled[i] {
			continue
		}
		from := i
		for i < len(t.Settled) && t.Settled[i] {
			i++
		}
		spans = append(spans, fmt.Sprintf("%d-%d", from, i))
	}
	return strings.Join(spans, " ")
}

func TestSettledAfterThreeThermalTimes(t *testing.T) {
	// S1A states no thermal time: 3 x 7 min. S1B states 2 min, S2A 15 min.
	tests := []struct {
		name     string
		with     func(b *bench)
		station  string
		s1a, s1b string
	}{
		{"log start", func(b *bench) {}, "21-480", "21-480", "6-480"},
		{
			"trip of two minutes", func(b *bench) { b.trip("S1", 4) },
			"21-240 263-480", "21-240 263-480", "6-240 248-480",
		},
		{
			"trip event alone", func(b *bench) {
				b.trip("S1", 4)
				b.stops = nil
			},
			"21-240 262-480", "21-240 262-480", "6-240 247-480",
		},
		{
			"stop of an hour", func(b *bench) { b.stop("S1", 3, 4) },
			"21-180 261-480", "21-180 261-480", "6-180 246-480",
		},
		{
			"repeated trips", func(b *bench) {
				b.trip("S1", 4)
				b.trip("S1", 4.2)
			},
			"21-240 275-480", "21-240 275-480", "6-240 248-252 260-480",
		},
		{
			"voltage set up by one per cent", func(b *bench) {
				b.log("S1", rf.BeamVoltage.Set(), voltageKV, 0)
				b.play(stepAt(4), byPercent("S1", rf.BeamVoltage.Set(), 1), byPercent("S1", rf.BeamVoltage, 1))
			},
			"21-240 262-480", "21-240 262-480", "6-240 247-480",
		},
		{
			"planned stop", func(b *bench) {
				b.plant.Planned = []rf.Planned{{From: b.hour(2), To: b.hour(2.5), Place: "S1"}}
			},
			"21-120 171-480", "21-120 171-480", "6-120 156-480",
		},
		{
			"planned stop of the machine", func(b *bench) {
				b.plant.Planned = []rf.Planned{{From: b.hour(2), To: b.hour(2.5)}}
			},
			"21-120 171-480", "21-120 171-480", "6-120 156-480",
		},
		{
			"planned stop elsewhere", func(b *bench) {
				b.plant.Planned = []rf.Planned{{From: b.hour(2), To: b.hour(2.5), Place: "S2"}}
			},
			"21-480", "21-480", "6-480",
		},
		{
			"trip elsewhere", func(b *bench) { b.trip("S2", 4) },
			"21-480", "21-480", "6-480",
		},
		{
			"RF told by its power alone", func(b *bench) {
				b.drop("S1", rf.RFOn)
				b.stop("S1", 3, 3.5)
			},
			"21-180 231-480", "21-180 231-480", "6-180 216-480",
		},
		{
			"nothing tells of RF", func(b *bench) { b.drop("S1", rf.RFOn, rf.ForwardPower) },
			"21-480", "21-480", "6-480",
		},
		{
			"silence of five minutes", func(b *bench) {
				b.at("S1", rf.RFOn).silent = [][2]float64{{4, 4 + 5.0/60}}
			},
			"21-240 245-480", "21-240 245-480", "6-240 245-480",
		},
		{
			"silence of an hour", func(b *bench) {
				b.at("S1", rf.RFOn).silent = [][2]float64{{4, 5}}
			},
			"21-240 321-480", "21-240 321-480", "6-240 306-480",
		},
	}
	for _, c := range tests {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			b := newBench()
			b.plant.Structures[1].ThermalTime = 2 * rf.Minute
			b.only(rf.RFOn, rf.ForwardPower, rf.BeamVoltage, rf.WaterTemperature)
			c.with(b)
			r := b.review()
			if got := spansOf(trace(t, r, "S1", rf.BeamVoltage)); got != c.station {
				t.Errorf("station settled %s, want %s", got, c.station)
			}
			if got := spansOf(trace(t, r, "S1A", rf.WaterTemperature)); got != c.s1a {
				t.Errorf("structure of 7 min settled %s, want %s", got, c.s1a)
			}
			if got := spansOf(trace(t, r, "S1B", rf.WaterTemperature)); got != c.s1b {
				t.Errorf("structure of 2 min settled %s, want %s", got, c.s1b)
			}
		})
	}
}

func TestReadingsOutsideSettledCellsDoNotCount(t *testing.T) {
	// In the recovery after a trip the body is cold by a kelvin, and the phase
	// advance off by a slip of fourteen degrees: no drift.
	b := newBench()
	b.trip("S1", 7.4)
	recovery := func(h float64) float64 {
		if h < 7.4 || h > 7.4+20.0/60 {
			return 0
		}
		return -1
	}
	b.play(recovery, by("S1A", rf.BodyTemperature, 1), by("S1A", rf.OutputPhase, slipDegPerK))
	r := b.review()
	if len(r.Findings) != 0 {
		t.Errorf("findings %+v", r.Findings)
	}
	if got := trace(t, r, "S1A", rf.BodyTemperature).Change; !within(got, 0, 0.02) {
		t.Errorf("body changed by %v K", got)
	}
}

func TestNotSettledAtTheEndIsSaidWithItsTime(t *testing.T) {
	// Back at 7:47 of the night, 21 min to settle, a quarter hour to read: 8:23.
	b := newBench()
	b.stop("S1", 0, 7+47.0/60)
	r := b.review()
	var found bool
	for _, n := range r.NotJudged {
		if n.Place == "S1A" {
			found = true
			if !n.Until.Equal(b.hour(8 + 23.0/60)) {
				t.Errorf("S1A: settled at %v, want %v", n.Until, b.hour(8+23.0/60))
			}
		}
		if strings.HasPrefix(n.Place, "S2") {
			t.Errorf("S2 runs, and was not judged: %+v", n)
		}
	}
	if !found {
		t.Errorf("not judged: %+v", r.NotJudged)
	}
}
