package handover

import (
	"math"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/review"
	"dawncrest/rf/series"
)

// Trend is one level at one place over the last nights of the book, with the
// night under review as the last.
type Trend struct {
	Place    string
	Quantity rf.Quantity
	Unit     string
	At       []time.Time // ends of the nights
	Level    []float64   // NaN: not known that night

	SlopePerDay float64 // median of the slopes between all pairs of nights
	SlopeLow    float64 // 95 % interval; NaN: too few nights
	SlopeHigh   float64
	P           float64 // that chance alone gives such an order; NaN: too few nights
}

// trendNights is how many nights back a creeping level is looked for.
const trendNights = 90

// creepingP is the chance at which a trend is told: a linac has some two hundred
// levels to follow, and one false trend in five reviews is bearable.
const creepingP = 1e-3

// followed lists the levels that entries keep, station's first.
var followed = []struct {
	quantity rf.Quantity
	of       rf.PlaceKind
	unit     string
}{
	{rf.EnergyGain, rf.OfStation, "MeV"},
	{rf.Microperveance, rf.OfStation, "1"},
	{rf.CompressorDetuning, rf.OfStation, "kHz"},
	{rf.Trips, rf.OfStation, "trips/day"},
	{rf.Detuning, rf.OfStructure, "kHz"},
	{rf.WaterTemperature, rf.OfStructure, "K"},
}

// Trend returns a level at a place over the last n nights up to the report. The
// quantity is one that entries keep: energy gain, microperveance, compressor
// detuning and trips of a station, detuning and water temperature of a
// structure; any other gives levels that are not known.
func (b *Book) Trend(r *review.Report, place string, q rf.Quantity, n int) Trend {
	return trendOver(append(b.before(r), NewEntry(r, Meta{}, History{})), place, q, n)
}

func trendOver(nights []Entry, place string, q rf.Quantity, n int) Trend {
	nights = nights[max(0, len(nights)-n):]
	t := Trend{Place: place, Quantity: q}
	for _, f := range followed {
		if f.quantity == q {
			t.Unit = f.unit
		}
	}
	hours := make([]float64, len(nights))
	for i, e := range nights {
		t.At = append(t.At, e.To)
		t.Level = append(t.Level, e.level(place, q))
		hours[i] = e.To.Sub(nights[0].To).Hours()
	}
	slope := series.TheilSen(hours, t.Level, 0.95)
	t.SlopePerDay, t.SlopeLow, t.SlopeHigh = slope.PerH*24, slope.Low*24, slope.High*24
	t.P = series.MannKendall(t.Level).P
	return t
}

// level returns what an entry keeps of a quantity at a place, NaN where nothing.
func (e Entry) level(place string, q rf.Quantity) float64 {
	for _, s := range e.Stations {
		if s.Station != place {
			continue
		}
		switch q {
		case rf.EnergyGain:
			return float64(s.Gain)
		case rf.Microperveance:
			return float64(s.Microperveance)
		case rf.CompressorDetuning:
			return float64(s.CompressorDetuning)
		case rf.Trips:
			return float64(s.Trips) / (e.To.Sub(e.From).Hours() / 24)
		}
	}
	for _, s := range e.Structures {
		if s.Structure != place {
			continue
		}
		switch {
		case q == rf.WaterTemperature:
			return float64(s.Water)
		case q == rf.Detuning && !s.Relative: // from each night's own reference says nothing
			return float64(s.Detuning)
		}
	}
	return math.NaN()
}

// says reports whether the trend is worth telling: its direction is no chance
// and over the nights it went beyond the drift limit.
func (t Trend) says(limit float64) bool {
	if !(t.P < creepingP) || math.IsNaN(t.SlopePerDay) {
		return false
	}
	days := t.At[len(t.At)-1].Sub(t.At[0]).Hours() / 24
	return math.Abs(t.SlopePerDay*days) > limit
}

// creeping returns the trends that say something, in the order of the linac.
func creeping(nights []Entry, r *review.Report) []Trend {
	if r.Plant == nil {
		return nil
	}
	nights = append(nights[:len(nights):len(nights)], NewEntry(r, Meta{}, History{}))
	var told []Trend
	for _, f := range followed {
		var places []string
		if f.of == rf.OfStation {
			places = each(r.Stations, func(s review.StationResult) string { return s.Station })
		} else {
			places = each(r.Structures, func(s review.StructureResult) string { return s.Structure })
		}
		for _, place := range places {
			t := trendOver(nights, place, f.quantity, trendNights)
			if t.says(driftLimit(r.Plant, t)) {
				told = append(told, t)
			}
		}
	}
	return told
}

// driftLimit returns the drift limit of a trend's quantity in the unit of its
// level.
func driftLimit(p *rf.Plant, t Trend) float64 {
	limit := math.Inf(1)
	for _, row := range rf.TolerancesAt(p.Tolerances, t.Quantity, t.Place) {
		one := row.DriftLimit
		switch row.Basis {
		case rf.Relative:
			one *= math.Abs(series.Median(t.Level)) / 100
		case rf.Ratio:
			one = math.Abs(series.Median(t.Level)) * (row.DriftLimit - 1)
		}
		limit = math.Min(limit, one)
	}
	return limit
}

// words says how the level creeps.
func (t Trend) words() string {
	return clean(t.Place) + ": " + quantityWords(t.Quantity) + " " + withUnit(signed(t.SlopePerDay, coarse), t.Unit) +
		" per day (95 %: " + interval(t.SlopeLow, t.SlopeHigh, coarse) + ") over " + count(len(t.At), "night")
}
