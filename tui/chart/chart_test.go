package chart

import (
	"flag"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/lipgloss"
	"github.com/muesli/termenv"
	"pgregory.net/rapid"
)

var update = flag.Bool("update", false, "write the charts anew")

func TestMain(m *testing.M) {
	lipgloss.SetColorProfile(termenv.Ascii)
	flag.Parse()
	os.Exit(m.Run())
}

// night is half a day of one-minute cells: a water cycle, a ramp from half of it
// on, a gap of half an hour, one of three minutes, one reading at zero and one
// half as far out again as the scatter.
func night() Series {
	random := rand.New(rand.NewPCG(1, 2))
	s := Series{Mean: make([]float64, 720), Min: make([]float64, 720), Max: make([]float64, 720)}
	for i := range s.Mean {
		s.Mean[i] = 48.2 + 0.06*math.Sin(float64(i)/4.2) + 0.05*random.NormFloat64() - max(0, float64(i-400)*0.006)
		s.Min[i], s.Max[i] = s.Mean[i]-0.1, s.Mean[i]+0.1
	}
	for i := range s.Mean {
		if (i >= 200 && i < 230) || (i >= 600 && i < 603) {
			s.Mean[i], s.Min[i], s.Max[i] = math.NaN(), math.NaN(), math.NaN()
		}
	}
	s.Min[300], s.Max[520] = 0, 48.9
	return s
}

func nightPlot(width, height int, ascii bool) Plot {
	from := time.Date(2025, 11, 23, 18, 10, 0, 0, time.UTC)
	return Plot{
		Width: width, Height: height, ASCII: ascii, Unit: "MW", Series: night(),
		Limits: Limits{48.2, 47.2, 49.2, 45.8, 50.6}, From: from, To: from.Add(12 * time.Hour), Cursor: 333,
	}
}

func golden(t *testing.T, lines []string) {
	t.Helper()
	got := strings.Join(lines, "\n") + "\n"
	path := filepath.Join("testdata", filepath.FromSlash(t.Name())+".golden")
	if *update {
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("chart differs from %s; now:\n%s", path, got)
	}
}

func TestCharts(t *testing.T) {
	second := make([]float64, 720)
	for i := range second {
		second[i] = 48.2
	}
	withSecond := nightPlot(80, 10, false)
	withSecond.Second = second
	zoomed := nightPlot(80, 10, false)
	zoomed.Series = Series{zoomed.Series.Mean[590:620], zoomed.Series.Min[590:620], zoomed.Series.Max[590:620]}
	zoomed.From = zoomed.From.Add(590 * time.Minute)
	zoomed.To, zoomed.Cursor = zoomed.From.Add(30*time.Minute), 12
	scatter := Scatter{Width: 60, Height: 14, XUnit: "degC", YUnit: "deg", Fit: Line{30, -120, -8.6}, Expected: Line{30, -120, -9.4}}
	random := rand.New(rand.NewPCG(3, 4))
	for range 300 {
		x := 30 + 0.2*random.NormFloat64()
		scatter.X, scatter.Y = append(scatter.X, x), append(scatter.Y, -120-9*(x-30)+0.4*random.NormFloat64())
	}
	asciiScatter := scatter
	asciiScatter.ASCII = true
	for _, c := range []struct {
		name  string
		lines []string
	}{
		{"plot", nightPlot(80, 10, false).Lines()},
		{"plot-ascii", nightPlot(80, 10, true).Lines()},
		{"plot-wide", nightPlot(140, 22, false).Lines()},
		{"plot-second-series", withSecond.Lines()},
		{"plot-zoomed", zoomed.Lines()},
		{"plot-empty", Plot{Width: 60, Height: 8, Unit: "kV", Limits: NoLimits}.Lines()},
		{"scatter", scatter.Lines()},
		{"scatter-ascii", asciiScatter.Lines()},
		{"spark", []string{
			Spark(night(), Scale{45.8, 50.6}, 24, false) + "|",
			Spark(night(), Scale{45.8, 50.6}, 24, true) + "|",
			Spark(night(), Scale{47.9, 48.5}, 24, false) + "|",
		}},
	} {
		t.Run(c.name, func(t *testing.T) { golden(t, c.lines) })
	}
}

