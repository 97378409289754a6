package review

import (
	"math"
	"time"

	"dawncrest/rf/series"
)

const (
	swingDays = 2                // days from which the daily swing can be told from a trend
	swingBin  = 30 * time.Minute // hours are compared in bins of this width
)

// withoutSwing takes the daily swing out of the values of a log of several days:
// what the same hours share over the days, beyond each day's own mean. Levels and
// trends stay. Shorter logs come back as they are.
func (a *analysis) withoutSwing(t *Trace, values []float64) []float64 {
	perDay := a.cellsFor(24 * time.Hour)
	days := len(values) / perDay
	if days < swingDays {
		return values
	}
	bins := int(24 * time.Hour / swingBin)
	away := make([][]float64, bins)
	for day := range days {
		from, to := day*perDay, (day+1)*perDay
		var settled []float64
		for i := from; i < to; i++ {
			if t.Settled[i] && !math.IsNaN(values[i]) {
				settled = append(settled, values[i])
			}
		}
		if 2*len(settled) < perDay {
			continue
		}
		mean, slope := series.Mean(settled), a.daySlope(t, values, from, to)
		for i := from; i < to; i++ {
			if t.Settled[i] && !math.IsNaN(values[i]) {
				b := a.swingBin(i)
				away[b] = append(away[b], values[i]-mean-slope*(float64(i-from)+0.5-float64(perDay)/2))
			}
		}
	}
	swing := make([]float64, bins)
	for b := range swing {
		if len(away[b]) > 0 {
			swing[b] = series.Median(away[b])
		}
	}
	out := make([]float64, len(values))
	for i, v := range values {
		out[i] = v - swing[a.swingBin(i)]
	}
	return out
}

// daySlope is the trend per cell within a day, so that a drift through all days
// is not taken for a swing: from the mean of one day to that of the next.
func (a *analysis) daySlope(t *Trace, values []float64, from, to int) float64 {
	before, after := a.settledMean(t, values, 2*from-to, from), a.settledMean(t, values, to, 2*to-from)
	here := a.settledMean(t, values, from, to)
	switch span := float64(to - from); {
	case !math.IsNaN(before) && !math.IsNaN(after):
		return (after - before) / (2 * span)
	case !math.IsNaN(after):
		return (after - here) / span
	case !math.IsNaN(before):
		return (here - before) / span
	}
	return 0
}

func (a *analysis) settledMean(t *Trace, values []float64, from, to int) float64 {
	var v []float64
	for i := max(0, from); i < min(to, len(values)); i++ {
		if t.Settled[i] && !math.IsNaN(values[i]) {
			v = append(v, values[i])
		}
	}
	return series.Mean(v)
}

func (a *analysis) swingBin(cell int) int {
	at := a.night.At(cell)
	return int(at.Sub(at.Truncate(24*time.Hour)) / swingBin)
}
