package review_test

import (
	"math"
	"sort"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

func near(got, want, rel float64) bool { return math.Abs(got-want) <= rel*math.Abs(want) }

func within(got, want, tolerance float64) bool { return math.Abs(got-want) <= tolerance }

func trace(t *testing.T, r *review.Report, place string, q rf.Quantity) *review.Trace {
	t.Helper()
	found := r.Trace(place, q)
	if found == nil {
		t.Fatalf("no trace of %s %s", place, q)
	}
	return found
}

// told is what findings say at most: their causes and places.
func told(findings []review.Finding) []string {
	list := []string{}
	for _, f := range findings {
		list = append(list, string(f.Cause)+" "+f.Place)
	}
	sort.Strings(list)
	return list
}

// wantFindings holds the findings against causes and places: "trips S1". Each
// must be told once, and nothing else.
func wantFindings(t *testing.T, r *review.Report, want ...string) {
	t.Helper()
	sort.Strings(want)
	if diff := cmp.Diff(append([]string{}, want...), told(r.Findings)); diff != "" {
		t.Errorf("findings (-want +got):\n%s", diff)
		for _, f := range r.Findings {
			t.Logf("%s %s: %s; %v", f.Place, f.Cause, f.Message, f.Evidence)
		}
	}
}

// finding returns the finding of a cause, which must be there.
func finding(t *testing.T, r *review.Report, cause review.Cause) review.Finding {
	t.Helper()
	for _, f := range r.Findings {
		if f.Cause == cause {
			return f
		}
	}
	t.Fatalf("no %s among %v", cause, told(r.Findings))
	return review.Finding{}
}
