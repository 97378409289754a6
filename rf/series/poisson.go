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

// Clustered returns how unevenly the times lie in span (1 on average for
// independent events, more for bursts, 0 for even spacing) and the probability
// that independent events lie as unevenly or more. Both are NaN below five events;
// events outside span are left out. Count repetitions once first, see [Distinct].
//
//	G = sum of squared spacings over the squared span, from its start to its end
//
// Error: the probability is right within 15 % at 0.01 and a factor of 1.5 at 0.001,
// against simulation; it comes from a gamma distribution with the first three
// moments of G.
// Source: M. Greenwood, J. R. Stat. Soc. 109 (1946) 85, from memory; the moments
// are those of a Dirichlet distribution.
func Clustered(times []time.Time, span Span) (unevenness, p float64) {
	var within []time.Time
	for _, t := range times {
		if !t.Before(span.From) && t.Before(span.To) {
			within = append(within, t)
		}
	}
	if len(within) < minClustered {
		return math.NaN(), math.NaN()
	}
	slices.SortFunc(within, time.Time.Compare)
	whole := span.To.Sub(span.From)
	var g float64
	last := span.From
	for _, t := range append(within, span.To) {
		share := float64(t.Sub(last)) / float64(whole)
		g += share * share
		last = t
	}

	m := float64(len(within) + 1) // spacings
	rising := func(k int) float64 {
		product := 1.0
		for i := range k {
			product *= m + float64(i)
		}
		return product
	}
	first := 2 * m / rising(2)
	second := (24*m + 4*m*(m-1)) / rising(4)
	third := (720*m + 144*m*(m-1) + 8*m*(m-1)*(m-2)) / rising(6)
	variance := second - first*first
	skew := (third - 3*first*second + 2*first*first*first) / math.Pow(variance, 1.5)
	shape := 4 / (skew * skew)
	at := shape + (g-first)/math.Sqrt(variance)*math.Sqrt(shape)
	return (m*g - 1) * (m + 1) / (m - 1), distuv.Gamma{Alpha: shape, Beta: 1}.Survival(max(at, 0))
}
