package test

import "math"

// near reports whether got lies within a relative tolerance of want.
func near(got, want, rel float64) bool { return math.Abs(got-want) <= rel*math.Abs(want) }

// within reports whether got lies within an absolute tolerance of want.
func within(got, want, tolerance float64) bool { return math.Abs(got-want) <= tolerance }
