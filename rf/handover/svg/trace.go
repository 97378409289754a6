package svg

import (
	"html/template"
	"math"
	"strings"
)

// Trace is one reading over the night.
type Trace struct {
	Title     string // said to those who cannot see the drawing
	Mean      []float64
	Min, Max  []float64 // of each cell; NaN where there is no reading
	Counts    []bool    // cells that set the scale; nil: all
	Reference float64   // NaN: none
	Low, High float64   // tolerance band; NaN: open on that side
	ActLow    float64   // limits beyond which to act; NaN: none
	ActHigh   float64
	Since     int // cell where the change began; negative: none
	From, To  string
	Label     func(float64) string // writes a value of the left scale
}

// Size of a drawing and of the plot in it, in its own units.
const (
	traceWidth  = 360
	traceHeight = 96
	plotLeft    = 52
	plotRight   = traceWidth - 4
	plotTop     = 5
	plotBottom  = traceHeight - 15
	columnWidth = 1.5
)

// stripe is what stands in one narrow strip of the plot.
type stripe struct {
	X, Mean, Low, High float64
	Level              float64 // mean of the cells that set the scale; NaN: none
}

// Draw returns the trace as an inline SVG element.
func (t Trace) Draw() (template.HTML, error) {
	stripes := t.stripes()
	low, high, ok := t.scale(stripes)
	v := traceView{
		Title: t.Title, From: t.From, To: t.To, Width: traceWidth, Height: traceHeight, Empty: !ok,
		Left: plotLeft, Right: plotRight, Top: plotTop, Bottom: plotBottom,
		PlotWidth: plotRight - plotLeft, Axis: plotLeft - 4, TimeY: traceHeight - 3,
	}
	if ok {
		y := func(value float64) float64 {
			clipped := math.Min(high, math.Max(low, value))
			return tenth(plotBottom - (clipped-low)/(high-low)*(plotBottom-plotTop))
		}
		v.Band = t.band(low, high, y)
		for _, act := range []float64{t.ActLow, t.ActHigh} {
			if act >= low && act <= high {
				v.Acts = append(v.Acts, y(act))
			}
		}
		if !math.IsNaN(t.Reference) {
			level := y(t.Reference)
			v.Reference = &level
		}
		if t.Since >= 0 && t.Since < len(t.Mean) {
			x := t.x(float64(t.Since))
			v.SinceX = &x
		}
		v.Spread, v.Beyond = spread(stripes, low, high, y)
		v.Line = line(stripes, y)
		v.Labels = []label{{y(high) + 7, t.Label(high)}, {y(low), t.Label(low)}}
		if r := t.Reference; !math.IsNaN(r) && y(low)-y(r) > 18 && y(r)-y(high) > 18 {
			v.Labels = append(v.Labels, label{y(r) + 3, t.Label(r)})
		}
	}
	return execute("trace", v)
}

type traceView struct {
	Title, From, To          string
	Width, Height            int
	Empty                    bool
	Left, Right, Top, Bottom float64
	PlotWidth, Axis, TimeY   float64
	Band                     *rect
	Acts                     []float64
	Reference, SinceX        *float64
	Spread, Line             string
	Beyond                   []mark
	Labels                   []label
}

type rect struct{ Y, Height float64 }
type mark struct {
	X, Y float64
	Up   bool
}
type label struct {
	Y    float64
	Text string
}

// x returns the place of a cell along the plot.
func (t Trace) x(cell float64) float64 {
	return tenth(plotLeft + cell/math.Max(1, float64(len(t.Mean)))*(plotRight-plotLeft))
}

