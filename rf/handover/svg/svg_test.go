package svg

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"
)

var nan = math.NaN()

func plain(v float64) string { return strconv.FormatFloat(v, 'g', 4, 64) }

// steady returns a trace of n cells at 10 with a spread of one on either side.
func steady(n int) Trace {
	t := Trace{Title: "a reading", Reference: 10, Low: 9, High: 11, ActLow: nan, ActHigh: nan, Since: -1, From: "22:00", To: "06:00", Label: plain}
	for range n {
		t.Mean = append(t.Mean, 10)
		t.Min = append(t.Min, 9.5)
		t.Max = append(t.Max, 10.5)
	}
	return t
}

func drawn(t *testing.T, draw func() (string, error)) string {
	t.Helper()
	text, err := draw()
	if err != nil {
		t.Fatal(err)
	}
	d := xml.NewDecoder(strings.NewReader(text))
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatalf("not well formed: %v\n%s", err, text)
		}
	}
	for _, not := range []string{"NaN", "Inf", "ZgotmplZ"} {
		if strings.Contains(text, not) {
			t.Errorf("%s in the drawing:\n%s", not, text)
		}
	}
	return text
}

func (t Trace) text() (string, error) { h, err := t.Draw(); return string(h), err }
func (l Linac) text() (string, error) { h, err := l.Draw(); return string(h), err }

// attribute returns the value of an attribute of the element with that class.
func attribute(t *testing.T, text, class, name string) string {
	t.Helper()
	_, rest, ok := strings.Cut(text, `class="`+class+`" `)
	if !ok {
		t.Fatalf("no element of class %s:\n%s", class, text)
	}
	element, _, _ := strings.Cut(rest, "/>")
	_, value, ok := strings.Cut(element, name+`="`)
	if !ok {
		t.Fatalf("element of class %s has no %s", class, name)
	}
	value, _, _ = strings.Cut(value, `"`)
	return value
}

func TestAGapIsNotDrawnThrough(t *testing.T) {
	whole := steady(100)
	if n := strings.Count(attribute(t, drawn(t, whole.text), "mean", "d"), "M"); n != 1 {
		t.Errorf("whole trace is drawn in %d strokes", n)
	}
	broken := steady(100)
	for i := 40; i < 60; i++ {
		broken.Mean[i] = nan
	}
	if n := strings.Count(attribute(t, drawn(t, broken.text), "mean", "d"), "M"); n != 2 {
		t.Errorf("trace with one gap is drawn in %d strokes", n)
	}
	lone := steady(100)
	for i := range lone.Mean {
		if i != 50 {
			lone.Mean[i] = nan
		}
	}
	if d := attribute(t, drawn(t, lone.text), "mean", "d"); !strings.Contains(d, "h.01") {
		t.Errorf("a lone reading leaves no dot: %q", d)
	}
}

func TestASpikeSurvivesAnyNumberOfCells(t *testing.T) {
	for _, n := range []int{60, 600, 60000} {
		trace := steady(n)
		trace.Min[n/2] = 8.2 // one cell, within the scale
		low := 0.0
		for _, stroke := range strings.Split(attribute(t, drawn(t, trace.text), "spread", "d"), "M")[1:] {
			from, _, _ := strings.Cut(strings.Fields(stroke)[1], "V")
			y, err := strconv.ParseFloat(from, 64)
			if err != nil {
				t.Fatal(err)
			}
			low = math.Max(low, y)
		}
		// The lowest reading sets the scale and lies one margin above its foot.
		if low < plotBottom-8 {
			t.Errorf("%d cells: spike reaches down to %.1f of %d only", n, low, plotBottom)
		}
	}
}

func TestAWildReadingIsMarkedAndDoesNotFlattenTheNight(t *testing.T) {
	trace := steady(200)
	trace.Max[70] = 1e6
	text := drawn(t, trace.text)
	if n := strings.Count(text, `class="beyond"`); n != 1 {
		t.Errorf("%d marks for one reading off the scale", n)
	}
	_, height, _ := strings.Cut(text, `class="band"`)
	if h := attribute(t, text, "band", "height"); len(h) < 2 || height == "" {
		t.Errorf("the band is pressed flat: %s", h)
	} else if v, _ := strconv.ParseFloat(h, 64); v < 20 {
		t.Errorf("the band is pressed flat: %s", h)
	}
}

func TestATripDoesNotFlattenTheNight(t *testing.T) {
	trace := steady(200)
	trace.Counts = make([]bool, 200)
	for i := range trace.Mean {
		trace.Counts[i] = i < 90 || i > 95
		if !trace.Counts[i] {
			trace.Mean[i], trace.Min[i], trace.Max[i] = -300, -310, -290
		}
	}
	text := drawn(t, trace.text)
	if v, _ := strconv.ParseFloat(attribute(t, text, "band", "height"), 64); v < 20 {
		t.Errorf("the band is pressed to %v by a trip", v)
	}
	if !strings.Contains(text, `class="beyond"`) {
		t.Error("the trip is not marked")
	}
}

func TestOddTracesAreStillDrawn(t *testing.T) {
	flat := steady(50)
	flat.Low, flat.High, flat.Min, flat.Max = nan, nan, nil, nil
	open := steady(50)
	open.Low = nan
	zero := Trace{Reference: nan, Low: nan, High: nan, ActLow: nan, ActHigh: nan, Mean: []float64{0, 0}, Label: plain}
	empty := Trace{Reference: 1, Mean: []float64{nan, nan}, Label: plain}
	none := Trace{Reference: nan, Label: plain}
	for name, trace := range map[string]Trace{"flat": flat, "open": open, "zero": zero, "empty": empty, "none": none} {
		text := drawn(t, trace.text)
		if silent := name == "empty" || name == "none"; silent != strings.Contains(text, "no readings") {
			t.Errorf("%s:\n%s", name, text)
		}
	}
}

func TestNamesCannotBecomeMarkup(t *testing.T) {
	name := `"/></svg><script>alert(1)</script>`
	trace := steady(5)
	trace.Title, trace.From = name, name
	linac := Linac{Title: name, Unit: name, Label: plain, Stations: []LinacStation{{Name: name, Gain: 1, Before: 1, State: name, Mark: name, Waypoint: name, Required: 1}}}
	for _, text := range []string{drawn(t, trace.text), drawn(t, linac.text)} {
		if strings.Contains(text, "<script") || strings.Count(text, "</svg>") != 1 {
			t.Errorf("a name became markup:\n%s", text)
		}
	}
}

func TestEnergyLineEndsWhereAGainIsNotKnown(t *testing.T) {
	l := Linac{Unit: "MeV", Start: 5, Label: plain, Stations: []LinacStation{
		{Name: "S01", Gain: 50, Before: 50}, {Name: "S02", Gain: nan, Before: 50}, {Name: "S03", Gain: 50, Before: 48, Waypoint: "end", Required: 150}}}
	text := drawn(t, l.text)
	if n := strings.Count(attribute(t, text, "mean", "d"), "L"); n != 1 {
		t.Errorf("energy now is drawn over %d stations, want 1", n)
	}
	if n := strings.Count(attribute(t, text, "reference", "d"), "L"); n != 3 {
		t.Errorf("energy of the reference is drawn over %d stations, want 3", n)
	}
	none := Linac{Label: plain}
	drawn(t, none.text)
}
