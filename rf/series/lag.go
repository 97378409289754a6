package series

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// LowPass returns what a body with one time constant makes of x: the exact
// first-order answer to straight lines between the values, which stand a step
// apart. It begins at rest at the first value, or at start where one is given.
// Over missing values x is taken as a straight line; what comes out there is NaN.
//
//	dy/dt = (x - y)/tau
func LowPass(x []float64, stepH, tauH float64, start ...float64) []float64 {
	out := make([]float64, len(x))
	last := -1
	var state float64
	for i, v := range x {
		if math.IsNaN(v) {
			out[i] = v
			continue
		}
		switch {
		case last >= 0:
			d := float64(i-last) * stepH
			lag := (v - x[last]) / d * tauH // behind a ramp for ever
			state = v - lag + (state-x[last]+lag)*math.Exp(-d/tauH)
		case len(start) > 0:
			state = start[0]
		default:
			state = v
		}
		out[i], last = state, i
	}
	return out
}

// LagFit is y as a straight line over x after a first-order lag.
type LagFit struct {
	TauH        float64 // time constant that fits best
	Slope       float64 // of y per x after the lag
	Low, High   float64 // 95 % interval of the slope, memory allowed for
	Intercept   float64
	Correlation float64 // of y with x after the lag
	Used        int     // pairs without NaN
}

const (
	lagScan   = 24  // time constants tried
	lagBlocks = 128 // block means that carry the slope
)

// FitLag fits y = a + b lowpass(x, tau) with the time constant between tauLow
// and tauHigh that leaves the least sum of squares.
func FitLag(x, y []float64, stepH, tauLow, tauHigh float64) LagFit {
	best, bestTau := math.Inf(1), math.NaN()
	for k := range lagScan {
		tau := tauLow * math.Pow(tauHigh/tauLow, float64(k)/(lagScan-1))
		if r := lagResidual(x, y, stepH, tau); r < best {
			best, bestTau = r, tau
		}
	}
	nan := math.NaN()
	fit := LagFit{TauH: bestTau, Slope: nan, Low: nan, High: nan, Intercept: nan, Correlation: nan}
	lagged := LowPass(x, stepH, bestTau)
	t := make([]float64, len(x))
	for i := range t {
		t[i] = float64(i) * stepH
	}
	xs, ys := present(lagged, y)
	ts, _ := present(t, add(lagged, y))
	fit.Used = len(xs)
	if fit.Used < minDrift {
		return fit
	}
	fit.Correlation = stat.Correlation(xs, ys, nil)
	runs := equalStretches(ts, lagBlocks, math.NaN())
	f := wanderFit(meansOver(runs, ts), meansOver(runs, xs), meansOver(runs, ys))
	fit.Slope, fit.Low, fit.High, fit.Intercept = f.slope, f.low, f.high, f.intercept
	return fit
}

func add(x, y []float64) []float64 {
	s := make([]float64, len(x))
	for i := range x {
		s[i] = x[i] + y[i]
	}
	return s
}

// lagResidual returns the share of y that a line over lagged x leaves.
func lagResidual(x, y []float64, stepH, tauH float64) float64 {
	xs, ys := present(LowPass(x, stepH, tauH), y)
	if len(xs) < minDrift {
		return math.NaN()
	}
	r := stat.Correlation(xs, ys, nil)
	return 1 - r*r
}
