package series

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// wandering is a straight line through readings that remember, averaged over the
// noise models that could be behind them.
type wandering struct {
	slope     float64
	low, high float64      // 95 % interval of the slope
	noise     []noiseModel // those that the readings leave likely, best first
}

// noiseModel says how departures from a line remember.
type noiseModel struct {
	share  float64 // of the variance that wanders, 0 to 1; the rest is white
	memory float64 // time after which a wander is down to 1/e
	prior  float64 // odds before the readings speak
}

// The noise models differ in memory and in the power of the wander over that of
// the white noise at the slowest frequencies. One white model stands for all
// ratios too small to matter.
var wanderRatios = [...]float64{1, 8, 64, 512, 4096, 1e6}

const (
	whiteOdds  = 4  // of the white model against all others, before the readings speak
	memoryStep = 3  // ratio of neighbouring memories
	longMemory = 10 // longest memory, in lengths of the record
)

// noiseModels returns the models for n values a spacing apart. Long memories are
// the likelier beforehand, as the cube root: a record shows little of them, and
// to miss one makes an interval too narrow.
func noiseModels(n int, spacing float64) []noiseModel {
	models := []noiseModel{{share: 0, memory: spacing}}
	var odds float64
	for memory := 1.0; memory < longMemory*float64(n); memory *= memoryStep {
		for _, ratio := range wanderRatios {
			m := noiseModel{ratio / (ratio + 2*memory), memory * spacing, math.Cbrt(memory)}
			models = append(models, m)
			odds += m.prior
		}
	}
	models[0].prior = whiteOdds * odds
	return models
}

// wanderFit fits y = a + b x where the departures from the line are white noise
// plus a wander with exponential memory, of which neither share nor memory is
// known. t says when the values were taken.
//
// Each noise model gives its generalised least-squares line. The models are
// averaged with the weight of their marginal likelihood (flat prior on the line,
// Jeffreys' on the scale), so that the interval contains how little a short
// record tells of its own memory.
//
// Valid: t rising, at least three values, none NaN. Where y does not move the
// slope is zero without error; where x does not, nothing is known.
func wanderFit(t, x, y []float64) wandering {
	n := len(t)
	xMean, xx := meanSquares(x)
	yMean, yy := meanSquares(y)
	switch nan := math.NaN(); {
	case xx == 0:
		return wandering{slope: nan, low: nan, high: nan}
	case yy == 0:
		return wandering{}
	}
	xScale, yScale := math.Sqrt(xx/float64(n)), math.Sqrt(yy/float64(n))
	xs, ys := make([]float64, n), make([]float64, n)
	for i := range t {
		xs[i], ys[i] = (x[i]-xMean)/xScale, (y[i]-yMean)/yScale
	}

	models := noiseModels(n, (t[n-1]-t[0])/float64(n-1))
	fits := make([]generalised, len(models))
	for i, m := range models {
		fits[i] = m.fit(t, xs, ys)
	}
	slope, within, between := average(fits)
	half := studentFactor(n-2) * math.Sqrt(within+between) * yScale / xScale
	slope *= yScale / xScale
	return wandering{slope, slope - half, slope + half, likely(models, fits)}
}

// likely returns the models of at least a hundredth of the best one's weight,
// best first.
func likely(models []noiseModel, fits []generalised) []noiseModel {
	order := make([]int, len(models))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(fits[b].logWeight, fits[a].logWeight) })
	var kept []noiseModel
	for _, i := range order {
		if fits[i].logWeight > fits[order[0]].logWeight-math.Log(100) {
			kept = append(kept, models[i])
		}
	}
	return kept
}

// average returns the mean slope over fits by their weights, and its variance
// within the fits and between them.
func average(fits []generalised) (slope, within, between float64) {
	weights := likelihoods(fits)
	for i, f := range fits {
		slope += weights[i] * f.slope
		within += weights[i] * f.variance
	}
	for i, f := range fits {
		between += weights[i] * (f.slope - slope) * (f.slope - slope)
	}
	return slope, within, between
}

// likelihoods returns the weights of fits, which sum to one.
func likelihoods(fits []generalised) []float64 {
	best := math.Inf(-1)
	for _, f := range fits {
		best = max(best, f.logWeight)
	}
	weights := make([]float64, len(fits))
	for i, f := range fits {
		weights[i] = math.Exp(f.logWeight - best)
	}
	floats.Scale(1/floats.Sum(weights), weights)
	return weights
}

// generalised is the line of generalised least squares under one noise model.
type generalised struct {
	slope, variance float64 // and the variance of the slope
	logWeight       float64 // logarithm of prior odds times marginal likelihood
}

// fit returns the line of y over x with departures as the model has them. It
// makes them independent by the innovations of a Kalman filter that runs over a
// constant, x and y at once: one pass, gaps and all.
func (m noiseModel) fit(t, x, y []float64) generalised {
	n := len(t)
	white := 1 - m.share
	spread := m.share         // variance of the predicted wander
	var one, inX, inY float64 // predicted wander in each
	var s11, s1x, sxx float64 // sums of products of innovations over variance
	var s1y, sxy, syy float64 //
	var logVariance float64   // sum of logarithms of the innovations' variance
	product := 1.0            // of variances not yet in the sum
	step, keep := math.NaN(), 0.0
	for i := range t {
		total := spread + white
		e1, ex, ey := 1-one, x[i]-inX, y[i]-inY
		w := 1 / total
		s11 += w * e1 * e1
		s1x += w * e1 * ex
		sxx += w * ex * ex
		s1y += w * e1 * ey
		sxy += w * ex * ey
		syy += w * ey * ey
		if product *= total; product < 1e-200 {
			logVariance += math.Log(product)
			product = 1
		}
		if i == n-1 {
			break
		}
		if next := t[i+1] - t[i]; !(math.Abs(next-step) < 1e-9*step) {
			step, keep = next, math.Exp(-next/m.memory)
		}
		gain := spread * w
		one = keep * (one + gain*e1)
		inX = keep * (inX + gain*ex)
		inY = keep * (inY + gain*ey)
		spread = keep*keep*spread*(1-gain) + m.share*(1-keep*keep)
	}
	logVariance += math.Log(product)
	det := s11*sxx - s1x*s1x
	a := (sxx*s1y - s1x*sxy) / det
	b := (s11*sxy - s1x*s1y) / det
	dof := float64(n - 2)
	left := max(syy-a*s1y-b*sxy, 1e-12*syy) // rounding of a perfect line
	return generalised{
		slope:     b,
		variance:  left / dof * s11 / det,
		logWeight: math.Log(m.prior) - (logVariance+math.Log(det)+dof*math.Log(left))/2,
	}
}
