package chart

import (
	"math"
	"slices"
	"strconv"
	"strings"
)

// Scale is the span of values that a box shows from its bottom to its top.
type Scale struct{ Low, High float64 }

// Known reports whether the scale spans anything.
func (s Scale) Known() bool { return finite(s.Low) && finite(s.High) && s.High > s.Low }

// fraction returns where v lies between the bottom (0) and the top (1).
func (s Scale) fraction(v float64) float64 { return (v - s.Low) / (s.High - s.Low) }

// row returns the row of a box of n rows that shows v, 0 at the top; it lies
// outside 0..n-1 for a value beyond the scale.
func (s Scale) row(v float64, n int) int {
	f := s.fraction(v)
	switch {
	case f < 0:
		return n
	case f > 1:
		return -1
	}
	return min(int((1-f)*float64(n)), n-1)
}

// calmShare is the part of the readings at either end that may leave the scale:
// a trip to zero must not press the rest of the night flat.
const calmShare = 0.02

// CalmScale returns a scale for values that also shows the given levels (a
// reference, limits). It holds all but the outermost readings.
func CalmScale(values []float64, levels ...float64) Scale {
	known := make([]float64, 0, len(values))
	for _, v := range values {
		if finite(v) {
			known = append(known, v)
		}
	}
	slices.Sort(known)
	s := Scale{math.Inf(1), math.Inf(-1)}
	if n := len(known); n > 0 {
		drop := int(calmShare * float64(n))
		s = Scale{known[drop], known[n-1-drop]}
	}
	for _, level := range levels {
		if finite(level) {
			s = Scale{min(s.Low, level), max(s.High, level)}
		}
	}
	if s.Low > s.High {
		return Scale{math.NaN(), math.NaN()}
	}
	return s.widened()
}

// widened leaves some room at both ends, and gives a flat scale a height.
func (s Scale) widened() Scale {
	room := (s.High/2 - s.Low/2) * 0.12
	if tiny := max(math.Abs(s.Low), math.Abs(s.High)) * 1e-6; room <= tiny {
		room = max(tiny, math.SmallestNonzeroFloat64*16)
	}
	wide := Scale{s.Low - room, s.High + room}
	if !wide.Known() {
		return Scale{math.NaN(), math.NaN()}
	}
	return wide
}

// Number writes v with as many digits as a step of the given size needs.
func Number(v, step float64) string {
	if !finite(v) {
		return "-"
	}
	if a := math.Abs(v); a != 0 && (a >= 1e6 || a < 1e-3) && a >= math.Abs(step) {
		return shortExponent(strconv.FormatFloat(v, 'e', 1, 64))
	}
	digits := 0
	if step > 0 && finite(step) {
		digits = min(max(int(math.Ceil(-math.Log10(step)-1e-9)), 0), 6)
	}
	s := strconv.FormatFloat(v, 'f', digits, 64)
	if strings.Trim(s, "-0.") == "" {
		return strings.TrimPrefix(s, "-")
	}
	return s
}

// shortExponent turns 1.0e-08 into 1.0e-8.
func shortExponent(s string) string {
	mantissa, exponent, found := strings.Cut(s, "e")
	if !found {
		return s
	}
	sign := ""
	if exponent[0] == '-' {
		sign = "-"
	}
	return mantissa + "e" + sign + strings.TrimLeft(exponent[1:], "0")
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
