package rf

import "time"

// Plant describes one linac as its plant folder states it. It is checked when it
// is loaded; the formulas rely on that.
type Plant struct {
	Name            string
	Frequency       Frequency
	RepetitionRate  Frequency
	Zone            *time.Location
	InjectionEnergy Energy
	ExpansionPerK   float64 // linear, of the structures' copper
	BeamCurrent     Current // averaged over the RF pulse, for beam loading
	PhaseSampling   PhaseSampling
	Waypoints       []Waypoint
	Stations        []Station // in beam order
	Structures      []Structure
	Tolerances      []Tolerance // built-in set with the folder's rows laid over it
	Planned         []Planned
}

// PhaseSampling tells at which instants the two coupler phases of a structure
// are taken.
type PhaseSampling uint8

// The ways to sample coupler phases.
const (
	SameWaveFront PhaseSampling = iota // output one filling time after input
	SameTime
)

// Waypoint is a place along the linac where the beam must have an energy.
type Waypoint struct {
	Name             string
	AfterStation     string
	Required         Energy
	TolerancePercent float64
	R56M             float64 // NaN: no bunch compressor here
}

// Station is one modulator with its klystron and, often, a pulse compressor.
type Station struct {
	Name                      string
	RatedPower                Power
	Microperveance            float64 // A/V^1.5 times 1e6
	Efficiency                float64 // RF power over beam power, 0 to 1
	DriftLengthM              float64 // cathode-side gap to output gap; NaN: not given
	RFPulse                   Interval
	PhaseFlip                 Interval // from pulse start to phase reversal; NaN: no compressor
	CompressorQ0              float64
	CompressorBeta            float64
	CompressorTuned           Temperature // NaN: not given
	WaveguideLossDB           float64     // klystron to compressor or splitter
	CrestOffset               Phase
	Spare                     bool    // hot spare: makes no energy now
	ConditionedPower          Power   // NaN: the highest settled power in the log
	DriveSaturation           Power   // NaN: not given
	PhasePushingDegPerPercent float64 // degrees per percent of beam voltage; NaN: from drift length
	WaterLoop                 string  // of the compressor
	TripsPerDay               float64 // usual rate; NaN: not given
}

// HasCompressor reports whether the station's pulse is compressed.
func (s Station) HasCompressor() bool { return Known(s.PhaseFlip) }

// StructureKind tells how a structure holds its field.
type StructureKind string

// The kinds of accelerating structure.
const (
	ConstantGradient  StructureKind = "constant_gradient"
	ConstantImpedance StructureKind = "constant_impedance"
	StandingWave      StructureKind = "standing_wave"
)

// Structure is one accelerating structure or cavity, fed by a station.
type Structure struct {
	Name                  string
	Station               string
	Kind                  StructureKind
	LengthM               float64
	ShuntImpedanceOhmPerM float64
	Attenuation           float64 // one-way, of the field, Np
	FillingTime           Interval
	PowerShare            float64     // of the station's power, 0 to 1
	TunedWater            Temperature // inlet that tunes it at normal RF power; NaN: not given
	TunedPhase            Phase       // output minus input phase when on tune; NaN: not given
	HeatingKPerKW         float64     // body above inlet per kilowatt dissipated in copper; NaN: not given
	WaterLoop             string      // structures with one set point share it; empty: its own
	ThermalTime           Interval    // NaN: to be fitted
	HzPerK                float64     // measured, negative; NaN: from expansion
	TunedPhaseError       Phase       // one sigma
	TunedPhaseOn          time.Time   // zero: not given
	Frequency             Frequency   // own, else the plant's

	// For standing-wave cavities only.
	UnloadedQ         float64
	CouplingBeta      float64
	ShuntImpedanceOhm float64
}

// TravellingWave reports whether power flows through the structure to a load.
func (s Structure) TravellingWave() bool { return s.Kind != StandingWave }

// Loop returns the water loop that tunes the structure: its own name where it
// shares none.
func (s Structure) Loop() string {
	if s.WaterLoop != "" {
		return s.WaterLoop
	}
	return s.Name
}

// Planned is a span in which silence, trips and stops are no surprise.
type Planned struct {
	From, To time.Time
	Place    string // empty: the whole machine
	Note     string
}

// Station returns the station of that name.
func (p *Plant) Station(name string) (Station, bool) {
	for _, s := range p.Stations {
		if s.Name == name {
			return s, true
		}
	}
	return Station{}, false
}

// Structure returns the structure of that name.
func (p *Plant) Structure(name string) (Structure, bool) {
	for _, s := range p.Structures {
		if s.Name == name {
			return s, true
		}
	}
	return Structure{}, false
}

// StructuresOf returns the structures that a station feeds.
func (p *Plant) StructuresOf(station string) []Structure {
	var fed []Structure
	for _, s := range p.Structures {
		if s.Station == station {
			fed = append(fed, s)
		}
	}
	return fed
}

// MachinePlace is the place of readings that belong to the whole machine.
const MachinePlace = "machine"

// KindOf returns what kind of place a name is; 0 where the plant has no such
// place. Names are told apart exactly, letter by letter.
func (p *Plant) KindOf(place string) PlaceKind {
	var kind PlaceKind
	if place == MachinePlace {
		kind |= OfMachine
	}
	if _, ok := p.Station(place); ok {
		kind |= OfStation
	}
	for _, s := range p.Structures {
		if s.Name == place {
			kind |= OfStructure
		}
		if s.WaterLoop == place {
			kind |= OfLoop
		}
	}
	for _, s := range p.Stations {
		if s.WaterLoop != "" && s.WaterLoop == place {
			kind |= OfLoop
		}
	}
	for _, w := range p.Waypoints {
		if w.Name == place {
			kind |= OfWaypoint
		}
	}
	return kind
}

// Values that a plant folder may leave out.
const (
	DefaultThermalTime     = 7 * Minute
	DefaultTunedPhaseError = 2 * Degree
)

// DefaultExpansionPerK is the linear expansion of copper near 300 K, 16.6e-6
// with an uncertainty of 0.2e-6 per kelvin.
//
// Source: [Wiedemann] problem 18.2; the NIST cryogenic property page for OFHC
// copper gives 16.57e-6 at 293 K from its printed polynomial.
const DefaultExpansionPerK = 16.6e-6
