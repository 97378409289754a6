package ingest

import (
	"math"
	"strings"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

// BarePlant returns the plant that a log alone tells of: its places, by the
// quantities they log, and the built-in tolerances. Everything that only a plant
// folder can say is not known, so readings are judged and physics is silent.
func BarePlant(night *series.Night) *rf.Plant {
	plant := &rf.Plant{
		Name: "no plant folder", Zone: time.UTC,
		Frequency: rf.Unknown[rf.Frequency](), RepetitionRate: rf.Unknown[rf.Frequency](),
		InjectionEnergy: rf.Unknown[rf.Energy](), ExpansionPerK: rf.DefaultExpansionPerK,
		Tolerances: rf.BuiltInTolerances(),
	}
	found := foundIn(&night.Log)
	for _, place := range found.stations {
		plant.Stations = append(plant.Stations, bareStation(place.name))
	}
	feeding := found.feedingStations()
	for i, place := range found.structures {
		s := bareStructure(place.name)
		// A structure named after its station is off when the station is; any
		// other guess is left to a person.
		if strings.HasPrefix(place.name, feeding[i]) {
			s.Station = feeding[i]
		}
		plant.Structures = append(plant.Structures, s)
	}
	for _, place := range found.waypoints {
		plant.Waypoints = append(plant.Waypoints, rf.Waypoint{Name: place.name, Required: rf.Unknown[rf.Energy](), R56M: math.NaN()})
	}
	return plant
}

func bareStation(name string) rf.Station {
	nan := math.NaN()
	return rf.Station{
		Name: name, RatedPower: rf.Unknown[rf.Power](), Microperveance: nan, Efficiency: nan, DriftLengthM: nan,
		RFPulse: rf.Unknown[rf.Interval](), PhaseFlip: rf.Unknown[rf.Interval](), CompressorQ0: nan, CompressorBeta: nan,
		CompressorTuned: rf.Unknown[rf.Temperature](), ConditionedPower: rf.Unknown[rf.Power](),
		DriveSaturation: rf.Unknown[rf.Power](), PhasePushingDegPerPercent: nan, TripsPerDay: nan,
	}
}

func bareStructure(name string) rf.Structure {
	nan := math.NaN()
	return rf.Structure{
		Name: name, Kind: rf.ConstantGradient, LengthM: nan, ShuntImpedanceOhmPerM: nan, Attenuation: nan,
		FillingTime: rf.Unknown[rf.Interval](), PowerShare: nan, TunedWater: rf.Unknown[rf.Temperature](),
		TunedPhase: rf.Unknown[rf.Phase](), HeatingKPerKW: nan, ThermalTime: rf.Unknown[rf.Interval](), HzPerK: nan,
		Frequency: rf.Unknown[rf.Frequency](), UnloadedQ: nan, CouplingBeta: nan, ShuntImpedanceOhm: nan,
	}
}
