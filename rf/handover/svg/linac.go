package svg

import (
	"html/template"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Linac is the energy along the linac, station by station: the energy line on
// top, below it how each station's gain changed.
type Linac struct {
	Title    string // said to those who cannot see the drawing
	Unit     string
	Start    float64 // energy before the first station
	Stations []LinacStation
	Label    func(float64) string // writes an energy
}

// LinacStation is one step of the energy line.
type LinacStation struct {
	Name     string
	Gain     float64 // NaN: not known, and the line ends there
	Before   float64 // gain in the reference; NaN: not known
	State    string  // class of its bar
	Mark     string  // the same as a sign, for those who see no colour
	Waypoint string  // that lies behind it; empty: none
	Required float64 // energy asked for at the waypoint
	Short    bool    // the waypoint does not get it
}

const (
	linacWidth  = 760
	linacHeight = 186
	linacLeft   = 52
	linacRight  = linacWidth - 8
	lineTop     = 16
	lineBottom  = 104
	barZero     = 144
	barReach    = 18
	letterWidth = 4.8  // of the axis text
	calmShare   = 0.01 // of a station's gain: the bars' scale is never finer, so that a quiet night looks quiet
)

type linacView struct {
	Title                   string
	Width, Height           int
	Left, Right, Axis       float64
	Top, Bottom             float64
	Zero, Reach, NamesY     float64
	Now, Before             string
	TopLabel, ReachLabel    string
	LineCaption, BarCaption string
	Bars                    []bar
	Needs                   []need
}

type bar struct {
	X, Y, Width, Height, Middle, MarkY float64
	State, Mark, Name                  string
}

type need struct {
	X, Y  float64
	Text  string
	Short bool
	Right bool // no room for the text on the left
}

// Draw returns the energy line as an inline SVG element.
func (l Linac) Draw() (template.HTML, error) {
	top, most := l.extent()
	most = math.Max(most, calmShare*l.largestGain())
	step := float64(linacRight-linacLeft) / float64(max(1, len(l.Stations)))
	y := func(energy float64) float64 { return tenth(lineBottom - energy/top*(lineBottom-lineTop)) }
	v := linacView{
		Title: l.Title, Width: linacWidth, Height: linacHeight, Left: linacLeft, Right: linacRight, Axis: linacLeft - 4,
		Top: lineTop, Bottom: lineBottom, Zero: barZero, Reach: barZero - barReach, NamesY: linacHeight - 4,
		Now:      l.line(step, y, func(s LinacStation) float64 { return s.Gain }),
		Before:   l.line(step, y, func(s LinacStation) float64 { return s.Before }),
		TopLabel: l.Label(top), LineCaption: "energy, " + l.Unit, BarCaption: "change of gain, " + l.Unit,
	}
	if most > 0 {
		v.ReachLabel = strconv.FormatFloat(most, 'g', 2, 64)
	}
	every := l.namesEvery(step)
	for i, s := range l.Stations {
		x := linacLeft + float64(i)*step
		b := s.bar(x, step, most)
		if i%every == 0 {
			b.Name = s.Name
		}
		v.Bars = append(v.Bars, b)
		if s.Waypoint != "" && !math.IsNaN(s.Required) {
			v.Needs = append(v.Needs, need{X: tenth(x + step), Y: y(s.Required), Text: s.Waypoint + " " + l.Label(s.Required), Short: s.Short, Right: i < len(l.Stations)/3})
		}
	}
	return execute("linac", v)
}

// largestGain returns the largest gain of one station.
func (l Linac) largestGain() float64 {
	largest := 0.0
	for _, s := range l.Stations {
		largest = higher(largest, math.Abs(s.Gain))
	}
	return largest
}

// extent returns the highest energy and the largest change of gain.
func (l Linac) extent() (top, most float64) {
	now, before := l.Start, l.Start
	top = l.Start
	for _, s := range l.Stations {
		now += s.Gain
		before += s.Before
		top = higher(higher(top, now), before)
		if s.Waypoint != "" {
			top = higher(top, s.Required)
		}
		most = higher(most, math.Abs(s.Gain-s.Before))
	}
	if !(top > 0) {
		top = 1
	}
	return top, most
}

// line adds up gains along the linac, as far as they are known.
func (l Linac) line(step float64, y func(float64) float64, gain func(LinacStation) float64) string {
	var b strings.Builder
	energy := l.Start
	b.WriteString("M" + short(linacLeft) + " " + short(y(energy)))
	for i, s := range l.Stations {
		if energy += gain(s); math.IsNaN(energy) {
			break
		}
		b.WriteString("L" + short(linacLeft+float64(i+1)*step) + " " + short(y(energy)))
	}
	return b.String()
}

// namesEvery returns that only every so manieth station name has room.
func (l Linac) namesEvery(step float64) int {
	longest := 0
	for _, s := range l.Stations {
		longest = max(longest, utf8.RuneCountInString(s.Name))
	}
	return max(1, int(math.Ceil(float64(longest+1)*letterWidth/step)))
}

// bar draws the change of one station's gain, up or down from the zero line.
func (s LinacStation) bar(x, step, most float64) bar {
	b := bar{X: tenth(x + step*0.2), Y: barZero, Width: tenth(step * 0.6), Middle: tenth(x + step/2), MarkY: barZero - 4, State: s.State, Mark: s.Mark}
	change := s.Gain - s.Before
	if math.IsNaN(change) || most == 0 {
		return b
	}
	b.Height = tenth(math.Abs(change) / most * barReach)
	if change > 0 {
		b.Y = tenth(barZero - b.Height)
		b.MarkY = tenth(b.Y - 4)
	}
	return b
}
