package series

import "math"

// wandering is a straight line through readings that remember, averaged over the
// noise models that could be behind them.
type wandering struct {
	intercept, slope float64
	low, high        float64 // 95 % interval of the slope
	noise            noiseModel
}

// noiseModel says how departures from a line remember.
type noiseModel struct {
	share  float64 // of the variance that wanders, 0 to 1; the rest is white
	memory float64 // time after which a wander is down to 1/e
}

// The noise models differ in memory and in the power of the wander over that of
// the white noise at the slowest frequencies. One white model stands for all
// ratios too small to matter.
var wanderRatios = [...]float64{1, 5, 25, 125, 1e6}

const (
	whiteOdds  = 2  // of the white model against all others, before the readings speak
	memoryStep = 3  // ratio of neighbouring memories
	longMemory = 10 // longest memory, in lengths of the record
)

// noiseModels returns the models for n values a spacing apart.
func noiseModels(n int, spacing float64) []noiseModel {
	models := []noiseModel{{0, spacing}}
	for memory := spacing; memory < longMemory*float64(n)*spacing; memory *= memoryStep {
		for _, ratio := range wanderRatios {
			models = append(models, noiseModel{ratio / (ratio + 2*memory/spacing), memory})
		}
	}
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
// Valid: t rising, at least three values, none NaN. Where x or y is constant the
// slope is zero without error.
func wanderFit(t, x, y []float64) wandering {
	n := len(t)
	xMean, xx := meanSquares(x)
	yMean, yy := meanSquares(y)
	if xx == 0 || yy == 0 {
		return wandering{intercept: yMean}
	}
	xScale, yScale := math.Sqrt(xx/float64(n)), math.Sqrt(yy/float64(n))
	xs, ys := make([]float64, n), make([]float64, n)
	for i := range t {
		xs[i], ys[i] = (x[i]-xMean)/xScale, (y[i]-yMean)/yScale
	}

	models := noiseModels(n, (t[n-1]-t[0])/float64(n-1))
	fits := make([]generalised, len(models))
	best := 0
	for i, m := range models {
		fits[i] = m.fit(t, xs, ys)
		if i == 0 {
			fits[i].logWeight += math.Log(whiteOdds * float64(len(models)-1))
		}
		if fits[i].logWeight > fits[best].logWeight {
			best = i
		}
	}
	slope, variance := average(fits)
	half := studentFactor(n-2) * math.Sqrt(variance) * yScale / xScale
	slope *= yScale / xScale
	intercept := yMean - slope*xMean + fits[best].intercept*yScale
	return wandering{intercept, slope, slope - half, slope + half, models[best]}
}

// average returns the mean slope over fits by their weights and the variance
// about it, within and between the fits.
func average(fits []generalised) (slope, variance float64) {
	best := math.Inf(-1)
	for _, f := range fits {
		best = max(best, f.logWeight)
	}
	var sum, first, second float64
	for _, f := range fits {
		w := math.Exp(f.logWeight - best)
		sum += w
		first += w * f.slope
		second += w * (f.variance + f.slope*f.slope)
	}
	slope = first / sum
	return slope, max(second/sum-slope*slope, 0)
}

// generalised is the line of generalised least squares under one noise model.
type generalised struct {
	intercept, slope float64
	variance         float64 // of the slope
	logWeight        float64 // logarithm of the marginal likelihood
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
		if next := t[i+1] - t[i]; next != step {
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
		intercept: a,
		slope:     b,
		variance:  left / dof * s11 / det,
		logWeight: -(logVariance + math.Log(det) + dof*math.Log(left)) / 2,
	}
}
