package ingest

import "testing"

func TestColumnRuleMatch(t *testing.T) {
	for _, test := range []struct {
		column, place, header string
		want                  string
		ok                    bool
	}{
		{"Gallery T", "machine", "Gallery T", "machine", true},
		{"Gallery T", "machine", "gallery T", "", false},
		{"Gallery T", "machine", "Gallery T2", "", false},
		{"* P_fwd", "", "S03 P_fwd", "S03", true},
		{"KLY:*:PF", "", "KLY:S03:PF", "S03", true},
		{"KLY:*:PF", "", "KLY::PF", "", false},
		{"KLY:*:PF", "", "KLY:PF", "", false}, // the : would have to serve twice
		{"P_fwd *", "", "P_fwd S03", "S03", true},
		{"P_fwd *", "", "P_fwd ", "", false},
		{"a*a", "", "a", "", false},
		{"a*a", "", "aaa", "a", true},
		{"*", "", "anything", "anything", true},
	} {
		rule := ColumnRule{Column: test.column, Place: test.place}
		got, ok := rule.Match(test.header)
		if ok != test.ok || ok && got != test.want {
			t.Errorf("%q on %q: %q, %v", test.column, test.header, got, ok)
		}
	}
}
