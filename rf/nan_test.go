package rf

import (
	"math"
	"testing"
)

// A missing reading is NaN, and every formula passes it on: nothing that was not
// measured may come out as a number.
func TestMissingInMissingOut(t *testing.T) {
	missing := math.NaN()
	c := typicalCompressor()
	station := Station{DriftLengthM: 0.5, PhasePushingDegPerPercent: missing}
	contribution := func(c Contribution) []Contribution { return []Contribution{{Gain: 1}, c, {Gain: 1}} }
	formulas := map[string]float64{
		"MicroperveanceOf voltage":     MicroperveanceOf(Voltage(missing), 1),
		"MicroperveanceOf current":     MicroperveanceOf(1, Current(missing)),
		"BeamPower voltage":            float64(BeamPower(Voltage(missing), 1)),
		"BeamPower current":            float64(BeamPower(1, Current(missing))),
		"EfficiencyOf power":           EfficiencyOf(Power(missing), 1, 1),
		"EfficiencyOf voltage":         EfficiencyOf(1, Voltage(missing), 1),
		"EfficiencyOf current":         EfficiencyOf(1, 1, Current(missing)),
		"GainDB out":                   GainDB(Power(missing), 1),
		"GainDB drive":                 GainDB(1, Power(missing)),
		"PushingDegPerPercent voltage": station.PushingDegPerPercent(Voltage(missing), 1),
		"PushingDegPerPercent f":       station.PushingDegPerPercent(1e5, Frequency(missing)),
		"SaturationCurve":              SaturationCurve(missing),
		"DriveExponent":                DriveExponent(missing),
		"ReflectedFractionOf back":     ReflectedFractionOf(Power(missing), 1),
		"ReflectedFractionOf forward":  ReflectedFractionOf(1, Power(missing)),
		"StandingWaveRatio":            StandingWaveRatio(missing),
		"ReflectedFractionFrom":        ReflectedFractionFrom(missing),
		"ReturnLossDB":                 ReturnLossDB(missing),

		"WaterDensity":          WaterDensity(Temperature(missing)),
		"WaterHeatCapacity":     WaterHeatCapacity(Temperature(missing)),
		"HeatInWater flow":      float64(HeatInWater(missing, Celsius(30), Celsius(31))),
		"HeatInWater inlet":     float64(HeatInWater(1, Celsius(missing), Celsius(31))),
		"HeatInWater outlet":    float64(HeatInWater(1, Celsius(30), Celsius(missing))),
		"WaterRiseK heat":       WaterRiseK(Power(missing), 1, Celsius(30)),
		"WaterRiseK flow":       WaterRiseK(1, missing, Celsius(30)),
		"WaterRiseK inlet":      WaterRiseK(1, 1, Celsius(missing)),
		"AveragePower peak":     float64(AveragePower(Power(missing), 1, 1)),
		"AveragePower rate":     float64(AveragePower(1, 1, Frequency(missing))),
		"BodyRiseK":             tenFeet(ConstantGradient).BodyRiseK(Power(missing)),
		"ThermalDetuning":       float64(ThermalDetuning(1, 1, missing)),
		"ArrivalShift":          float64(ArrivalShift(-0.05, missing)),
		"ArrivalShift r56":      float64(ArrivalShift(missing, 1e-3)),
		"ChirpPerM across":      ChirpPerM(Energy(missing), 1, 1),
		"ChirpPerM energy":      ChirpPerM(1, Energy(missing), 1),
		"BunchCompression":      BunchCompression(missing, -0.05),
		"BunchCompression r56":  BunchCompression(1, missing),
		"EnergySum injection":   float64(EnergySum(Energy(missing), nil)),
		"EnergySum gain":        float64(EnergySum(1, contribution(Contribution{Gain: Energy(missing)}))),
		"EnergySum crest":       float64(EnergySum(1, contribution(Contribution{Gain: 1, Crest: Phase(missing)}))),
		"AcrossSum":             float64(AcrossSum(contribution(Contribution{Gain: Energy(missing)}))),
		"JitterIndependent":     float64(JitterIndependent(contribution(Contribution{Gain: 1, PhaseSigma: Phase(missing)}))),
		"JitterCommon":          float64(JitterCommon(contribution(Contribution{Gain: 1, AmplitudeSigma: missing}))),
		"PerVoltage":            float64(Contribution{Gain: 1, Crest: 0.1}.PerVoltage(missing)),
		"PerStationTolerance":   PerStationTolerance(4, missing),
		"PeakPowerGain":         c.PeakPowerGain(Frequency(missing)),
		"OutputField detuning":  real(c.OutputField(c.Flip, Frequency(missing))),
		"OutputField time":      real(c.OutputField(Interval(missing), 0)),
		"PhaseAt detuning":      float64(c.PhaseAt(c.Flip, Frequency(missing))),
		"PhaseAt time":          float64(c.PhaseAt(Interval(missing), 0)),
		"Compressor.Phase":      float64(c.Phase(Frequency(missing))),
		"DetuningFromPhase":     float64(c.DetuningFromPhase(Phase(missing))),
		"FalseAdvance":          float64(c.FalseAdvance(tenFeet(ConstantGradient), Frequency(missing))),
		"Compressor without q0": Compressor{Q0: missing, Beta: 5, Frequency: 1e9, Pulse: 2e-6, Flip: 1e-6}.PeakPowerGain(0),
	}
	for _, s := range []Structure{tenFeet(ConstantGradient), tenFeet(ConstantImpedance), cavity(1.4)} {
		kind := string(s.Kind)
		gone := s // its plant entry lacks what the formulas live on
		gone.Attenuation, gone.CouplingBeta = missing, missing
		for name, value := range map[string]float64{
			"NoLoadGain":                                float64(s.NoLoadGain(Power(missing))),
			"NoLoadGain of unknown":                     float64(gone.NoLoadGain(1)),
			"BeamLoading":                               float64(s.BeamLoading(Current(missing))),
			"EnergyGain power":                          float64(s.EnergyGain(Power(missing), 0, 0)),
			"EnergyGain crest":                          float64(s.EnergyGain(1, Phase(missing), 0)),
			"EnergyGain current":                        float64(s.EnergyGain(1, 0, Current(missing))),
			"EnergyGainWith factor":                     float64(s.EnergyGainWith(complex(missing, missing), 1, 0, 0)),
			"OutputPower power":                         float64(s.OutputPower(Power(missing), 0)),
			"OutputPower current":                       float64(s.OutputPower(1, Current(missing))),
			"CopperFraction":                            gone.CopperFraction(),
			"DetunedFactor real":                        real(s.DetunedFactor(Frequency(missing))),
			"DetunedFactor imaginary":                   imag(s.DetunedFactor(Frequency(missing))),
			"PhaseSlip":                                 float64(s.PhaseSlip(Frequency(missing))),
			"DetuningFromSlip":                          float64(s.DetuningFromSlip(Phase(missing))),
			"WaterChangeK":                              s.WaterChangeK(Frequency(missing), DefaultExpansionPerK),
			"SlipPerKelvin":                             float64(s.SlipPerKelvin(missing)),
			"CavityReflectedFraction":                   s.CavityReflectedFraction(Frequency(missing)),
			"EnergyMultiplication compressor real":      real(c.EnergyMultiplication(s, Frequency(missing), 0)),
			"EnergyMultiplication compressor imaginary": imag(c.EnergyMultiplication(s, Frequency(missing), 0)),
			"EnergyMultiplication structure real":       real(c.EnergyMultiplication(s, 0, Frequency(missing))),
			"EnergyMultiplication structure imaginary":  imag(c.EnergyMultiplication(s, 0, Frequency(missing))),
		} {
			formulas[kind+" "+name] = value
		}
	}
	for name, value := range formulas {
		if !math.IsNaN(value) {
			t.Errorf("%s: nothing in, %v out", name, value)
		}
	}
}
