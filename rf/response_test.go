package rf

import (
	"math"
	"math/cmplx"
	"testing"
)

// Where the difference of exponentials would lose its digits a series takes over;
// both sides of that edge must give what the power series of the integral gives.
func TestExpIntegral(t *testing.T) {
	const from, to = 0.3, 1.1
	for _, rate := range []complex128{0, 1e-9, 1e-4i, 0.012 + 0.011i, 0.0249, 0.0251, 0.02 - 0.03i, -0.7, 1 + 2i} {
		// integral of exp(rate t) = sum rate^n (to^(n+1) - from^(n+1))/(n+1)!
		var want complex128
		power, factorial := complex(1, 0), 1.0
		for n := range 40 {
			factorial *= float64(n + 1)
			want += power * complex((math.Pow(to, float64(n+1))-math.Pow(from, float64(n+1)))/factorial, 0)
			power *= rate
		}
		want *= cmplx.Exp(-0.2 + 0.5i)
		if got := expIntegral(-0.2+0.5i, rate, from, to); cmplx.Abs(got-want) > 2e-14 {
			t.Errorf("rate %v: %v, want %v", rate, got, want)
		}
	}
}
