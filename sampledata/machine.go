package sampledata

import "time"

// Machine is an invented linac: what its plant folder says and how it is run.
// What no plant folder knows (coupler errors, cable lengths, the true lags) is
// drawn from Seed.
type Machine struct {
	Name               string
	FrequencyMHz       float64
	RepetitionRateHz   float64
	TimeZone           string
	InjectionEnergyMeV float64
	ExpansionPerK      float64
	Waypoints          []Waypoint
	Stations           []Station // in beam order
	Structures         []Structure
	Tolerances         []string // rows of tolerances.csv, as written there
	Planned            []Planned
	Seed               uint64
}

// Waypoint is a place along the linac where the beam must have an energy.
type Waypoint struct {
	Name              string
	AfterStation      string
	RequiredEnergyMeV float64
	TolerancePercent  float64
	R56mm             float64 // 0: no bunch compressor here
}

// Station is one modulator and klystron, often with a pulse compressor.
type Station struct {
	Name                      string
	RatedPowerMW              float64
	Microperveance            float64
	Efficiency                float64
	DriftLengthM              float64
	RFPulseUs                 float64
	PhaseFlipUs               float64 // 0: no compressor
	CompressorQ0              float64
	CompressorBeta            float64
	CompressorTunedDegC       float64
	WaveguideLossDB           float64
	CrestOffsetDeg            float64
	Spare                     bool
	ConditionedPowerMW        float64
	DriveSaturationW          float64
	PhasePushingDegPerPercent float64 // 0: not measured
	WaterLoop                 string  // of the compressor; empty: its own
	TripsPerDay               float64

	// How it is run.
	VoltageKV     float64
	DriveW        float64
	DrivePhaseDeg float64
	LoadLine      bool // matched line-type modulator; else stiff
}

func (s Station) compressed() bool { return s.PhaseFlipUs > 0 }

// Kinds of structure.
const (
	constantGradient  = "constant_gradient"
	constantImpedance = "constant_impedance"
	standingWave      = "standing_wave"
)

// Structure is one accelerating structure or cavity, fed by a station.
type Structure struct {
	Name                   string
	Station                string
	Kind                   string
	LengthM                float64
	ShuntImpedanceMOhmPerM float64
	AttenuationNp          float64
	FillingTimeUs          float64
	PowerShare             float64
	TunedWaterDegC         float64
	TunedPhaseDeg          float64
	HeatingKPerKW          float64
	WaterLoop              string // empty: its own
	ThermalTimeMin         float64
	TunedPhaseErrorDeg     float64
	UnloadedQ              float64 // the last three: standing wave only
	CouplingBeta           float64
	CavityShuntMOhm        float64 // MOhm

	// How it is run.
	FlowLPerMin float64
}

func (s Structure) standing() bool { return s.Kind == standingWave }

func (s Structure) loop() string {
	if s.WaterLoop != "" {
		return s.WaterLoop
	}
	return s.Name
}

// Planned is a span in which a place, or the whole machine where Place is empty,
// is stopped on purpose. Play switches its RF off; planned.csv tells of it.
type Planned struct {
	From, To time.Time
	Place    string
	Note     string
}

func (m Machine) station(name string) (int, bool) {
	for i, s := range m.Stations {
		if s.Name == name {
			return i, true
		}
	}
	return 0, false
}

func (m Machine) structure(name string) (int, bool) {
	for i, s := range m.Structures {
		if s.Name == name {
			return i, true
		}
	}
	return 0, false
}

// sharedLoops returns the water loops that have a name of their own, in the
// order in which the machine names them.
func (m Machine) sharedLoops() []string {
	var names []string
	seen := map[string]bool{"": true}
	add := func(name string) {
		if !seen[name] {
			seen[name] = true
			names = append(names, name)
		}
	}
	for _, s := range m.Structures {
		add(s.WaterLoop)
	}
	for _, s := range m.Stations {
		add(s.WaterLoop)
	}
	return names
}
