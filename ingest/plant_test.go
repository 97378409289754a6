package ingest

import (
	"math"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/google/go-cmp/cmp"

	"dawncrest/rf"
)

// goodPlant is a small invented linac in which nothing is wrong.
var goodPlant = map[string]string{
	"plant.toml": `name = "Harrow Fen injector"
frequency_MHz = 2856
repetition_rate_Hz = 50
time_zone = "Europe/Zurich"
injection_energy_MeV = 4.5
beam_current_mA = 120

[[waypoint]]
name = "chicane"
after_station = "S01"
required_energy_MeV = 60
tolerance_percent = 0.5
r56_mm = -42

[[waypoint]]
name = "end"
after_station = "S02"
required_energy_MeV = 180
tolerance_percent = 0.25
`,
	"stations.csv": `station,rated_power_MW,microperveance,efficiency,drift_length_m,rf_pulse_us,phase_flip_us,compressor_q0,compressor_beta,compressor_tuned_degC,waveguide_loss_dB,crest_offset_deg,spare,conditioned_power_MW,water_loop
S01,25,2.05,0.42,0.5,3.5,,,,,0.4,-20,no,,
S02,45,1.95,0.45,,3.5,2.5,100000,5,38.5,0.3,0,,42,K1
`,
	"structures.csv": `structure,station,kind,length_m,shunt_impedance_MOhm_per_m,attenuation_Np,filling_time_us,power_share,tuned_water_degC,tuned_phase_deg,heating_K_per_kW,water_loop,thermal_time_min,kHz_per_K,tuned_phase_error_deg,tuned_phase_on,frequency_MHz,unloaded_q,coupling_beta,shunt_impedance_MOhm
B1,S01,standing_wave,,,,,0.1,40,,,,,,,,,13000,1.2,3
A1,S01,constant_impedance,2.7,54,0.55,0.8,0.9,40.5,-35,1.4,,6,-47.5,3,2026-01-20,,,,
A2,S02,constant_gradient,2.7,54,0.55,0.8,0.5,,,,W1,,,,,,,,
A3,S02,constant_gradient,2.7,54,0.55,0.8,0.5,,,,W1,,,,,2855.9,,,
`,
	"tolerances.csv": `quantity,place,basis,drift_limit,act_limit,unit
forward_power,,relative,1,4,%
forward_power,S02,relative,1.5,6,%
beam_voltage,,change,1000,2500,V
loop_temperature,W1,change,0.1,0.4,K
`,
	"planned.csv": `from,to,place,note
2026-02-17 23:30,2026-02-18 00:10,S02,fan change
2026-02-18T05:00:00Z,2026-02-18T06:30:00+01:00,,"access, two people"
`,
	"columns.csv": `column,place,quantity,unit,scale,offset
Klystron * P_fwd,,forward_power,kW,,
Gallery T,machine,gallery_temperature,degC,0.1,-5
`,
}

// withEdit returns the good plant with text replaced in one file. Replacing
// everything is replacing "".
func withEdit(t *testing.T, file, from, to string) map[string]string {
	t.Helper()
	files := map[string]string{}
	for name, text := range goodPlant {
		files[name] = text
	}
	switch {
	case from == "":
		files[file] = to
	case !strings.Contains(files[file], from):
		t.Fatalf("%s does not hold %q", file, from)
	default:
		files[file] = strings.Replace(files[file], from, to, 1)
	}
	return files
}

