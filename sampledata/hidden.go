package sampledata

// hiddenStation is what is true of a station and stands in no plant folder. It
// differs a little from what the folder says, as in life.
type hiddenStation struct {
	microperveance   float64
	efficiency       float64
	efficiencyPower  float64 // exponent: how the efficiency grows with voltage
	lossShare        float64 // of power, klystron to splitter
	saturationW      float64
	saturationPower  float64 // exponent: how the saturating drive grows with voltage
	pushing          float64 // deg per percent of voltage
	turnDegPerDB     float64 // phase against drive
	compressorQ0     float64
	tunedDegC        float64 // compressor
	restK            float64 // how far off the compressor's water is set
	compressorLagS   float64
	compressorHeatK  float64 // cavity above water at normal power
	mainsShare       float64 // of the mains' swing that comes through
	driveLineDegPerK float64 // true phase, with the gallery's temperature
	reflected        float64 // fraction
	vacuumMbar       float64
	heaterA          float64
	flatness         float64
}

func hideStation(s Station, seed uint64) hiddenStation {
	r := stream(seed, "hidden "+s.Name)
	h := hiddenStation{
		microperveance:   s.Microperveance * (1 + 0.008*r.NormFloat64()),
		efficiency:       s.Efficiency * (1 + 0.01*r.NormFloat64()),
		lossShare:        tenth(s.WaveguideLossDB + 0.02*r.NormFloat64()),
		saturationW:      s.DriveSaturationW * (1 + 0.02*r.NormFloat64()),
		efficiencyPower:  between(r, -0.05, 0.6),
		saturationPower:  between(r, 0.4, 1.4),
		turnDegPerDB:     between(r, 2.5, 5.5),
		compressorQ0:     s.CompressorQ0 * (1 + 0.01*r.NormFloat64()),
		tunedDegC:        s.CompressorTunedDegC + 0.02*r.NormFloat64(),
		restK:            0.02 * r.NormFloat64(),
		compressorLagS:   60 * between(r, 5, 12),
		compressorHeatK:  between(r, 0.3, 0.7),
		driveLineDegPerK: 0.25 * r.NormFloat64(),
		reflected:        between(r, 0.005, 0.014),
		vacuumMbar:       between(r, 0.8e-8, 4e-8),
		heaterA:          between(r, 18, 24),
		flatness:         between(r, 0.15, 0.4),
	}
	measured := s.PhasePushingDegPerPercent
	if measured == 0 {
		measured = ballisticPushing(s.DriftLengthM, s.VoltageKV)
	}
	h.pushing = measured * (1 + 0.03*r.NormFloat64())
	h.mainsShare = between(r, 0.2, 0.5)
	if s.LoadLine {
		h.mainsShare = between(r, 0.8, 1.2)
	}
	return h
}

// hiddenStructure is what is true of a structure and stands in no plant folder.
type hiddenStructure struct {
	kHzPerK       float64 // falling: frequency lost per kelvin, positive
	tunedPhaseDeg float64 // what the detectors would show on tune
	tunedInDegC   float64 // true inlet that tunes it at normal power
	lagS          float64
	waterLagS     float64 // of the water on its way from the regulation
	heatingKPerKW float64
	restK         float64 // how far off tune its water is set
	inletOffsetK  float64
	bodyOffsetK   float64
	returnOffsetK float64
	quantumK      float64 // of its thermometers
}

func hideStructure(s Structure, m Machine) hiddenStructure {
	r := stream(m.Seed, "hidden "+s.Name)
	return hiddenStructure{
		kHzPerK:       m.ExpansionPerK * (1 + 0.004*r.NormFloat64()) * m.FrequencyMHz * 1e3,
		tunedPhaseDeg: s.TunedPhaseDeg + s.TunedPhaseErrorDeg*r.NormFloat64(),
		tunedInDegC:   s.TunedWaterDegC + 0.03*r.NormFloat64(),
		lagS:          60 * min(max(s.ThermalTimeMin*(1+0.08*r.NormFloat64()), 3), 12),
		waterLagS:     between(r, 15, 40),
		heatingKPerKW: s.HeatingKPerKW * (1 + 0.04*r.NormFloat64()),
		restK:         0.05 * r.NormFloat64(),
		inletOffsetK:  0.03 * r.NormFloat64(),
		bodyOffsetK:   0.2 * r.NormFloat64(),
		returnOffsetK: 0.1 * r.NormFloat64(),
		quantumK:      []float64{0.01, 0.02, 0.05}[r.IntN(3)],
	}
}
