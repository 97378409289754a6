package rf

// Basis tells how a reading is compared with its limits.
type Basis string

// The bases of a tolerance.
const (
	Relative Basis = "relative" // change in percent of the reference
	Change   Basis = "change"   // change from the reference
	Absolute Basis = "absolute" // the value itself, either sign
	Ratio    Basis = "ratio"    // the value as a multiple of the reference
)

// Tolerance is one row of limits. A value equal to a limit is inside it.
type Tolerance struct {
	Quantity   Quantity
	Place      string // empty: everywhere
	Basis      Basis
	DriftLimit float64
	ActLimit   float64
	Unit       string // of the limits: "%" for relative, "1" for ratio
}

// builtInTolerances cover every quantity on which a verdict is given. They are
// common practice for S-band linacs, chosen so that the drift limit lies well
// above a good station's daily scatter; a plant folder overrides any row.
var builtInTolerances = []Tolerance{
	{BeamVoltage, "", Relative, 0.5, 1.5, "%"},
	{BeamCurrent, "", Relative, 1, 3, "%"},
	{HeaterCurrent, "", Relative, 2, 5, "%"},
	{DrivePower, "", Relative, 5, 15, "%"},
	{DrivePhase, "", Change, 3, 8, "deg"},
	{ForwardPower, "", Relative, 2, 5, "%"},
	{ForwardPhase, "", Change, 3, 8, "deg"},
	{CompressedPower, "", Relative, 3, 8, "%"},
	{CompressorTemperature, "", Change, 0.2, 0.6, "K"},
	{VacuumPressure, "", Ratio, 3, 10, "1"},
	{VacuumPressure, "", Absolute, 1e-7, 1e-6, "mbar"},
	{PulseFlatness, "", Change, 0.3, 1, "%"},
	{InputPower, "", Relative, 3, 8, "%"},
	{InputPhase, "", Change, 4, 10, "deg"},
	{OutputPower, "", Relative, 3, 8, "%"},
	{WaterTemperature, "", Change, 0.2, 0.5, "K"},
	{ReturnTemperature, "", Change, 0.3, 0.8, "K"},
	{BodyTemperature, "", Change, 0.2, 0.6, "K"},
	{WaterFlow, "", Relative, 5, 15, "%"},
	{CavityPhase, "", Change, 3, 8, "deg"},
	{CavityVoltage, "", Relative, 2, 5, "%"},
	{BeamEnergy, "", Relative, 0.3, 1, "%"},
	{GalleryTemperature, "", Change, 2, 5, "K"},
	{GalleryHumidity, "", Change, 20, 40, "%"},
	{ReferencePhase, "", Change, 3, 8, "deg"},
	{BeamCharge, "", Relative, 10, 30, "%"},
	{LoopTemperature, "", Change, 0.2, 0.5, "K"},
	{ValveOpening, "", Absolute, 90, 97, "%"},
	{Microperveance, "", Relative, 1.5, 4, "%"},
	{Efficiency, "", Relative, 3, 8, "%"},
	{PeakPowerGain, "", Relative, 3, 8, "%"},
	{EnergyMultiplication, "", Relative, 3, 8, "%"},
	{CompressorDetuning, "", Change, 10, 30, "kHz"},
	{CompressorPhase, "", Change, 4, 10, "deg"},
	{ReflectedFraction, "", Change, 1.5, 5, "%"},
	{PhaseAdvance, "", Change, 3, 8, "deg"},
	{Detuning, "", Absolute, 10, 30, "kHz"},
	{EnergyGain, "", Relative, 1, 3, "%"},
	{CouplerRatio, "", Relative, 3, 8, "%"},
	{Trips, "", Absolute, 4, 12, "1"},
}

// BuiltInTolerances returns the limits that hold where a plant folder says
// nothing else.
func BuiltInTolerances() []Tolerance { return append([]Tolerance(nil), builtInTolerances...) }

// OverlayTolerances lays rows over base: a row replaces the one of the same
// quantity, place and basis, else it is added.
func OverlayTolerances(base, rows []Tolerance) []Tolerance {
	merged := append([]Tolerance(nil), base...)
next:
	for _, row := range rows {
		for i, old := range merged {
			if old.Quantity == row.Quantity && old.Place == row.Place && old.Basis == row.Basis {
				merged[i] = row
				continue next
			}
		}
		merged = append(merged, row)
	}
	return merged
}

// TolerancesAt returns the limits that hold for a quantity at a place: those
// that name the place, else those for everywhere.
func TolerancesAt(all []Tolerance, q Quantity, place string) []Tolerance {
	var named, general []Tolerance
	for _, t := range all {
		switch {
		case t.Quantity != q:
		case t.Place == place && place != "":
			named = append(named, t)
		case t.Place == "":
			general = append(general, t)
		}
	}
	if named != nil {
		return named
	}
	return general
}
