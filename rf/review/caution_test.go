package review

import (
	"strings"
	"testing"
)

func TestEveryCauseThatLeadsToEquipmentHasACaution(t *testing.T) {
	// A changed set value is a person's doing at the console: nothing to touch.
	bare := map[Cause]bool{SetPoint: true}
	for cause := range causeWords {
		caution := CautionFor(cause)
		if bare[cause] != (caution == "") {
			t.Errorf("%s: caution %q", cause, caution)
		}
		if caution != "" && !strings.HasSuffix(caution, "Local rules decide.") {
			t.Errorf("%s: caution defers to nobody: %q", cause, caution)
		}
		for _, h := range HazardsOf(cause) {
			if reminders[h] == "" {
				t.Errorf("%s: hazard %q has no reminder", cause, h)
			}
		}
	}
}

func TestDamageIsNeverAnsweredWithMorePower(t *testing.T) {
	for _, cause := range []Cause{WaveguideLoss, ReflectedPower, Vacuum, TooManyTrips, Unexplained} {
		if !strings.Contains(CautionFor(cause), "raise neither voltage nor power") {
			t.Errorf("%s: %q", cause, CautionFor(cause))
		}
	}
}
