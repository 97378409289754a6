package series

import "math"

// regression is a straight line through readings that wander.
type regression struct {
	intercept, slope float64
	low, high        float64 // 95 % interval of the slope
}

// The noise models that a wandering fit averages over: powers of the wander over
// that of the white noise, at the slowest frequencies, for each memory time. The
// white model stands for all ratios that are too small to matter.
var wanderRatios = [...]float64{0.5, 2, 8, 32, 128, 1e6}

const (
	whiteWeight = 30 // of the white model, in models
	longMemory  = 3  // longest memory, in lengths of the record
)

// wanderFit fits y = a + b x where the departures from the line are white noise
// plus a wander with exponential memory (an Ornstein-Uhlenbeck process), of
// which neither the share nor the memory is known.
//
// Each noise model of a grid gives its generalised least squares line by the
// innovations of a Kalman filter, in one pass. The models are averaged with the
// weight of their marginal likelihood (flat prior on line and model, Jeffreys'
// on the scale), so that the interval holds how little a short record tells of
// its own memory.
//
// Valid: t rising, no NaN, at least four values that do not all share one x.
func wanderFit(t, x, y []float64) regression {
	n := len(t)
	xm, xs := centreScale(x)
	ym, ys := centreScale(y)
	if ys == 0 || xs == 0 {
		b := 0.0
		return regression{ym, b, b, b}
	}
	xc, yc := make([]float64, n), make([]float64, n)
	for i := range t {
		xc[i], yc[i] = (x[i]-xm)/xs, (y[i]-ym)/ys
	}
	spacing := (t[n-1] - t[0]) / float64(n-1)

	var fits []modelFit
	white := fitModel(t, xc, yc, 0, spacing)
	white.logWeight += math.Log(whiteWeight)
	fits = append(fits, white)
	for memory := spacing; memory < longMemory*float64(n)*spacing; memory *= 2 {
		for _, ratio := range wanderRatios {
			rate := memory / spacing
			share := ratio / (ratio + 2*rate)
			fits = append(fits, fitModel(t, xc, yc, share, memory))
		}
	}
	best := math.Inf(-1)
	for _, f := range fits {
		best = max(best, f.logWeight)
	}
	var sum, a, b, second float64
	for _, f := range fits {
		w := math.Exp(f.logWeight - best)
		sum += w
		a += w * f.intercept
		b += w * f.slope
		second += w * (f.variance + f.slope*f.slope)
	}
	a, b, second = a/sum, b/sum, second/sum
	half := studentFactor(n-2) * math.Sqrt(max(second-b*b, 0)) * ys / xs
	slope := b * ys / xs
	return regression{ym + a*ys - slope*xm, slope, slope - half, slope + half}
}

// modelFit is the line under one noise model and the weight of that model.
type modelFit struct {
	intercept, slope float64
	variance         float64 // of the slope
	logWeight        float64
}

// fitModel runs the filter of one noise model over a constant, x and y at once.
func fitModel(t, x, y []float64, share, memory float64) modelFit {
	n := len(t)
	var m1, mx, my float64 // predicted wander of each
	var s11, s1x, sxx, s1y, sxy, syy, logS float64
	p := share
	lastStep, keep := math.NaN(), 0.0
	prod := 1.0
	for i := range t {
		s := p + 1 - share
		e1, ex, ey := 1-m1, x[i]-mx, y[i]-my
		w := 1 / s
		s11 += w * e1 * e1
		s1x += w * e1 * ex
		sxx += w * ex * ex
		s1y += w * e1 * ey
		sxy += w * ex * ey
		syy += w * ey * ey
		prod *= s
		if prod < 1e-200 {
			logS += math.Log(prod)
			prod = 1
		}
		if i == n-1 {
			break
		}
		if step := t[i+1] - t[i]; step != lastStep {
			lastStep, keep = step, math.Exp(-step/memory)
		}
		k := p * w
		m1 = keep * (m1 + k*e1)
		mx = keep * (mx + k*ex)
		my = keep * (my + k*ey)
		p = keep*keep*p*(1-k) + share*(1-keep*keep)
	}
	logS += math.Log(prod)
	det := s11*sxx - s1x*s1x
	a := (sxx*s1y - s1x*sxy) / det
	b := (s11*sxy - s1x*s1y) / det
	dof := float64(n - 2)
	rss := max(syy-a*s1y-b*sxy, 1e-12*float64(n))
	return modelFit{
		intercept: a,
		slope:     b,
		variance:  rss / dof * s11 / det,
		logWeight: -(logS + math.Log(det) + dof*math.Log(rss)) / 2,
	}
}

func centreScale(v []float64) (mean, scale float64) {
	for _, x := range v {
		mean += x
	}
	mean /= float64(len(v))
	for _, x := range v {
		scale += (x - mean) * (x - mean)
	}
	scale = math.Sqrt(scale / float64(len(v)))
	if scale <= 1e-12*math.Abs(mean) { // rounding of a constant
		scale = 0
	}
	return mean, scale
}
