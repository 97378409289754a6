package ingest

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// plainDecimal is what readNumber may read: no spelling that only a programming
// language knows.
var plainDecimal = regexp.MustCompile(`^[-+]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][-+]?[0-9]+)?$`)

// checkNumber fails where a text is read otherwise than strconv reads it.
func checkNumber(t interface {
	Helper()
	Errorf(string, ...any)
}, text string) {
	t.Helper()
	for _, behind := range []string{"\n", ",", "\r\n", ",2026-02-03T20:00:00Z,1.5\n"} {
		v, next, ok := readNumber([]byte(text+behind), 0, '.')
		if !ok {
			continue
		}
		read := text[:min(next, len(text))]
		if want, err := strconv.ParseFloat(read, 64); err != nil || math.Float64bits(v) != math.Float64bits(want) {
			t.Errorf("%q%q: read %q as %v, strconv %v %v", text, behind, read, v, want, err)
		}
	}
	for _, behind := range []string{",,\n,,,,,,,,,,,,", ",1\n,,,,,,,,,,,,,,", "\n,,,,,,,,,,,,,"} {
		var values [1]column
		n, next := readRun([]byte(text+behind), 0, ',', []byte{'.'}, []byte{3}, values[:], 1)
		if n == 0 {
			continue
		}
		read := text[:min(next-1, len(text))]
		if want, err := strconv.ParseFloat(read, 64); err != nil || math.Float64bits(values[0][1]) != math.Float64bits(want) || (text + behind)[next-1] != ',' {
			t.Errorf("%q%q: read %q in a run as %v, strconv %v %v", text, behind, read, values[0][1], want, err)
		}
	}
	if !plainDecimal.MatchString(text) || len(text) > 1000 {
		return
	}
	want, err := strconv.ParseFloat(text, 64)
	v, ok := slowNumber([]byte(text), '.', false)
	if ok != (err == nil) || ok && math.Float64bits(v) != math.Float64bits(want) {
		t.Errorf("%q: slowly read as %v %t, strconv %v %v", text, v, ok, want, err)
	}
}

var numberSeeds = []string{
	"0", "-0", "1", "-1", "+1", "38.2", "-41.90", "268.4213", "1234567.", ".5", "12345678", "123456789", "1.2345678", "99999999", "0.00000001",
	"3.1e-8", "3.100e-08", "9.9E+37", "1e22", "1e23", "9007199254740992", "9007199254740993", "9007199254740991.5", "1e-400", "1e400", "0.1e1",
	"2.2250738585072014e-308", "4.9e-324", "1.7976931348623157e308", "30.299999999999997", "30.30000000000001", "00000000000000000000012",
	"", "-", "+", ".", "-.", "e5", "1e", "1e+", "1.5.2", "1,5", "0x1p4", "1_000", "Inf", "nan", "12a", "2026-02-03", "12345678e5", "1234.567e3", "1.2345678e-19", "0.0000001e-17", "1e-16", "1e19", "1.5e+05", "-9.99E-08",
}

func TestNumbersAsStrconvReadsThem(t *testing.T) {
	for _, text := range numberSeeds {
		checkNumber(t, text)
	}
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64().Draw(t, "value")
		form := rapid.SampledFrom([]byte("efg")).Draw(t, "form")
		digits := rapid.IntRange(-1, 20).Draw(t, "digits")
		checkNumber(t, strconv.FormatFloat(v, form, digits, 64))
	})
	rapid.Check(t, func(t *rapid.T) {
		checkNumber(t, rapid.StringMatching(`[-+]?[0-9]{0,10}[.]?[0-9]{0,10}([eE][-+]?[0-9]{1,3})?`).Draw(t, "text"))
	})
}

func FuzzNumber(f *testing.F) {
	for _, text := range numberSeeds {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if strings.ContainsAny(text, "\n\r") {
			return
		}
		checkNumber(t, text)
	})
}

func TestSlowNumber(t *testing.T) {
	for _, test := range []struct {
		text    string
		mark    byte
		grouped bool
		want    float64 // NaN: refused
	}{
		{"3.82D+01", '.', false, 38.2}, {"3.82d1", '.', false, 38.2}, {"0.382+2", '.', false, 38.2}, {"3820.-2", '.', false, 38.2},
		{"38,2", ',', false, 38.2}, {"38,2", '.', false, missing}, {"38.2", ',', false, missing},
		{"1.230,5", ',', true, 1230.5}, {"1,230.5", '.', true, 1230.5}, {"-12.345.678,25", ',', true, -12345678.25}, {"1.230", ',', true, 1230},
		{"1.23,5", ',', true, missing}, {"1234.567,5", ',', true, missing}, {"1.230.5", ',', true, missing}, {"12,5", ',', true, 12.5},
		{"1-2", '.', false, missing}, {"2026-11", '.', false, missing}, {"1.5-", '.', false, missing}, {"1e5e5", '.', false, missing}, {"--1", '.', false, missing},
		{"1e400", '.', false, missing}, {"38.2f", '.', false, missing}, {"3 8.2", '.', false, missing}, {"Infinity", '.', false, missing},
		{"0." + strings.Repeat("1", 500), '.', false, 1.0 / 9}, {strings.Repeat("1", 2000), '.', false, missing},
	} {
		got, ok := slowNumber([]byte(test.text), test.mark, test.grouped)
		if !ok {
			got = missing
		}
		if !near(got, test.want, 1e-15) && !(got != got && test.want != test.want) {
			t.Errorf("%.40q: got %v, want %v", test.text, got, test.want)
		}
	}
}
