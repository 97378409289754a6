package rf

import "strings"

// Quantity names what a channel measures, as it stands in a log's header:
// "forward_power". A set value carries the suffix "_set".
type Quantity string

// Logged quantities.
const (
	BeamVoltage           Quantity = "beam_voltage"
	BeamCurrent           Quantity = "beam_current"
	HeaterCurrent         Quantity = "heater_current"
	DrivePower            Quantity = "drive_power"
	DrivePhase            Quantity = "drive_phase"
	ForwardPower          Quantity = "forward_power"
	ForwardPhase          Quantity = "forward_phase"
	ReflectedPower        Quantity = "reflected_power"
	CompressedPower       Quantity = "compressed_power"
	CompressorTemperature Quantity = "compressor_temperature"
	VacuumPressure        Quantity = "vacuum_pressure"
	PulseFlatness         Quantity = "pulse_flatness"
	TripCount             Quantity = "trip_count"
	RFOn                  Quantity = "rf_on"
	TripReason            Quantity = "trip_reason"

	InputPower        Quantity = "input_power"
	InputPhase        Quantity = "input_phase"
	OutputPower       Quantity = "output_power"
	OutputPhase       Quantity = "output_phase"
	WaterTemperature  Quantity = "water_temperature"
	ReturnTemperature Quantity = "return_temperature"
	BodyTemperature   Quantity = "body_temperature"
	WaterFlow         Quantity = "water_flow"
	CavityPhase       Quantity = "cavity_phase"
	CavityVoltage     Quantity = "cavity_voltage"

	BeamEnergy         Quantity = "beam_energy"
	GalleryTemperature Quantity = "gallery_temperature"
	GalleryHumidity    Quantity = "gallery_humidity"
	ReferencePhase     Quantity = "reference_phase"
	BeamCharge         Quantity = "beam_charge"
	LoopTemperature    Quantity = "loop_temperature"
	ValveOpening       Quantity = "valve_opening"
	HeaterPower        Quantity = "heater_power"
	RepetitionRate     Quantity = "repetition_rate"
)

// Derived quantities, computed from the logged ones.
const (
	Microperveance       Quantity = "microperveance"
	Efficiency           Quantity = "efficiency"
	PeakPowerGain        Quantity = "peak_power_gain"
	EnergyMultiplication Quantity = "energy_multiplication"
	CompressorDetuning   Quantity = "compressor_detuning"
	CompressorPhase      Quantity = "compressor_phase"
	ReflectedFraction    Quantity = "reflected_fraction"
	PhaseAdvance         Quantity = "phase_advance"
	Detuning             Quantity = "detuning"
	EnergyGain           Quantity = "energy_gain"
	CouplerRatio         Quantity = "coupler_ratio"
	Trips                Quantity = "trips"
)

// PlaceKind tells what kinds of place a quantity can belong to; kinds combine with |.
type PlaceKind uint8

// The kinds of place.
const (
	OfStation PlaceKind = 1 << iota
	OfStructure
	OfLoop
	OfWaypoint
	OfMachine
)

// Dimension groups the units that convert into one another.
type Dimension string

// The dimensions of logged quantities.
const (
	DimPower       Dimension = "power"
	DimVoltage     Dimension = "voltage"
	DimCurrent     Dimension = "current"
	DimAngle       Dimension = "angle"
	DimTemperature Dimension = "temperature"
	DimPressure    Dimension = "pressure"
	DimFlow        Dimension = "flow"
	DimTime        Dimension = "time"
	DimEnergy      Dimension = "energy"
	DimRatio       Dimension = "ratio"
	DimFrequency   Dimension = "frequency"
	DimCharge      Dimension = "charge"
	DimNone        Dimension = "none"
)

// Form tells how the readings of a quantity are to be taken.
type Form uint8

// The forms of a reading.
const (
	Level   Form = iota // a number to average
	Angle               // a number to average along the circle
	Counter             // a running count that may start again at zero
	State               // on or off
	Text                // words
)

// Info describes one quantity: its native unit, where it can stand and between
// which native values a reading is physically possible.
type Info struct {
	Name      Quantity
	Unit      string
	Dimension Dimension
	Of        PlaceKind
	Form      Form
	Low, High float64
	Magnitude bool // logged negative by some: taken by magnitude
	Derived   bool
	Title     string // in words, for people
}

