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
	keepStep := math.Exp(-stepH / tauH)
	last := -1
	var state float64
	for i, v := range x {
		if math.IsNaN(v) {
			out[i] = v
			continue
		}
		switch {
		case last >= 0:
			d, keep := stepH, keepStep
			if i-last > 1 {
				d *= float64(i - last)
				keep = math.Exp(-d / tauH)
			}
			behind := (v - x[last]) / d * tauH // what it ends up behind a lasting ramp
			state = v - behind + (state-x[last]+behind)*keep
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
	TauH            float64 // time constant, averaged over those that fit
	TauLow, TauHigh float64 // 95 % interval of it, within what was tried
	Slope           float64 // of y per x after the lag
	Low, High       float64 // 95 % interval of the slope, memory allowed for
	Intercept       float64
	Correlation     float64 // of y with x after the lag
	Used            int     // pairs without NaN
}

const (
	lagScan   = 12  // time constants tried at first, and again where they fit
	lagBlocks = 160 // means that carry the fit
)

// FitLag fits y = a + b lowpass(x, tau), the time constant between tauLow and
// tauHigh (the same for one that is known), both series a step apart.
//
// Departures are white noise and a wander as in [DriftSlope]. Slope and time
// constant are averaged over the time constants and noise models that the
// readings allow, so that the interval of one contains what the other leaves
// open.
//
// Valid: x moves, within the record, by much more than its own noise: noise in x
// makes the slope too small by the share of the noise in the variance of x after
// the lag. Below eight pairs, and where x or y stands still, all is NaN.
func FitLag(x, y []float64, stepH, tauLow, tauHigh float64) LagFit {
	nan := math.NaN()
	fit := LagFit{nan, nan, nan, nan, nan, nan, nan, nan, 0}
	p := newLagProblem(x, y, stepH)
	fit.Used = len(p.hours)
	if fit.Used < minDrift || p.still() {
		return fit
	}
	coarse := geometric(tauLow, tauHigh, lagScan)
	nearest, most := 0.0, -1.0
	for _, tau := range coarse {
		if r := math.Abs(stat.Correlation(p.lagged(tau), p.y, nil)); r > most {
			nearest, most = tau, r
		}
	}
	noise := wanderFit(p.t, p.lagged(nearest), p.y).noise
	if len(noise) == 0 {
		return fit // what moves is gone from the means
	}
	low, _, high := p.fits(coarse, noise[:1]).interval()
	margin := math.Pow(tauHigh/tauLow, 1.0/(lagScan-1)) // the interval of the coarse scan may miss by one of its steps
	fine := geometric(max(low/margin, tauLow), min(high*margin, tauHigh), lagScan)
	fits := p.fits(fine, noise)

	fit.TauLow, fit.TauH, fit.TauHigh = fits.interval()
	slope, within, between := average(fits.lines)
	half := studentFactor(len(p.t)-2) * math.Sqrt(within+between)
	fit.Slope, fit.Low, fit.High = slope, slope-half, slope+half
	_, xs := present(p.present, LowPass(x, stepH, fit.TauH))
	fit.Correlation = stat.Correlation(xs, p.values, nil)
	fit.Intercept = stat.Mean(p.values, nil) - slope*stat.Mean(xs, nil)
	return fit
}

// lagProblem is a series and what it may follow, reduced to block means about
// zero.
type lagProblem struct {
	x         []float64
	stepH     float64
	present   []float64 // hours, NaN where a value is missing
	hours     []float64 // of the pairs that are there
	stretches []Run     // of them
	values    []float64 // of y at those hours
	t, y      []float64 // means over the stretches
}

func newLagProblem(x, y []float64, stepH float64) lagProblem {
	p := lagProblem{x: x, stepH: stepH, present: make([]float64, len(x))}
	for i := range x {
		p.present[i] = float64(i) * stepH
		if math.IsNaN(x[i] + y[i]) {
			p.present[i] = math.NaN()
		}
	}
	p.hours, p.values = present(p.present, y)
	if len(p.hours) < minDrift {
		return p
	}
	p.stretches = equalStretches(p.hours, lagBlocks, math.NaN())
	p.t, p.y = meansOver(p.stretches, p.hours), meansOver(p.stretches, p.values)
	centre(p.y)
	return p
}

// still reports whether one of the two does not move.
func (p lagProblem) still() bool {
	_, xs := present(p.present, p.x)
	_, ofX := meanSquares(xs)
	_, ofY := meanSquares(p.values)
	return ofX == 0 || ofY == 0
}

// lagged returns the means of x after a lag.
func (p lagProblem) lagged(tauH float64) []float64 {
	_, xs := present(p.present, LowPass(p.x, p.stepH, tauH))
	means := meansOver(p.stretches, xs)
	centre(means)
	return means
}

// lagFits holds the line for every time constant with every noise model.
type lagFits struct {
	taus  []float64
	lines []generalised
}

func (p lagProblem) fits(taus []float64, noise []noiseModel) lagFits {
	var fits lagFits
	for _, tau := range taus {
		x := p.lagged(tau)
		for _, m := range noise {
			fits.taus = append(fits.taus, tau)
			fits.lines = append(fits.lines, m.fit(p.t, x, p.y))
		}
	}
	return fits
}

// interval returns the mean on a logarithmic scale of the time constants by the
// weights of their fits, between the bounds of 95 % of the weight.
func (f lagFits) interval() (low, mean, high float64) {
	low, high = math.NaN(), math.NaN()
	var logarithm, below float64
	for k, w := range likelihoods(f.lines) {
		logarithm += w * math.Log(f.taus[k])
		below += w
		if math.IsNaN(low) && below > 0.025 {
			low = f.taus[k]
		}
		if math.IsNaN(high) && below > 0.975 {
			high = f.taus[k]
		}
	}
	return low, math.Exp(logarithm), high
}

// geometric returns so many values from low to high, each the same factor above
// the last; one value where the two are one.
func geometric(low, high float64, n int) []float64 {
	if low == high {
		return []float64{low}
	}
	values := make([]float64, n)
	for k := range values {
		values[k] = low * math.Pow(high/low, float64(k)/float64(n-1))
	}
	return values
}

func centre(v []float64) {
	mean := stat.Mean(v, nil)
	for i := range v {
		v[i] -= mean
	}
}
