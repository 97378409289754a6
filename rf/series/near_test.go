package series

import "math"

func near(got, want, rel float64) bool {
	return got == want || math.Abs(got-want) <= rel*math.Abs(want) || math.IsNaN(got) && math.IsNaN(want)
}
