package handover

import (
	"math"
	"slices"
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
	Unit     string      // of the slope, each day
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
	t := levelsOver(append(b.before(r), NewEntry(r, Meta{}, History{})), place, q, n)
	t.fit()
	return t
}

// levelsOver gathers a level over the last n nights and asks whether its order
// is chance.
func levelsOver(nights []Entry, place string, q rf.Quantity, n int) Trend {
	nights = nights[max(0, len(nights)-n):]
	nan := math.NaN()
	t := Trend{Place: place, Quantity: q, SlopePerDay: nan, SlopeLow: nan, SlopeHigh: nan}
	for _, f := range followed {
		if f.quantity == q {
			t.Unit = f.unit
		}
	}
	for _, e := range nights {
		t.At = append(t.At, e.To)
		t.Level = append(t.Level, e.level(place, q))
	}
	t.P = series.MannKendall(t.Level).P
	return t
}

// fit puts the robust slope into the trend.
func (t *Trend) fit() {
	hours := make([]float64, len(t.At))
	for i, at := range t.At {
		hours[i] = at.Sub(t.At[0]).Hours()
	}
	slope := series.TheilSen(hours, t.Level, 0.95)
	t.SlopePerDay, t.SlopeLow, t.SlopeHigh = slope.PerH*24, slope.Low*24, slope.High*24
}

// level returns what an entry keeps of a quantity at a place, NaN where nothing.
func (e Entry) level(place string, q rf.Quantity) float64 {
	for _, kept := range []struct {
		quantity rf.Quantity
		names    []string
		levels   []figure
	}{
		{rf.EnergyGain, e.Stations.Names, e.Stations.Gain},
		{rf.Microperveance, e.Stations.Names, e.Stations.Microperveance},
		{rf.CompressorDetuning, e.Stations.Names, e.Stations.CompressorDetuning},
		{rf.Trips, e.Stations.Names, e.Stations.TripsPerDay},
		{rf.Detuning, e.Structures.Names, e.Structures.Detuning},
		{rf.WaterTemperature, e.Structures.Names, e.Structures.Water},
	} {
		if kept.quantity != q {
			continue
		}
		if i := slices.Index(kept.names, place); i >= 0 && i < len(kept.levels) {
			return float64(kept.levels[i])
		}
	}
	return math.NaN()
}

// wentBeyond reports whether over its nights the trend went beyond a limit.
func (t Trend) wentBeyond(limit float64) bool {
	days := t.At[len(t.At)-1].Sub(t.At[0]).Hours() / 24
	return math.Abs(t.SlopePerDay*days) > limit
}

// creeping returns the trends that say something, in the order of the linac:
// their direction is no chance, and they went beyond the drift limit.
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
			t := levelsOver(nights, place, f.quantity, trendNights)
			if !(t.P < creepingP) { // not known counts as chance
				continue
			}
			if t.fit(); t.wentBeyond(driftLimit(r.Plant, t)) {
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

// Words says how the level creeps.
func (t Trend) Words() string {
	return clean(t.Place) + ": " + quantityWords(t.Quantity) + " " + withUnit(signed(t.SlopePerDay, coarse), t.Unit) +
		" per day (95 %: " + interval(t.SlopeLow, t.SlopeHigh, coarse) + ") over " + count(len(t.At), "night")
}
