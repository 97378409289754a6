package sampledata

import (
	"fmt"
	"math"
	"math/rand/v2"
)

const (
	frequencyMHz      = 2856.0
	copperExpansion   = 16.6e-6 // per K
	waterHeatJPerLK   = 4160.0  // heat capacity of a litre near 40 degC
	compressedPulseUs = 0.8
)

// Build returns an invented linac of that many stations, at least six: the first
// two without compressor, some feeding one structure and most of them two, the
// last one a spare. The same seed gives the same machine.
func Build(stations int, seed uint64) Machine {
	r := rand.New(rand.NewPCG(seed, 0x6d616368))
	m := Machine{
		Name:               fmt.Sprintf("Linac of %d stations", stations),
		FrequencyMHz:       frequencyMHz,
		RepetitionRateHz:   50,
		TimeZone:           "Europe/London",
		InjectionEnergyMeV: 4,
		ExpansionPerK:      copperExpansion,
		Seed:               seed,
	}
	for i := range stations {
		m.addStation(r, i, stations)
	}
	m.Waypoints = []Waypoint{
		{Name: "chicane", AfterStation: m.Stations[stations/4-1].Name, TolerancePercent: 0.5, R56mm: -42},
		{Name: "sidetap", AfterStation: m.Stations[2*stations/3-1].Name, TolerancePercent: 0.5},
		{Name: "transfer", AfterStation: m.Stations[stations-1].Name, TolerancePercent: 0.5},
	}
	for i := range m.Waypoints {
		w := &m.Waypoints[i]
		after, _ := m.station(w.AfterStation)
		w.RequiredEnergyMeV = round(0.97*m.tunedEnergyMeV(after), 0)
	}
	return m
}

func (m *Machine) addStation(r *rand.Rand, i, stations int) {
	s := Station{
		Name:                      fmt.Sprintf("S%02d", i+1),
		RatedPowerMW:              45,
		Microperveance:            vary(r, 2, 0.03, 3),
		Efficiency:                vary(r, 0.43, 0.03, 3),
		DriftLengthM:              vary(r, 0.52, 0.05, 2),
		RFPulseUs:                 3.6,
		WaveguideLossDB:           vary(r, 0.4, 0.2, 2),
		DriveSaturationW:          vary(r, 340, 0.15, 0),
		PhasePushingDegPerPercent: vary(r, 6.6, 0.2, 1),
		TripsPerDay:               2,
		VoltageKV:                 vary(r, 288, 0.015, 1),
		DrivePhaseDeg:             round(360*r.Float64()-180, 1),
		LoadLine:                  i%3 == 1,
	}
	single := i < stations/3 || i == stations-1
	switch {
	case i == 0:
		s.RatedPowerMW, s.VoltageKV = 25, vary(r, 208, 0.01, 1)
	case single:
		s.VoltageKV = vary(r, 238, 0.01, 1)
	}
	if i%8 == 6 {
		s.PhasePushingDegPerPercent = 0
	}
	if i >= 2 {
		s.PhaseFlipUs = s.RFPulseUs - compressedPulseUs
		s.CompressorQ0 = vary(r, 1e5, 0.04, -2)
		s.CompressorBeta = vary(r, 5.1, 0.06, 2)
		s.CompressorTunedDegC = round(38+2*r.Float64(), 2)
	}
	if i == stations/2 || i == stations/2+1 {
		s.WaterLoop = "C1"
	}
	if i > 0 && i < stations/4 {
		s.CrestOffsetDeg = -12
	}
	s.Spare = i == stations-1
	s.DriveW = round(s.DriveSaturationW*(0.72+0.2*r.Float64()), 0)
	s.ConditionedPowerMW = round(0.97*nominalPowerMW(s)+4, 0)
	m.Stations = append(m.Stations, s)

	switch {
	case i == 0:
		m.Structures = append(m.Structures, buncher(r, s.Name+"B"), section(r, s.Name+"A", s.Name, 0.9))
	case single:
		m.Structures = append(m.Structures, section(r, s.Name+"A", s.Name, 1))
		if i == 1 {
			m.Structures[len(m.Structures)-1].Kind = constantImpedance
		}
	default:
		a, b := section(r, s.Name+"A", s.Name, 0.5), section(r, s.Name+"B", s.Name, 0.5)
		if i%4 == 0 {
			a.WaterLoop, b.WaterLoop = "W"+s.Name[1:], "W"+s.Name[1:]
			b.TunedWaterDegC = round(a.TunedWaterDegC+0.1*(r.Float64()-0.5), 2)
		}
		m.Structures = append(m.Structures, a, b)
	}
}

func nominalPowerMW(s Station) float64 {
	return s.Efficiency * s.Microperveance * math.Pow(s.VoltageKV*1e3, 2.5) / 1e12
}

func section(r *rand.Rand, name, station string, share float64) Structure {
	return Structure{
		Name:                   name,
		Station:                station,
		Kind:                   constantGradient,
		LengthM:                2.72,
		ShuntImpedanceMOhmPerM: vary(r, 54, 0.02, 1),
		AttenuationNp:          vary(r, 0.55, 0.02, 3),
		FillingTimeUs:          vary(r, 0.78, 0.02, 3),
		PowerShare:             share,
		TunedWaterDegC:         round(39+2*r.Float64(), 2),
		TunedPhaseDeg:          round(360*r.Float64()-180, 1),
		HeatingKPerKW:          vary(r, 1.5, 0.15, 2),
		ThermalTimeMin:         vary(r, 6.5, 0.4, 1),
		TunedPhaseErrorDeg:     vary(r, 1, 0.3, 1),
		FlowLPerMin:            vary(r, 16, 0.15, 1),
	}
}

func buncher(r *rand.Rand, name string) Structure {
	return Structure{
		Name:               name,
		Station:            name[:3],
		Kind:               standingWave,
		PowerShare:         0.08,
		TunedWaterDegC:     round(39+2*r.Float64(), 2),
		TunedPhaseDeg:      round(360*r.Float64()-180, 1),
		HeatingKPerKW:      vary(r, 2.4, 0.1, 2),
		ThermalTimeMin:     vary(r, 4, 0.2, 1),
		TunedPhaseErrorDeg: 1,
		UnloadedQ:          vary(r, 13500, 0.03, -1),
		CouplingBeta:       vary(r, 1.2, 0.03, 2),
		CavityShuntMOhm:    3,
		FlowLPerMin:        vary(r, 9, 0.1, 1),
	}
}

// vary returns mean changed by up to plus or minus share of it, rounded to the
// decimals that a plant folder would print.
func vary(r *rand.Rand, mean, share float64, decimals int) float64 {
	return round(mean*(1+share*(2*r.Float64()-1)), decimals)
}

func round(v float64, decimals int) float64 {
	scale := math.Pow(10, float64(decimals))
	return math.Round(v*scale) / scale
}
