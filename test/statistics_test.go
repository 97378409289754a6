package test

import (
	"math"
	"testing"

	"dawncrest/rf/series"
)

// norris holds y and x of the data set Norris: calibration of ozone monitors.
//
// Source: NIST Statistical Reference Datasets, linear regression.
var norris = [][2]float64{
	{0.1, 0.2}, {338.8, 337.4}, {118.1, 118.2}, {888.0, 884.6}, {9.2, 10.1}, {228.1, 226.5},
	{668.5, 666.3}, {998.5, 996.3}, {449.1, 448.6}, {778.9, 777.0}, {559.2, 558.2}, {0.3, 0.4},
	{0.1, 0.6}, {778.1, 775.5}, {668.8, 666.9}, {339.3, 338.0}, {448.9, 447.5}, {10.8, 11.6},
	{557.7, 556.0}, {228.3, 228.1}, {998.0, 995.8}, {888.8, 887.6}, {119.6, 120.2}, {0.3, 0.3},
	{0.6, 0.3}, {557.6, 556.8}, {339.3, 339.1}, {888.0, 887.2}, {998.5, 999.0}, {778.9, 779.0},
	{10.2, 11.1}, {117.6, 118.3}, {228.9, 229.2}, {668.4, 669.1}, {449.2, 448.9}, {0.2, 0.5},
}

// The certified values of the same page. The standard deviations and the sums are
// printed there too.
func TestLeastSquaresNorris(t *testing.T) {
	var x, y []float64
	for _, p := range norris {
		y, x = append(y, p[0]), append(x, p[1])
	}
	l := series.LeastSquares(x, y)
	const rss = 26.6173985294224
	for _, tt := range []struct {
		name      string
		got, want float64
	}{
		{"intercept", l.Intercept, -0.262323073774029},
		{"slope", l.Slope, 1.00211681802045},
		{"standard deviation of the intercept", l.InterceptError, 0.232818234301152},
		{"standard deviation of the slope", l.SlopeError, 0.429796848199937e-03},
		{"R squared", l.RSquared, 0.999993745883712},
		{"residual sum of squares", l.ResidualStdDev * l.ResidualStdDev * 34, rss},
		{"residual standard deviation (from memory)", l.ResidualStdDev, 0.884796396144373},
	} {
		if !near(tt.got, tt.want, 1e-9) {
			t.Errorf("%s: got %.15g, certified %.15g", tt.name, tt.got, tt.want)
		}
	}
	if l.Used != 36 {
		t.Errorf("got %d pairs, want 36", l.Used)
	}
	// t of 34 degrees, 2.032244509, computed to full precision elsewhere.
	if got, want := l.SlopeHigh-l.SlopeLow, 2*2.032244509*0.429796848199937e-03; !near(got, want, 1e-9) {
		t.Errorf("width of the interval: got %v, want %v", got, want)
	}
}

// Sums of squares without the mean taken off first fail these.
//
// Source: NIST Statistical Reference Datasets, univariate summary statistics, from
// memory; exact by construction.
func TestCellNumAcc(t *testing.T) {
	alternating := func(base float64) []float64 {
		v := []float64{base + 0.2}
		for range 500 {
			v = append(v, base+0.1, base+0.3)
		}
		return v
	}
	for _, tt := range []struct {
		name         string
		values       []float64
		mean, stdDev float64
		rel          float64 // of the deviation; the data itself is rounded to binary
	}{
		{"NumAcc1", []float64{10000001, 10000003, 10000002}, 10000002, 1, 1e-14},
		{"NumAcc2", alternating(1), 1.2, 0.1, 1e-13},
		{"NumAcc3", alternating(1000000), 1000000.2, 0.1, 1e-9},
		{"NumAcc4", alternating(10000000), 10000000.2, 0.1, 1e-8},
	} {
		var whole, merged series.Cell
		for i, v := range tt.values {
			whole.Add(v)
			if i%7 == 0 { // as cells of several files come together
				var part series.Cell
				for _, u := range tt.values[i:min(i+7, len(tt.values))] {
					part.Add(u)
				}
				merged.Merge(part)
			}
		}
		for _, c := range []series.Cell{whole, merged} {
			if !near(c.Mean, tt.mean, 1e-15) || !near(c.StdDev(), tt.stdDev, tt.rel) {
				t.Errorf("%s: got %.12g and %.12g, want %.12g and %.12g", tt.name, c.Mean, c.StdDev(), tt.mean, tt.stdDev)
			}
		}
	}
}

