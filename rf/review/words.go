package review

import (
	"math"

	"dawncrest/rf"
)

var causeWords = map[Cause]string{
	WaterDetuning:      "water off tune",
	RegulatingSensor:   "regulating thermometer drifts",
	CoolingFlow:        "cooling flow",
	HeatLoad:           "RF heat load changed",
	TemperatureSensor:  "thermometer wrong",
	ReadingDoubted:     "reading doubted",
	CompressorDetuning: "compressor off tune",
	ModulatorVoltage:   "modulator voltage",
	CathodeEmission:    "cathode emission falls",
	DrivePower:         "drive power",
	PhaseDrift:         "phase drift",
	WaveguideLoss:      "waveguide loss",
	ReflectedPower:     "reflected power",
	SetPoint:           "set point changed",
	TooManyTrips:       "too many trips",
	Vacuum:             "vacuum",
	StuckReading:       "reading stands still",
	DataGap:            "no readings",
	Headroom:           "regulation near its end",
	CommonWater:        "water moved everywhere",
	CommonPhase:        "reference line moved",
	CommonVoltage:      "mains moved all voltages",
	CommonTrip:         "trips in the same seconds",
	Unexplained:        "not explained",
}

func (t *Trace) band(limit float64) (low, high float64) {
	switch t.Basis {
	case rf.Relative:
		half := math.Abs(t.Reference) * limit / 100
		return t.Reference - half, t.Reference + half
	case rf.Change:
		return t.Reference - limit, t.Reference + limit
	case rf.Absolute:
		return -limit, limit
	case rf.Ratio:
		return math.NaN(), t.Reference * limit
	}
	return math.NaN(), math.NaN()
}
