package rf

import "math"

// near reports whether got lies within a relative tolerance of want.
func near(got, want, rel float64) bool { return math.Abs(got-want) <= rel*math.Abs(want) }