// A spike of one reading in seven hundred must be seen at any width, inside the
// scale or beyond it.
func TestSpikesSurvive(t *testing.T) {
	s := Series{Mean: make([]float64, 720), Min: make([]float64, 720), Max: make([]float64, 720)}
	for i := range s.Mean {
		s.Mean[i], s.Min[i], s.Max[i] = 10, 9.9, 10.1
	}
	flat := Plot{Width: 80, Height: 12, Series: s, Limits: Limits{10, 8, 12, math.NaN(), math.NaN()}, Cursor: -1}
	want := strings.Join(flat.Lines(), "\n")
	for _, spike := range []float64{11, 1000, -1000} {
		for _, width := range []int{8, 30, 80, 200} {
			quiet, spiky := flat, flat
			quiet.Width, spiky.Width = width, width
			spiky.Series.Max = append([]float64(nil), s.Max...)
			spiky.Series.Min = append([]float64(nil), s.Min...)
			spiky.Series.Max[301], spiky.Series.Min[301] = max(10.1, spike), min(9.9, spike)
			if strings.Join(spiky.Lines(), "\n") == strings.Join(quiet.Lines(), "\n") {
				t.Errorf("a reading at %v leaves no trace at width %d", spike, width)
			}
		}
	}
	if strings.ContainsAny(want, "↑↓") {
		t.Error("arrows without a spike")
	}
}

func TestGapsStayGaps(t *testing.T) {
	p := nightPlot(80, 10, false)
	p.Series.Min, p.Series.Max, p.Limits = nil, nil, NoLimits
	l := p.layout(CalmScale(p.values(), p.levels()...))
	lines := p.Lines()
	for x := range l.columns {
		present, all := p.Series.present(x, l.columns)
		column := ""
		for _, line := range lines[:l.rows] {
			column += string([]rune(line)[l.start()+x])
		}
		drawn := strings.TrimSpace(column) != ""
		switch {
		case present == all && !drawn:
			t.Errorf("column %d has readings and shows none", x)
		case present == 0 && drawn:
			t.Errorf("column %d has no readings and shows %q", x, column)
		}
		if under := []rune(lines[l.rows])[l.start()+x]; present < all && under == '─' {
			t.Errorf("the axis is whole under column %d, where readings are missing", x)
		}
	}
}

// anyValue is any float64 that may come out of a log.
func anyValue() *rapid.Generator[float64] {
	return rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{
		0, 1, -1, math.NaN(), math.Inf(1), math.Inf(-1), math.MaxFloat64, -math.MaxFloat64, math.SmallestNonzeroFloat64, 1e-8,
	}))
}

func checkBox(t *rapid.T, lines []string, width, height int) {
	if len(lines) != max(height, 0) && width > 0 {
		t.Fatalf("%d lines for a height of %d", len(lines), height)
	}
	for _, line := range lines {
		if w := lipgloss.Width(line); w > width {
			t.Fatalf("%d wide for a width of %d: %q", w, width, line)
		}
	}
}

