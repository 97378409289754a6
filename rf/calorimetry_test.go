package rf

import (
	"math"
	"testing"
)

func TestWater(t *testing.T) {
	// Wants: the formulation itself, worked separately; at 298.15 K the release's
	// printed check value.
	tests := []struct{ degC, density, capacity float64 }{
		{20, 998.206546, 4184.18908}, {25, 997.047013, 4181.44618}, {30, 995.648824, 4179.89925},
		{35, 994.032698, 4179.26640}, {40, 992.215763, 4179.35632}, {45, 990.212337, 4180.03880},
	}
	for _, test := range tests {
		if got := WaterDensity(Celsius(test.degC)); !near(got, test.density, 1e-9) {
			t.Errorf("%v degC: density %.6f, want %.6f", test.degC, got, test.density)
		}
		if got := WaterHeatCapacity(Celsius(test.degC)); !near(got, test.capacity, 2e-9) {
			t.Errorf("%v degC: heat capacity %.5f, want %.5f", test.degC, got, test.capacity)
		}
	}
	for _, degC := range []float64{-20.1, 110.1, math.NaN(), math.Inf(1)} {
		if got := WaterDensity(Celsius(degC)); !math.IsNaN(got) {
			t.Errorf("water of %v degC has density %v", degC, got)
		}
		if got := WaterHeatCapacity(Celsius(degC)); !math.IsNaN(got) {
			t.Errorf("water of %v degC has heat capacity %v", degC, got)
		}
	}
}

func TestHeat(t *testing.T) {
	average := AveragePower(40*Megawatt, Microsecond, 50*Hertz)
	s := tenFeet(ConstantGradient)
	s.HeatingKPerKW = 1.4
	lost := average * Power(s.CopperFraction())
	// Wants: worked by hand with the properties of water above.
	tests := []struct {
		name           string
		got, want, rel float64
	}{
		{"15 L/min, 2 K about 25 degC", float64(HeatInWater(15, Celsius(24), Celsius(26))), 2084.549, 1e-6},
		{"15 L/min, 1.5 K about 40 degC", float64(HeatInWater(15, Celsius(39.25), Celsius(40.75))), 1555.059, 1e-6},
		{"40 MW, 1 us, 50 Hz", float64(average), 2000, 1e-12},
		{"lost in copper", float64(lost), 1360.362, 1e-6},
		{"outlet over inlet", WaterRiseK(lost, 15, Celsius(30)), 1.307502, 1e-6},
		{"heat of that rise", float64(HeatInWater(15, Celsius(30-0.653751), Celsius(30+0.653751))), 1360.362, 1e-6},
		{"body over inlet", s.BodyRiseK(average), 1.4 * 1.360362, 1e-6},
	}
	for _, test := range tests {
		if !near(test.got, test.want, test.rel) {
			t.Errorf("%s: got %.10g, want %.10g", test.name, test.got, test.want)
		}
	}
	if got := HeatInWater(15, Celsius(31), Celsius(30)); !(got < 0) {
		t.Errorf("an outlet colder than the inlet takes no heat away: %v", got)
	}
}
