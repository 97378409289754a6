package series

import (
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat/distuv"
)

// minClustered is the number of events from which their spacing can be judged.
const minClustered = 5

// PoissonInterval returns the exact two-sided interval of the mean of a Poisson
// count of which n were seen, at the confidence (0.95: 95 %).
//
//	low = chi2(a/2; 2n)/2   high = chi2(1-a/2; 2n+2)/2   a = 1 - confidence
//
// Valid: events independent of one another; see [Clustered].
// Source: F. Garwood, Biometrika 28 (1936) 437, from memory.
func PoissonInterval(n int, confidence float64) (low, high float64) {
	tail := (1 - confidence) / 2
	if n > 0 {
		low = distuv.ChiSquared{K: float64(2 * n)}.Quantile(tail) / 2
	}
	high = distuv.ChiSquared{K: float64(2*n + 2)}.Quantile(1-tail) / 2
	return low, high
}

// PoissonTail returns the probability of n or more events where the mean is
// expected.
func PoissonTail(n int, mean float64) float64 {
	switch {
	case math.IsNaN(mean):
		return math.NaN()
	case n <= 0:
		return 1
	case mean <= 0:
		return 0
	}
	// The chance of n or more in a Poisson count is that of the n-th event of
	// the process coming early; unlike 1 - CDF it keeps its digits when small.
	return distuv.Gamma{Alpha: float64(n), Beta: 1}.CDF(mean)
}

// MTBF returns the mean hours between failures of n failures in upH hours, with
// its exact interval; the mean is NaN and high infinite for no failure.
//
// Source: as [PoissonInterval].
func MTBF(upH float64, n int, confidence float64) (mean, low, high float64) {
	fewest, most := PoissonInterval(n, confidence)
	mean = math.NaN()
	if n > 0 {
		mean = upH / float64(n)
	}
	return mean, upH / most, upH / fewest
}

// Distinct returns the times, in order, that no other one precedes by less than
// the window: a station that trips again while it restarts had one trip.
func Distinct(times []time.Time, window time.Duration) []time.Time {
	sorted := slices.Clone(times)
	slices.SortFunc(sorted, time.Time.Compare)
	var distinct []time.Time
	for i, t := range sorted {
		if i == 0 || t.Sub(sorted[i-1]) >= window {
			distinct = append(distinct, t)
		}
	}
	return distinct
}

// Span is a stretch of time from its start up to, not including, its end.
type Span struct{ From, To time.Time }

// Down returns the time within span that any of the downs covers, overlaps
// counted once.
func Down(span Span, downs []Span) time.Duration {
	sorted := slices.Clone(downs)
	slices.SortFunc(sorted, func(a, b Span) int { return a.From.Compare(b.From) })
	var total time.Duration
	upTo := span.From
	for _, d := range sorted {
		from, to := d.From, d.To
		if from.Before(upTo) {
			from = upTo
		}
		if to.After(span.To) {
			to = span.To
		}
		if to.After(from) {
			total += to.Sub(from)
			upTo = to
		}
	}
	return total
}

// Availability returns the share of span, 0 to 1, that none of the downs covers;
// NaN for an empty span.
func Availability(span Span, downs []Span) float64 {
	whole := span.To.Sub(span.From)
	if whole <= 0 {
		return math.NaN()
	}
	return 1 - float64(Down(span, downs))/float64(whole)
}

// Clustered returns the index of dispersion of the times over span (1 for
// independent events, more for bursts) and the probability that independent
// events come as unevenly. Both are NaN below five events. Events outside span
// are left out.
//
//	sum (n_i - m)^2/m over as many equal parts as events, chi-squared with one fewer degree
//
// Source: R. A. Fisher, Statistical Methods for Research Workers, 1925, sec. 16,
// from memory.
func Clustered(times []time.Time, span Span) (dispersion, p float64) {
	var within []time.Duration
	for _, t := range times {
		if !t.Before(span.From) && t.Before(span.To) {
			within = append(within, t.Sub(span.From))
		}
	}
	n := len(within)
	if n < minClustered {
		return math.NaN(), math.NaN()
	}
	counts := make([]float64, n)
	for _, d := range within {
		counts[int(float64(d)/float64(span.To.Sub(span.From))*float64(n))]++
	}
	var chi2 float64
	for _, c := range counts {
		chi2 += (c - 1) * (c - 1)
	}
	dof := float64(n - 1)
	return chi2 / dof, distuv.ChiSquared{K: dof}.Survival(chi2)
}