// quantities is the one table of all quantities; adding one is adding a line.
var quantities = []Info{
	{Name: BeamVoltage, Unit: "kV", Dimension: DimVoltage, Of: OfStation, Low: 0, High: 1000, Magnitude: true, Title: "beam voltage"},
	{Name: BeamCurrent, Unit: "A", Dimension: DimCurrent, Of: OfStation, Low: 0, High: 2000, Magnitude: true, Title: "beam current"},
	{Name: HeaterCurrent, Unit: "A", Dimension: DimCurrent, Of: OfStation, Low: 0, High: 200, Title: "heater current"},
	{Name: DrivePower, Unit: "W", Dimension: DimPower, Of: OfStation, Low: 0, High: 1e5, Title: "drive power"},
	{Name: DrivePhase, Unit: "deg", Dimension: DimAngle, Of: OfStation, Form: Angle, Low: -1e5, High: 1e5, Title: "drive phase"},
	{Name: ForwardPower, Unit: "MW", Dimension: DimPower, Of: OfStation | OfStructure, Low: -1, High: 500, Title: "forward power"},
	{Name: ForwardPhase, Unit: "deg", Dimension: DimAngle, Of: OfStation | OfStructure, Form: Angle, Low: -1e5, High: 1e5, Title: "forward phase"},
	{Name: ReflectedPower, Unit: "MW", Dimension: DimPower, Of: OfStation | OfStructure, Low: -1, High: 500, Title: "reflected power"},
	{Name: CompressedPower, Unit: "MW", Dimension: DimPower, Of: OfStation, Low: -1, High: 2000, Title: "compressed power"},
	{Name: CompressorTemperature, Unit: "degC", Dimension: DimTemperature, Of: OfStation, Low: -20, High: 120, Title: "compressor temperature"},
	{Name: VacuumPressure, Unit: "mbar", Dimension: DimPressure, Of: OfStation | OfStructure, Low: 0, High: 1100, Title: "vacuum pressure"},
	{Name: PulseFlatness, Unit: "%", Dimension: DimRatio, Of: OfStation, Low: -100, High: 100, Title: "pulse flatness"},
	{Name: TripCount, Unit: "1", Dimension: DimRatio, Of: OfStation, Form: Counter, Low: 0, High: 1e12, Title: "trip count"},
	{Name: RFOn, Unit: "1", Dimension: DimRatio, Of: OfStation, Form: State, Low: 0, High: 1, Title: "RF on"},
	{Name: TripReason, Dimension: DimNone, Of: OfStation, Form: Text, Title: "trip reason"},

	{Name: InputPower, Unit: "MW", Dimension: DimPower, Of: OfStructure, Low: -1, High: 2000, Title: "input power"},
	{Name: InputPhase, Unit: "deg", Dimension: DimAngle, Of: OfStructure, Form: Angle, Low: -1e5, High: 1e5, Title: "input phase"},
	{Name: OutputPower, Unit: "MW", Dimension: DimPower, Of: OfStructure, Low: -1, High: 2000, Title: "output power"},
	{Name: OutputPhase, Unit: "deg", Dimension: DimAngle, Of: OfStructure, Form: Angle, Low: -1e5, High: 1e5, Title: "output phase"},
	{Name: WaterTemperature, Unit: "degC", Dimension: DimTemperature, Of: OfStructure, Low: -20, High: 120, Title: "inlet water temperature"},
	{Name: ReturnTemperature, Unit: "degC", Dimension: DimTemperature, Of: OfStructure, Low: -20, High: 120, Title: "return water temperature"},
	{Name: BodyTemperature, Unit: "degC", Dimension: DimTemperature, Of: OfStructure, Low: -20, High: 120, Title: "body temperature"},
	{Name: WaterFlow, Unit: "L/min", Dimension: DimFlow, Of: OfStructure, Low: -1, High: 2000, Title: "water flow"},
	{Name: CavityPhase, Unit: "deg", Dimension: DimAngle, Of: OfStructure, Form: Angle, Low: -1e5, High: 1e5, Title: "cavity phase"},
	{Name: CavityVoltage, Unit: "MV", Dimension: DimVoltage, Of: OfStructure, Low: 0, High: 500, Title: "cavity voltage"},

	{Name: BeamEnergy, Unit: "MeV", Dimension: DimEnergy, Of: OfWaypoint, Low: 0, High: 1e6, Title: "beam energy"},
	{Name: GalleryTemperature, Unit: "degC", Dimension: DimTemperature, Of: OfMachine, Low: -40, High: 80, Title: "gallery temperature"},
	{Name: GalleryHumidity, Unit: "%", Dimension: DimRatio, Of: OfMachine, Low: 0, High: 100, Title: "gallery humidity"},
	{Name: ReferencePhase, Unit: "deg", Dimension: DimAngle, Of: OfMachine, Form: Angle, Low: -1e5, High: 1e5, Title: "reference-line phase"},
	{Name: BeamCurrent, Unit: "mA", Dimension: DimCurrent, Of: OfMachine, Low: -1e6, High: 1e6, Title: "beam current"},
	{Name: BeamCharge, Unit: "nC", Dimension: DimCharge, Of: OfMachine, Low: -1e4, High: 1e4, Title: "beam charge"},
	{Name: RepetitionRate, Unit: "Hz", Dimension: DimFrequency, Of: OfMachine, Low: 0, High: 1e6, Title: "repetition rate"},
	{Name: LoopTemperature, Unit: "degC", Dimension: DimTemperature, Of: OfLoop, Low: -20, High: 120, Title: "loop temperature"},
	{Name: ValveOpening, Unit: "%", Dimension: DimRatio, Of: OfLoop, Low: -5, High: 105, Title: "valve opening"},
	{Name: HeaterPower, Unit: "kW", Dimension: DimPower, Of: OfLoop, Low: -1, High: 1e4, Title: "heater power"},

	{Name: Microperveance, Unit: "1", Of: OfStation, Derived: true, Title: "microperveance"},
	{Name: Efficiency, Unit: "%", Of: OfStation, Derived: true, Title: "efficiency"},
	{Name: PeakPowerGain, Unit: "1", Of: OfStation, Derived: true, Title: "peak power gain"},
	{Name: EnergyMultiplication, Unit: "1", Of: OfStation, Derived: true, Title: "energy multiplication"},
	{Name: CompressorDetuning, Unit: "kHz", Of: OfStation, Derived: true, Title: "compressor detuning"},
	{Name: CompressorPhase, Unit: "deg", Of: OfStation, Form: Angle, Derived: true, Title: "compressor phase"},
	{Name: ReflectedFraction, Unit: "%", Of: OfStation | OfStructure, Derived: true, Title: "reflected fraction"},
	{Name: PhaseAdvance, Unit: "deg", Of: OfStructure, Form: Angle, Derived: true, Title: "phase advance"},
	{Name: Detuning, Unit: "kHz", Of: OfStructure, Derived: true, Title: "detuning"},
	{Name: EnergyGain, Unit: "MeV", Of: OfStation | OfStructure, Derived: true, Title: "energy gain"},
	{Name: CouplerRatio, Unit: "1", Of: OfStructure, Derived: true, Title: "coupler ratio"},
	{Name: Trips, Unit: "1", Of: OfStation, Derived: true, Title: "trips"},
}