func TestPlotKeepsToItsBox(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(anyValue(), 0, 60)
		from := time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "from"), 0)
		p := Plot{
			Width: rapid.IntRange(-2, 200).Draw(t, "width"), Height: rapid.IntRange(-2, 60).Draw(t, "height"),
			ASCII: rapid.Bool().Draw(t, "ascii"), Unit: rapid.SampledFrom([]string{"", "MW", "degC", "a long unit"}).Draw(t, "unit"),
			Series: Series{values.Draw(t, "mean"), values.Draw(t, "min"), values.Draw(t, "max")}, Second: values.Draw(t, "second"),
			Limits: Limits{anyValue().Draw(t, "ref"), anyValue().Draw(t, "dl"), anyValue().Draw(t, "du"), anyValue().Draw(t, "al"), anyValue().Draw(t, "au")},
			From:   from, To: from.Add(time.Duration(rapid.Int64Range(-1, 1e17).Draw(t, "span"))),
			Cursor: rapid.IntRange(-5, 70).Draw(t, "cursor"),
		}
		checkBox(t, p.Lines(), p.Width, p.Height)
		scale := Scale{anyValue().Draw(t, "low"), anyValue().Draw(t, "high")}
		if w := lipgloss.Width(Spark(p.Series, scale, p.Width, p.ASCII)); w != max(p.Width, 0) {
			t.Fatalf("spark is %d wide for a width of %d", w, p.Width)
		}
	})
}

func TestScatterKeepsToItsBox(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(anyValue(), 0, 60)
		s := Scatter{
			Width: rapid.IntRange(-2, 120).Draw(t, "width"), Height: rapid.IntRange(-2, 40).Draw(t, "height"),
			ASCII: rapid.Bool().Draw(t, "ascii"), X: values.Draw(t, "x"), Y: values.Draw(t, "y"),
			Fit:      Line{anyValue().Draw(t, "at"), anyValue().Draw(t, "level"), anyValue().Draw(t, "slope")},
			Expected: Line{0, 1, 2}, XUnit: "degC", YUnit: "deg",
		}
		checkBox(t, s.Lines(), s.Width, s.Height)
	})
}

func TestTicks(t *testing.T) {
	london, err := time.LoadLocation("Europe/London")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name     string
		from, to string
		width    int
		want     string
	}{
		{"a night", "2025-11-23T18:10:00Z", "2025-11-24T06:10:00Z", 70, "20:00 22:00 24 Nov 02:00 04:00 06:00"},
		{"half an hour", "2025-11-23T18:10:00Z", "2025-11-23T18:40:00Z", 70, "18:10 18:15 18:20 18:25 18:30 18:35"},
		{"a week", "2025-11-20T06:00:00Z", "2025-11-27T06:00:00Z", 70, "21 Nov 22 Nov 23 Nov 24 Nov 25 Nov 26 Nov 27 Nov"},
		{"summer time begins", "2025-03-29T22:00:00Z", "2025-03-30T06:00:00Z", 80, "22:00 23:00 30 Mar 02:00 03:00 04:00 05:00 06:00"},
		{"no room", "2025-11-23T18:10:00Z", "2025-11-24T06:10:00Z", 7, ""},
		{"backwards", "2025-11-24T18:10:00Z", "2025-11-23T06:10:00Z", 70, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			from, _ := time.Parse(time.RFC3339, c.from)
			to, _ := time.Parse(time.RFC3339, c.to)
			var labels []string
			for _, tick := range ticks(from, to, london, c.width) {
				labels = append(labels, tick.label)
			}
			if got := strings.Join(labels, " "); got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
}

func TestNumber(t *testing.T) {
	for _, c := range []struct {
		v, step float64
		want    string
	}{
		{48.23, 0.01, "48.23"}, {48.2, 1, "48"}, {-0.001, 0.1, "0.0"}, {2.1e-8, 1e-9, "2.1e-8"},
		{1.5e7, 1e5, "1.5e7"}, {math.NaN(), 1, "-"}, {math.Inf(1), 1, "-"}, {0, 0, "0"},
	} {
		if got := Number(c.v, c.step); got != c.want {
			t.Errorf("Number(%v, %v) = %q, want %q", c.v, c.step, got, c.want)
		}
	}
}

func BenchmarkPlot(b *testing.B) {
	p := nightPlot(140, 22, false)
	for b.Loop() {
		p.Lines()
	}
}

func BenchmarkSpark(b *testing.B) {
	s := night()
	for b.Loop() {
		Spark(s, Scale{45.8, 50.6}, 30, false)
	}
}
