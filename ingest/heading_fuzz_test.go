package ingest

import (
	"math"
	"testing"
	"unicode"
)

// FuzzHeading asks that any text can stand over a column: it is understood with a
// unit that converts, or not and said why, in words that can be shown.
func FuzzHeading(f *testing.F) {
	for _, seed := range [][2]string{
		{"S03 forward_power [MW]", ""}, {"S03 forward power (dBm)", ""}, {"S03A.water_temperature", "degF"}, {"room 4 pressure", "mbar"},
		{"S03 drive_phase_set [rad]", ""}, {"machine repetition_rate [Hz]", ""}, {"\x1b]0;x\a forward_power [MW]", "[]"}, {"[MW]", "()"}, {"S03/trip-count", "1"},
	} {
		f.Add(seed[0], seed[1])
	}
	f.Fuzz(func(t *testing.T, text, unit string) {
		text, unit = cleanText(text), cleanText(unit)
		parts := func(h *headings) heading { return h.readParts(text, unit, "") }
		whole := func(h *headings) heading { return h.read(text, unit) }
		for _, read := range []func(*headings) heading{whole, parts} {
			out := read(newHeadings(nil, nil))
			if out.quantity == "" {
				checkShown(t, out.guess)
				continue
			}
			if out.err != nil {
				checkShown(t, out.err.Error())
				continue
			}
			if b := out.bounds(); out.place == "" || !(b.low < b.high) || out.scale == 0 || math.IsNaN(out.scale+out.offset) || math.IsInf(out.scale+out.offset, 0) {
				t.Errorf("%q %q: %+v", text, unit, out)
			}
		}
	})
}

func checkShown(t *testing.T, words string) {
	t.Helper()
	for _, r := range words {
		if unicode.IsControl(r) {
			t.Fatalf("%q holds a control code", words)
		}
	}
}
