package review_test

import (
	"strings"
	"testing"

	"dawncrest/rf"
)

func noticesWith(notices []string, word string) []string {
	var found []string
	for _, n := range notices {
		if strings.HasPrefix(n, word) {
			found = append(found, n)
		}
	}
	return found
}

func TestSlowMoversAreNoted(t *testing.T) {
	// 0.1 K/h from the start: 0.75 of the drift limit of 1 K after eight hours, and
	// on to it; the act limit is a shift and more away.
	b := thermometer()
	b.limits(rf.WaterTemperature, rf.Change, 1, 3, "K")
	b.play(ramp(0, 20), by("S1A", rf.WaterTemperature, 2))
	b.play(ramp(0, 20), by("S1B", rf.WaterTemperature, 0.2)) // a tenth of that
	r := b.review()
	wantFindings(t, r)
	got := noticesWith(r.Notices, "in tolerance but moving")
	if len(got) != 1 || !strings.Contains(got[0], "S1A inlet water temperature by +0.") {
		t.Errorf("notices %q", r.Notices)
	}
}

func TestNoisyReadingIsNoted(t *testing.T) {
	b := newBench()
	b.at("S2A", rf.InputPhase).scatter = 3 // of a drift limit of 4 deg
	got := noticesWith(b.review().Notices, "noisy")
	if len(got) != 1 || !strings.Contains(got[0], "S2A input phase scatters by") {
		t.Errorf("notices %q", got)
	}
}
