package series

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"
)

var dusk = time.Date(2026, 11, 23, 22, 0, 0, 0, time.UTC)

func minutes(of ...float64) []time.Time {
	times := make([]time.Time, len(of))
	for i, m := range of {
		times[i] = dusk.Add(time.Duration(m * float64(time.Minute)))
	}
	return times
}

func TestPoissonTail(t *testing.T) {
	tests := []struct {
		n    int
		mean float64
		want float64
		rel  float64
	}{
		{0, 3, 1, 0},
		{1, 3, 1 - math.Exp(-3), 1e-12},
		{3, 1, 1 - 2.5*math.Exp(-1), 1e-12},
		{5, 0, 0, 0},
		{1, 1e-9, 1e-9, 1e-6}, // 1 - CDF would lose it
		{3, nan, nan, 0},
	}
	for _, tt := range tests {
		if got := PoissonTail(tt.n, tt.mean); !near(got, tt.want, tt.rel) {
			t.Errorf("%d or more where %v is expected: got %v, want %v", tt.n, tt.mean, got, tt.want)
		}
	}
	// The second route: the series itself.
	for _, mean := range []float64{0.1, 1, 4, 20} {
		term, below := math.Exp(-mean), 0.0
		for n := 1; n < 15; n++ {
			below += term
			term *= mean / float64(n)
			if got := PoissonTail(n, mean); math.Abs(got-(1-below)) > 1e-13 {
				t.Errorf("%d or more where %v is expected: got %v, want %v", n, mean, got, 1-below)
			}
		}
	}
}

func TestMTBF(t *testing.T) {
	mean, low, high := MTBF(168, 7, 0.95)
	if mean != 24 || !near(low, 11.648324, 1e-6) || !near(high, 59.693791, 1e-6) {
		t.Errorf("7 in 168 h: got %v [%v %v]", mean, low, high)
	}
	mean, low, high = MTBF(12, 0, 0.95)
	if !math.IsNaN(mean) || !near(low, 12/3.6888794541, 1e-9) || !math.IsInf(high, 1) {
		t.Errorf("none in 12 h: got %v [%v %v]", mean, low, high)
	}
}

func TestDistinct(t *testing.T) {
	got := Distinct(minutes(50, 3, 0, 7, 20, 25.5), 5*time.Minute)
	want := minutes(0, 20, 25.5, 50)
	if len(got) != len(want) {
		t.Fatalf("got %v, want %v", got, want)
	}
	for i := range got {
		if !got[i].Equal(want[i]) {
			t.Errorf("got %v, want %v", got[i], want[i])
		}
	}
	if got := Distinct(nil, time.Minute); got != nil {
		t.Errorf("nothing: got %v", got)
	}
}

func TestAvailability(t *testing.T) {
	at := func(from, to float64) Span {
		s := minutes(from, to)
		return Span{s[0], s[1]}
	}
	night := at(0, 600)
	tests := []struct {
		name  string
		downs []Span
		down  time.Duration
	}{
		{"never down", nil, 0},
		{"apart, not in order", []Span{at(100, 130), at(10, 20)}, 40 * time.Minute},
		{"overlapping count once", []Span{at(10, 40), at(30, 60)}, 50 * time.Minute},
		{"one within another", []Span{at(10, 60), at(20, 30), at(50, 70)}, 60 * time.Minute},
		{"the same twice", []Span{at(10, 20), at(10, 20)}, 10 * time.Minute},
		{"cut at both ends", []Span{at(-50, 30), at(590, 700)}, 40 * time.Minute},
		{"outside", []Span{at(-50, -10), at(700, 800)}, 0},
		{"all of it", []Span{at(-1, 1000)}, 600 * time.Minute},
		{"turned round", []Span{at(60, 10)}, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := Down(night, tt.downs); got != tt.down {
				t.Errorf("down: got %v, want %v", got, tt.down)
			}
			if got, want := Availability(night, tt.downs), 1-tt.down.Minutes()/600; !near(got, want, 1e-12) && math.Abs(got-want) > 1e-12 {
				t.Errorf("available: got %v, want %v", got, want)
			}
		})
	}
	if got := Availability(at(5, 5), nil); !math.IsNaN(got) {
		t.Errorf("empty span: got %v, want none", got)
	}
}

func TestClustered(t *testing.T) {
	night := Span{dusk, dusk.Add(12 * time.Hour)}
	if d, p := Clustered(minutes(1, 2, 3, 4), night); !math.IsNaN(d) || !math.IsNaN(p) {
		t.Errorf("four events: got %v, %v, want no judgement", d, p)
	}
	if d, p := Clustered(minutes(120, 240, 360, 480, 600), night); math.Abs(d) > 1e-12 || p < 0.999 {
		t.Errorf("even events: got %v, %v, want 0, 1", d, p)
	}
	if d, p := Clustered(minutes(300, 319, 306, 310, 700, 313, 303), night); d < 3 || p > 0.01 {
		t.Errorf("a burst: got %v, %v", d, p)
	}
	if d, p := Clustered(minutes(300, 302, 306, 309, 313, 315, 318, 322, 325, 329), night); d < 4 || p > 1e-3 {
		t.Errorf("ten in half an hour: got %v, %v", d, p)
	}
	if d, _ := Clustered(minutes(-10, 120, 240, 360, 480, 600, 720), night); math.Abs(d) > 1e-12 {
		t.Errorf("events outside the span count: got %v", d)
	}
	// Independent events fall below a probability as often as it says.
	r := rand.New(rand.NewPCG(1, 2))
	const records = 4000
	for _, n := range []int{8, 20} {
		var below, mean float64
		for range records {
			times := make([]float64, n)
			for i := range times {
				times[i] = 720 * r.Float64()
			}
			d, p := Clustered(minutes(times...), night)
			mean += d / records
			if p < 0.05 {
				below++
			}
		}
		if got := below / records; got < 0.038 || got > 0.06 {
			t.Errorf("%d events: %v of records are below 0.05", n, got)
		}
		if !near(mean, 1, 0.03) {
			t.Errorf("%d events: unevenness %v on average, want 1", n, mean)
		}
	}
}
