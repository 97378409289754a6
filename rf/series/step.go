package series

import "math"

const (
	riseNodes   = 48  // places between which a ramp is sought at first
	riseBlocks  = 32  // means on which its height is held against a wander
	riseOutside = 1.5 // half intervals that the height must stand from zero
	stepRiseH   = 0.5 // a rise no longer than this is a step behind a lag
)

// Onset returns where y begins to leave its reference and whether it went in one
// step. ok is false where it may well not have left it: index and step are then
// only the best guess.
//
// Four courses are compared on the values that are not NaN, spikes of up to two
// values taken off: flat at the reference; a step that stays; a ramp that goes
// on; a ramp that ends on a new level. Each parameter more must be worth its
// price by the Bayesian information criterion with the effective number of
// values, and leaving the reference at all twice that, because the best of many
// places is looked for. Its height must stand well outside its interval amid a
// wander, and two sigmas of noise. A rise within half an hour counts as a step
// that something slow follows.
//
// noise is one sigma of a level (NaN: not known). Below eight values ok is false
// and index is 0.
func Onset(h, y []float64, reference, noise float64) (index int, step bool, ok bool) {
	t, r, at := departures(h, y, reference)
	if len(r) < minDrift {
		return 0, false, false
	}
	s := newRiseSums(t, r)
	steps, open, closed := s.bestStep(), s.bestOpenRamp(), s.bestRamp()
	if steps.gain == 0 {
		return 0, false, false // all on the reference
	}
	best := closed
	if open.gain > best.gain {
		best = open
	}
	size := EffectiveSize(s.residuals(best))
	price := math.Log(size)
	worth := func(c course, parameters float64) float64 {
		return -size*math.Log(s.left(c, noise)) - parameters*price
	}
	chosen, value, step := steps, worth(steps, 2), true
	index = at[steps.to]
	if v := worth(open, 2); v > value {
		chosen, value, step = open, v, false
		index = at[open.from]
	}
	if v := worth(closed, 3); v > value {
		chosen, value = closed, v
		index, step = at[closed.from], t[closed.to]-t[closed.from] <= stepRiseH
	}
	ok = value > worth(course{}, 0)+2*price && !(math.Abs(chosen.height) < 2*noise) && s.standsOut(chosen)
	return index, step, ok
}

// departures returns hours and departures from the reference of the values that
// are not NaN, each replaced by the median of the five about it, and their
// indices.
func departures(h, y []float64, reference float64) (t, r []float64, at []int) {
	n := len(y)
	raw := make([]float64, 0, n)
	t, r, at = make([]float64, 0, n), make([]float64, n), make([]int, 0, n)
	for i := range y {
		if !math.IsNaN(h[i] + y[i]) {
			at, t, raw = append(at, i), append(t, h[i]), append(raw, y[i]-reference)
		}
	}
	for i := range raw {
		reach := min(2, i, len(raw)-1-i)
		r[i] = middle(raw[i-reach : i+reach+1])
	}
	return t, r[:len(raw)], at
}

// middle returns the median of one, three or five values.
func middle(v []float64) float64 {
	var sorted [5]float64
	for i, x := range v {
		for ; i > 0 && sorted[i-1] > x; i-- {
			sorted[i] = sorted[i-1]
		}
		sorted[i] = x
	}
	return sorted[len(v)/2]
}

// course is a change that begins after value from and is complete at value to:
// neighbours for a step.
type course struct {
	from, to int
	height   float64 // reached at to, by least squares
	gain     float64 // sum of squares that it explains
}

// riseSums holds, for every value, the sums over it and all later ones.
type riseSums struct {
	t, r              []float64
	one, u, uu, v, uv []float64 // of 1, t, t^2, r, t r
}

func newRiseSums(t, r []float64) riseSums {
	n := len(t)
	s := riseSums{t: t, r: r}
	for _, sum := range []*[]float64{&s.one, &s.u, &s.uu, &s.v, &s.uv} {
		*sum = make([]float64, n+1)
	}
	for k := n - 1; k >= 0; k-- {
		u := t[k] - t[0]
		s.one[k] = s.one[k+1] + 1
		s.u[k] = s.u[k+1] + u
		s.uu[k] = s.uu[k+1] + u*u
		s.v[k] = s.v[k+1] + r[k]
		s.uv[k] = s.uv[k+1] + u*r[k]
	}
	return s
}

// rise returns the course that is zero up to value from, straight up to value to
// and level after it.
func (s riseSums) rise(from, to int) course {
	u := s.t[from] - s.t[0]
	d := s.t[to] - s.t[from]
	in := func(sum []float64) float64 { return sum[from] - sum[to] }
	xr := (in(s.uv)-u*in(s.v))/d + s.v[to]
	xx := (in(s.uu)-2*u*in(s.u)+u*u*in(s.one))/(d*d) + s.one[to]
	return course{from, to, xr / xx, xr * xr / xx}
}

func (s riseSums) bestStep() course {
	var best course
	for k := 1; k < len(s.t); k++ {
		if c := s.rise(k-1, k); c.gain > best.gain {
			best = c
		}
	}
	return best
}

func (s riseSums) bestOpenRamp() course {
	last := len(s.t) - 1
	var best course
	for k := range last {
		if c := s.rise(k, last); c.gain > best.gain {
			best = c
		}
	}
	return best
}

// bestRamp seeks the two ends of a ramp on a coarse grid of values and then
// closer and closer about the best.
func (s riseSums) bestRamp() course {
	last := len(s.t) - 1
	stride := max(1, last/riseNodes)
	var best course
	for from := 0; from < last; from += stride {
		for to := from + 1; to <= last; to += stride {
			if c := s.rise(from, to); c.gain > best.gain {
				best = c
			}
		}
	}
	for ; stride > 0; stride /= 2 {
		about := best
		for _, from := range [...]int{about.from - stride, about.from, about.from + stride} {
			for _, to := range [...]int{about.to - stride, about.to, about.to + stride} {
				if from < 0 || to > last || from >= to {
					continue
				}
				if c := s.rise(from, to); c.gain > best.gain {
					best = c
				}
			}
		}
	}
	return best
}

// residuals returns what a course leaves of the departures.
func (s riseSums) residuals(c course) []float64 {
	left := make([]float64, len(s.r))
	for i, v := range s.r {
		left[i] = v - c.height*s.share(c, i)
	}
	return left
}

// share returns how much of its height a course has reached at value i.
func (s riseSums) share(c course, i int) float64 {
	return min(max((s.t[i]-s.t[c.from])/(s.t[c.to]-s.t[c.from]), 0), 1)
}

// left returns the mean square that a course leaves: no less than that of the
// noise, and more than nothing, so that a perfect course can be compared too.
func (s riseSums) left(c course, noise float64) float64 {
	var all float64
	for _, v := range s.r {
		all += v * v
	}
	n := float64(len(s.r))
	left := max((all-c.gain)/n, 1e-12*all/n)
	if noise > 0 {
		left = max(left, noise*noise)
	}
	return left
}

// standsOut reports whether the height of a course is well outside its own 95 %
// interval amid a wander of unknown memory.
func (s riseSums) standsOut(c course) bool {
	runs := equalStretches(s.t, riseBlocks, math.NaN())
	shape := make([]float64, len(s.t))
	for i := range shape {
		shape[i] = s.share(c, i)
	}
	f := wanderFit(meansOver(runs, s.t), meansOver(runs, shape), meansOver(runs, s.r))
	return math.Abs(f.slope) > riseOutside*(f.high-f.low)/2
}
