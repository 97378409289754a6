package review

import (
	"math"

	"dawncrest/rf"
)

// Calorimetry compares the heat that a structure's water carries off with the RF
// power lost in its copper. They agree only as well as both thermometers do: a
// tenth of a kelvin is several per cent.
type Calorimetry struct {
	InWater rf.Power // flow and temperature rise
	FromRF  rf.Power // average power lost in the copper
}

// calorimetry is known where flow and both temperatures are logged; the share of
// the pulses in which RF was on is taken as it was over the night's end.
func (a *analysis) calorimetry(s rf.Structure) Calorimetry {
	c := Calorimetry{InWater: rf.Unknown[rf.Power](), FromRF: rf.Unknown[rf.Power]()}
	flow, in, out := a.nowOf(s.Name, rf.WaterFlow), a.nowOf(s.Name, rf.WaterTemperature), a.nowOf(s.Name, rf.ReturnTemperature)
	if !math.IsNaN(flow + in + out) {
		c.InWater = rf.HeatInWater(flow, rf.Celsius(in), rf.Celsius(out))
	}
	station, ok := a.plant.Station(s.Station)
	if !ok {
		return c
	}
	forward := a.nowOf(s.Station, rf.ForwardPower)
	through := math.Pow(10, -station.WaveguideLossDB/10)
	average := rf.AveragePower(rf.Power(forward*through*s.PowerShare)*rf.Megawatt, station.RFPulse, a.plant.RepetitionRate)
	c.FromRF = average * rf.Power(s.CopperFraction())
	return c
}