// stripes gathers cells into columns of the plot. The lowest and the highest
// reading of a column are kept, so that no spike is averaged away; a column
// without any reading is NaN.
func (t Trace) stripes() []stripe {
	perColumn := max(1, int(math.Ceil(float64(len(t.Mean))*columnWidth/(plotRight-plotLeft))))
	var out []stripe
	for from := 0; from < len(t.Mean); from += perColumn {
		to := min(from+perColumn, len(t.Mean))
		s := stripe{X: t.x(float64(from+to) / 2), Mean: math.NaN(), Low: math.NaN(), High: math.NaN()}
		var all, counted mean
		for i := from; i < to; i++ {
			if math.IsNaN(t.Mean[i]) {
				continue
			}
			all.add(t.Mean[i])
			if t.Counts == nil || i < len(t.Counts) && t.Counts[i] {
				counted.add(t.Mean[i])
			}
			s.Low = lower(s.Low, lower(t.Mean[i], at(t.Min, i)))
			s.High = higher(s.High, higher(t.Mean[i], at(t.Max, i)))
		}
		s.Mean, s.Level = all.value(), counted.value()
		out = append(out, s)
	}
	return out
}

// scale chooses the range of the plot: the means that count, the reference and
// the band are always inside. Spikes, and what does not count, widen it by at
// most half as much again on each side; beyond that they are cut off and marked,
// so that one wild reading or a trip does not press the night flat.
func (t Trace) scale(stripes []stripe) (low, high float64, ok bool) {
	low, high = hull(stripes, func(s stripe) float64 { return s.Level })
	if math.IsNaN(low) {
		low, high = hull(stripes, func(s stripe) float64 { return s.Mean })
	}
	if math.IsNaN(low) {
		return 0, 0, false
	}
	for _, v := range []float64{t.Reference, t.Low, t.High} {
		low, high = lower(low, v), higher(high, v)
	}
	span := high - low
	if span <= 1e-12*math.Max(math.Abs(low), math.Abs(high)) {
		span = math.Max(1e-12, 0.01*math.Abs(high))
	}
	most, least := high, low
	for _, s := range stripes {
		least, most = lower(least, s.Low), higher(most, s.High)
	}
	low = math.Max(least, low-span/2) - span/20
	high = math.Min(most, high+span/2) + span/20
	return low, high, true
}

// hull returns the lowest and the highest of a value over the columns.
func hull(stripes []stripe, value func(stripe) float64) (low, high float64) {
	low, high = math.NaN(), math.NaN()
	for _, s := range stripes {
		low, high = lower(low, value(s)), higher(high, value(s))
	}
	return low, high
}

// band returns where the tolerance band lies, open ends reaching the edge.
func (t Trace) band(low, high float64, y func(float64) float64) *rect {
	if math.IsNaN(t.Low) && math.IsNaN(t.High) {
		return nil
	}
	from, to := t.Low, t.High
	if math.IsNaN(from) {
		from = low
	}
	if math.IsNaN(to) {
		to = high
	}
	return &rect{Y: y(to), Height: tenth(y(from) - y(to))}
}

// spread draws lowest to highest reading of each column, and marks those that
// leave the plot.
func spread(stripes []stripe, low, high float64, y func(float64) float64) (path string, beyond []mark) {
	var b strings.Builder
	for _, s := range stripes {
		if math.IsNaN(s.Mean) {
			continue
		}
		b.WriteString("M" + short(s.X) + " " + short(y(s.Low)) + "V" + short(y(s.High)))
		if s.High > high {
			beyond = append(beyond, mark{X: s.X, Y: y(high), Up: true})
		}
		if s.Low < low {
			beyond = append(beyond, mark{X: s.X, Y: y(low)})
		}
	}
	return b.String(), beyond
}

// line joins the means of neighbouring columns and breaks at every gap.
func line(stripes []stripe, y func(float64) float64) string {
	var b strings.Builder
	pen := "M"
	for _, s := range stripes {
		if math.IsNaN(s.Mean) {
			pen = "M"
			continue
		}
		b.WriteString(pen + short(s.X) + " " + short(y(s.Mean)))
		if pen == "M" {
			b.WriteString("h.01") // a lone reading between two gaps is a dot
		}
		pen = "L"
	}
	return b.String()
}
