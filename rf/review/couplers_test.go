package review_test

import (
	"strings"
	"testing"

	"dawncrest/rf"
)

func TestCouplersThatDisagreeAreNoted(t *testing.T) {
	// Good to 4 % each (common practice): three sigma of two are 17 %.
	for _, c := range []struct {
		name  string
		place string
		q     rf.Quantity
		by    float64
		want  string
	}{
		{"input too high", "S1A", rf.InputPower, 1.3, "S1A input power is +30"},
		{"output too low", "S3A", rf.OutputPower, 0.7, "S3A output power is -30"},
		{"within their error", "S1A", rf.InputPower, 1.1, ""},
	} {
		b := newBench()
		b.at(c.place, c.q).level *= c.by
		if c.q == rf.InputPower {
			b.at(c.place, rf.OutputPower).level *= c.by
		}
		r := b.review()
		wantFindings(t, r)
		got := noticesWith(r.Notices, "couplers disagree")
		if (len(got) == 1) != (c.want != "") || len(got) == 1 && !strings.Contains(got[0], c.want) {
			t.Errorf("%s: notices %q", c.name, r.Notices)
		}
	}
}