// The worked example: the median of 21 slopes, and the fourth from either end at
// 93 %.
//
// Source: P. K. Sen, J. Am. Stat. Assoc. 63 (1968) 1379.
func TestTheilSenOfSen(t *testing.T) {
	h := []float64{1, 2, 3, 4, 10, 12, 18}
	y := []float64{9, 15, 19, 20, 45, 55, 78}
	s := series.TheilSen(h, y, 0.93)
	if s.PerH != 4 || !near(s.Low, 26./7, 1e-12) || !near(s.High, 35./8, 1e-12) {
		t.Errorf("got %v [%v %v], printed 4 [3.71 4.38]", s.PerH, s.Low, s.High)
	}
	// The trend test on the same data, computed by hand: all pairs rise.
	if k := series.MannKendall(y); k.S != 21 || !near(k.Variance, 7*6*19/18., 1e-12) || !near(k.Z, 3.003757, 1e-6) {
		t.Errorf("trend: got %+v, want S 21, Z 3.003757", k)
	}
}

// A teaching example worked by hand: 72 pairs up, 18 down, one tie.
//
// Source: College of the Holy Cross, note "Mann-Kendall by hand".
func TestMannKendallByHand(t *testing.T) {
	y := []float64{12.9, 14.8, 13.2, 15.7, 13.8, 15.6, 12.9, 11.0, 17.3, 15.9, 19.0, 18.3, 20.1, 21.7}
	k := series.MannKendall(y)
	if k.S != 54 || !near(k.Variance, (14*13*33-18)/18., 1e-12) || math.Abs(k.Z-2.9058) > 5e-5 || math.Abs(k.P/2-0.0018) > 5e-5 {
		t.Errorf("got %+v, printed S 54, Z 2.9058, one-sided p 0.0018", k)
	}
}

// Sources: F. Garwood, Biometrika 28 (1936) 437 (95 and 90 %), and N. Gehrels,
// Astrophys. J. 303 (1986) 336, tables 1 and 2 (one sigma); from memory, and the
// digits computed to full precision elsewhere.
func TestPoissonInterval(t *testing.T) {
	const oneSigma = 0.6826894921
	for _, tt := range []struct {
		n          int
		confidence float64
		low, high  float64
	}{
		{0, 0.95, 0, 3.6888794541},
		{1, 0.95, 0.0253178080, 5.5716433909},
		{2, 0.95, 0.2422092785, 7.2246876677},
		{3, 0.95, 0.6186721229, 8.7672730697},
		{5, 0.95, 1.6234863901, 11.6683320793},
		{10, 0.95, 4.7953886961, 18.3903560420},
		{20, 0.95, 12.2165195854, 30.8883779027},
		{50, 0.95, 37.1109637375, 65.9187666643},
		{100, 0.95, 81.3639912509, 121.6267937924},
		{0, 0.90, 0, 2.9957322736}, // the rule of three
		{1, 0.90, 0.0512932944, 4.7438645184},
		{10, 0.90, 5.4254056971, 16.9622192357},
		{0, oneSigma, 0, 1.841},
		{1, oneSigma, 0.173, 3.300},
		{3, oneSigma, 1.367, 5.918},
		{10, oneSigma, 6.891, 14.27},
	} {
		rel := 1e-8
		if tt.confidence == oneSigma {
			rel = 2e-3 // four digits are printed
		}
		low, high := series.PoissonInterval(tt.n, tt.confidence)
		if !near(low, tt.low, rel) || !near(high, tt.high, rel) {
			t.Errorf("%d at %v: got [%.10g %.10g], want [%.10g %.10g]", tt.n, tt.confidence, low, high, tt.low, tt.high)
		}
	}
}