// Quantities returns every known quantity, logged and derived, in the order of a
// power chain from modulator to beam.
func Quantities() []Info { return append([]Info(nil), quantities...) }

const setSuffix = "_set"

// IsSet reports whether q is a set value.
func (q Quantity) IsSet() bool { return strings.HasSuffix(string(q), setSuffix) }

// Base returns the quantity that a set value is the set value of, else q itself.
func (q Quantity) Base() Quantity { return Quantity(strings.TrimSuffix(string(q), setSuffix)) }

// Set returns the quantity that is the set value of q.
func (q Quantity) Set() Quantity {
	if q.IsSet() {
		return q
	}
	return q + setSuffix
}

// InfoAt returns the description of q where it stands at a place of the given
// kind. A set value is described as what it sets. The second result is false
// where q is unknown or cannot stand there.
func (q Quantity) InfoAt(kind PlaceKind) (Info, bool) {
	for _, info := range quantities {
		if info.Name == q.Base() && info.Of&kind != 0 {
			info.Name = q
			return info, true
		}
	}
	return Info{}, false
}

// Info returns the description of q at the first kind of place it can stand at.
func (q Quantity) Info() (Info, bool) {
	return q.InfoAt(OfStation | OfStructure | OfLoop | OfWaypoint | OfMachine)
}
