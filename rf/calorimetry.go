package rf

const litrePerMinM3PerS = 1e-3 / 60

// HeatInWater returns the power that a flow of water carries away between inlet
// and outlet.
//
//	P = rho V' c_p (T_out - T_in)
//
// Error: that of the thermometers: 0.1 K in 1.5 K is 7 %. Glycol changes c_p.
func HeatInWater(litrePerMin float64, inlet, outlet Temperature) Power {
	mean := (inlet + outlet) / 2
	return Power(heatFlowWPerK(litrePerMin, mean) * outlet.Above(inlet))
}

// WaterRiseK returns by how much heat warms a flow of water from inlet to outlet,
// in kelvin. The water around the body is warmer than the inlet by half of it.
func WaterRiseK(heat Power, litrePerMin float64, inlet Temperature) float64 {
	return float64(heat) / heatFlowWPerK(litrePerMin, inlet)
}

func heatFlowWPerK(litrePerMin float64, t Temperature) float64 {
	return litrePerMin * litrePerMinM3PerS * WaterDensity(t) * WaterHeatCapacity(t)
}

// AveragePower returns the time average of pulses of a peak power.
func AveragePower(peak Power, pulse Interval, rate Frequency) Power {
	return peak * Power(float64(pulse)*float64(rate))
}

// BodyRiseK returns by how much the structure's body is warmer than its inlet
// water when it is fed the given average power, in kelvin.
func (s Structure) BodyRiseK(average Power) float64 {
	return s.HeatingKPerKW * In(average, Kilowatt) * s.CopperFraction()
}