func openFiles(files map[string]string) (PlantFolder, error) {
	fsys := fstest.MapFS{}
	for name, text := range files {
		fsys[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return OpenPlantFS(fsys, "plant")
}

// samePlant compares numbers that are equal but for the rounding of a scale such
// as 1e-6, or both unknown, and zones by their names.
var samePlant = cmp.Options{
	sameNumber[float64](), sameNumber[rf.Power](), sameNumber[rf.Current](), sameNumber[rf.Frequency](),
	sameNumber[rf.Phase](), sameNumber[rf.Energy](), sameNumber[rf.Temperature](), sameNumber[rf.Interval](),
	cmp.Comparer(func(a, b *time.Location) bool { return a.String() == b.String() }),
}

func sameNumber[T ~float64]() cmp.Option {
	return cmp.Comparer(func(a, b T) bool {
		x, y := float64(a), float64(b)
		return math.IsNaN(x) && math.IsNaN(y) || math.Abs(x-y) <= 4e-16*math.Abs(x)
	})
}

func TestOpenPlantReadsEveryEntry(t *testing.T) {
	got, err := openFiles(goodPlant)
	if err != nil {
		t.Fatal(err)
	}
	zone, err := time.LoadLocation("Europe/Zurich")
	if err != nil {
		t.Fatal(err)
	}
	nan := math.NaN()
	want := &rf.Plant{
		Name: "Harrow Fen injector", Frequency: 2.856e9, RepetitionRate: 50, Zone: zone,
		InjectionEnergy: 4.5e6, ExpansionPerK: rf.DefaultExpansionPerK, BeamCurrent: 0.12,
		Waypoints: []rf.Waypoint{
			{Name: "chicane", AfterStation: "S01", Required: 60e6, TolerancePercent: 0.5, R56M: -0.042},
			{Name: "end", AfterStation: "S02", Required: 180e6, TolerancePercent: 0.25, R56M: nan},
		},
		Stations: []rf.Station{{
			Name: "S01", RatedPower: 25e6, Microperveance: 2.05, Efficiency: 0.42, DriftLengthM: 0.5, RFPulse: 3.5e-6,
			PhaseFlip: rf.Interval(nan), CompressorQ0: nan, CompressorBeta: nan, CompressorTuned: rf.Temperature(nan),
			WaveguideLossDB: 0.4, CrestOffset: -20 * rf.Degree, ConditionedPower: rf.Power(nan), DriveSaturation: rf.Power(nan),
			PhasePushingDegPerPercent: nan, TripsPerDay: nan,
		}, {
			Name: "S02", RatedPower: 45e6, Microperveance: 1.95, Efficiency: 0.45, DriftLengthM: nan, RFPulse: 3.5e-6,
			PhaseFlip: 2.5e-6, CompressorQ0: 100000, CompressorBeta: 5, CompressorTuned: 311.65, WaveguideLossDB: 0.3,
			ConditionedPower: 42e6, DriveSaturation: rf.Power(nan), PhasePushingDegPerPercent: nan, WaterLoop: "K1", TripsPerDay: nan,
		}},
		Structures: []rf.Structure{{
			Name: "B1", Station: "S01", Kind: rf.StandingWave, LengthM: nan, ShuntImpedanceOhmPerM: nan, Attenuation: nan,
			FillingTime: rf.Interval(nan), PowerShare: 0.1, TunedWater: 313.15, TunedPhase: rf.Phase(nan), HeatingKPerKW: nan,
			ThermalTime: rf.Interval(nan), HzPerK: nan, TunedPhaseError: rf.DefaultTunedPhaseError, Frequency: 2.856e9,
			UnloadedQ: 13000, CouplingBeta: 1.2, ShuntImpedanceOhm: 3e6,
		}, {
			Name: "A1", Station: "S01", Kind: rf.ConstantImpedance, LengthM: 2.7, ShuntImpedanceOhmPerM: 54e6, Attenuation: 0.55,
			FillingTime: 0.8e-6, PowerShare: 0.9, TunedWater: 313.65, TunedPhase: -35 * rf.Degree, HeatingKPerKW: 1.4,
			ThermalTime: 360, HzPerK: -47500, TunedPhaseError: 3 * rf.Degree,
			TunedPhaseOn: time.Date(2026, 1, 19, 23, 0, 0, 0, time.UTC), Frequency: 2.856e9,
			UnloadedQ: nan, CouplingBeta: nan, ShuntImpedanceOhm: nan,
		}, {
			Name: "A2", Station: "S02", Kind: rf.ConstantGradient, LengthM: 2.7, ShuntImpedanceOhmPerM: 54e6, Attenuation: 0.55,
			FillingTime: 0.8e-6, PowerShare: 0.5, TunedWater: rf.Temperature(nan), TunedPhase: rf.Phase(nan), HeatingKPerKW: nan,
			WaterLoop: "W1", ThermalTime: rf.Interval(nan), HzPerK: nan, TunedPhaseError: rf.DefaultTunedPhaseError, Frequency: 2.856e9,
			UnloadedQ: nan, CouplingBeta: nan, ShuntImpedanceOhm: nan,
		}, {
			Name: "A3", Station: "S02", Kind: rf.ConstantGradient, LengthM: 2.7, ShuntImpedanceOhmPerM: 54e6, Attenuation: 0.55,
			FillingTime: 0.8e-6, PowerShare: 0.5, TunedWater: rf.Temperature(nan), TunedPhase: rf.Phase(nan), HeatingKPerKW: nan,
			WaterLoop: "W1", ThermalTime: rf.Interval(nan), HzPerK: nan, TunedPhaseError: rf.DefaultTunedPhaseError, Frequency: 2.8559e9,
			UnloadedQ: nan, CouplingBeta: nan, ShuntImpedanceOhm: nan,
		}},
		Tolerances: rf.OverlayTolerances(rf.BuiltInTolerances(), []rf.Tolerance{
			{Quantity: rf.ForwardPower, Basis: rf.Relative, DriftLimit: 1, ActLimit: 4, Unit: "%"},
			{Quantity: rf.ForwardPower, Place: "S02", Basis: rf.Relative, DriftLimit: 1.5, ActLimit: 6, Unit: "%"},
			{Quantity: rf.BeamVoltage, Basis: rf.Change, DriftLimit: 1, ActLimit: 2.5, Unit: "kV"},
			{Quantity: rf.LoopTemperature, Place: "W1", Basis: rf.Change, DriftLimit: 0.1, ActLimit: 0.4, Unit: "K"},
		}),
		Planned: []rf.Planned{
			{From: time.Date(2026, 2, 17, 22, 30, 0, 0, time.UTC), To: time.Date(2026, 2, 17, 23, 10, 0, 0, time.UTC), Place: "S02", Note: "fan change"},
			{From: time.Date(2026, 2, 18, 5, 0, 0, 0, time.UTC), To: time.Date(2026, 2, 18, 5, 30, 0, 0, time.UTC), Note: "access, two people"},
		},
	}
	if diff := cmp.Diff(want, got.Plant, samePlant); diff != "" {
		t.Errorf("plant (-want +got):\n%s", diff)
	}
	rules := []ColumnRule{
		{Column: "Klystron * P_fwd", Quantity: rf.ForwardPower, Unit: "kW", Scale: 1},
		{Column: "Gallery T", Place: "machine", Quantity: rf.GalleryTemperature, Unit: "degC", Scale: 0.1, Offset: -5},
	}
	if diff := cmp.Diff(rules, got.Columns); diff != "" {
		t.Errorf("columns (-want +got):\n%s", diff)
	}
	if len(got.Notices) > 0 {
		t.Errorf("notices on a good plant: %q", got.Notices)
	}
	if got.Dir != "plant" {
		t.Errorf("Dir = %q", got.Dir)
	}
}

func TestOpenPlantForms(t *testing.T) {
	for _, test := range []struct {
		name string
		make func(string) string
	}{
		{"byte-order mark", func(s string) string { return "\ufeff" + s }},
		{"CRLF", func(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") }},
		{"CR only", func(s string) string { return strings.ReplaceAll(s, "\n", "\r") }},
		{"no last line end", func(s string) string { return strings.TrimSuffix(s, "\n") }},
		{"blank lines", func(s string) string { return strings.ReplaceAll(s, "\n", "\n\n") }},
	} {
		want, err := openFiles(goodPlant)
		if err != nil {
			t.Fatal(err)
		}
		files := map[string]string{}
		for name, text := range goodPlant {
			files[name] = test.make(text)
		}
		got, err := openFiles(files)
		if err != nil {
			t.Errorf("%s: %v", test.name, err)
			continue
		}
		if diff := cmp.Diff(want, got, samePlant); diff != "" {
			t.Errorf("%s: %s", test.name, diff)
		}
	}
}

func TestOpenPlantTakesQuotedHeadingsAnyOrderAndSpreadsheetTails(t *testing.T) {
	files := withEdit(t, "tolerances.csv", "", "\"unit\",act_limit , drift_limit,basis,place,quantity,,\n%, 4 ,1,relative,,forward_power,,\n,,,,,,,\n")
	got, err := openFiles(files)
	if err != nil {
		t.Fatal(err)
	}
	limits := rf.TolerancesAt(got.Plant.Tolerances, rf.ForwardPower, "S01")
	if len(limits) != 1 || limits[0].DriftLimit != 1 || limits[0].ActLimit != 4 {
		t.Errorf("limits %+v", limits)
	}
}

func TestOpenPlantLeavesOptionalFilesOut(t *testing.T) {
	files := map[string]string{}
	for _, name := range []string{"plant.toml", "stations.csv", "structures.csv"} {
		files[name] = goodPlant[name]
	}
	got, err := openFiles(files)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(rf.BuiltInTolerances(), got.Plant.Tolerances); diff != "" {
		t.Error(diff)
	}
}
