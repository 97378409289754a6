package sampledata

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

// PlantFiles returns the plant folder of the machine: file name to text.
func (m Machine) PlantFiles() map[string]string {
	files := map[string]string{
		"plant.toml":     m.plantTOML(),
		"stations.csv":   m.stationsCSV(),
		"structures.csv": m.structuresCSV(),
	}
	if len(m.Tolerances) > 0 {
		files["tolerances.csv"] = "quantity,place,basis,drift_limit,act_limit,unit\n" + strings.Join(m.Tolerances, "\n") + "\n"
	}
	if len(m.Planned) > 0 {
		files["planned.csv"] = m.plannedCSV()
	}
	return files
}

// WritePlant writes the plant folder of the machine into dir, which it makes
// where needed.
func (m Machine) WritePlant(dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("write plant: %w", err)
	}
	for name, text := range m.PlantFiles() {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			return fmt.Errorf("write plant: %w", err)
		}
	}
	return nil
}

func (m Machine) plantTOML() string {
	var b strings.Builder
	fmt.Fprintf(&b, "name = %q\n", m.Name)
	fmt.Fprintf(&b, "frequency_MHz = %s\n", decimal(m.FrequencyMHz))
	fmt.Fprintf(&b, "repetition_rate_Hz = %s\n", decimal(m.RepetitionRateHz))
	fmt.Fprintf(&b, "time_zone = %q\n", m.TimeZone)
	fmt.Fprintf(&b, "injection_energy_MeV = %s\n", decimal(m.InjectionEnergyMeV))
	fmt.Fprintf(&b, "expansion_per_K = %s\n", decimal(m.ExpansionPerK))
	for _, w := range m.Waypoints {
		fmt.Fprintf(&b, "\n[[waypoint]]\nname = %q\nafter_station = %q\nrequired_energy_MeV = %s\ntolerance_percent = %s\n",
			w.Name, w.AfterStation, decimal(w.RequiredEnergyMeV), decimal(w.TolerancePercent))
		if w.R56mm != 0 {
			fmt.Fprintf(&b, "r56_mm = %s\n", decimal(w.R56mm))
		}
	}
	return b.String()
}

func (m Machine) stationsCSV() string {
	var b strings.Builder
	b.WriteString("station,rated_power_MW,microperveance,efficiency,drift_length_m,rf_pulse_us,phase_flip_us," +
		"compressor_q0,compressor_beta,compressor_tuned_degC,waveguide_loss_dB,crest_offset_deg,spare," +
		"conditioned_power_MW,drive_saturation_W,phase_pushing_deg_per_percent,water_loop,trips_per_day\n")
	for _, s := range m.Stations {
		spare := "no"
		if s.Spare {
			spare = "yes"
		}
		row := []string{s.Name, decimal(s.RatedPowerMW), decimal(s.Microperveance), decimal(s.Efficiency),
			decimal(s.DriftLengthM), decimal(s.RFPulseUs), given(s.PhaseFlipUs), given(s.CompressorQ0),
			given(s.CompressorBeta), given(s.CompressorTunedDegC), decimal(s.WaveguideLossDB),
			decimal(s.CrestOffsetDeg), spare, decimal(s.ConditionedPowerMW), decimal(s.DriveSaturationW),
			given(s.PhasePushingDegPerPercent), s.WaterLoop, decimal(s.TripsPerDay)}
		b.WriteString(strings.Join(row, ",") + "\n")
	}
	return b.String()
}

func (m Machine) structuresCSV() string {
	var b strings.Builder
	b.WriteString("structure,station,kind,length_m,shunt_impedance_MOhm_per_m,attenuation_Np,filling_time_us," +
		"power_share,tuned_water_degC,tuned_phase_deg,heating_K_per_kW,water_loop,thermal_time_min," +
		"tuned_phase_error_deg,unloaded_q,coupling_beta,shunt_impedance_MOhm\n")
	for _, s := range m.Structures {
		row := []string{s.Name, s.Station, s.Kind, given(s.LengthM), given(s.ShuntImpedanceMOhmPerM),
			given(s.AttenuationNp), given(s.FillingTimeUs), decimal(s.PowerShare), decimal(s.TunedWaterDegC),
			decimal(s.TunedPhaseDeg), decimal(s.HeatingKPerKW), s.WaterLoop, given(s.ThermalTimeMin),
			decimal(s.TunedPhaseErrorDeg), given(s.UnloadedQ), given(s.CouplingBeta), given(s.CavityShuntMOhm)}
		b.WriteString(strings.Join(row, ",") + "\n")
	}
	return b.String()
}

func (m Machine) plannedCSV() string {
	var b strings.Builder
	b.WriteString("from,to,place,note\n")
	for _, p := range m.Planned {
		fmt.Fprintf(&b, "%s,%s,%s,%q\n", p.From.UTC().Format(time.RFC3339), p.To.UTC().Format(time.RFC3339), p.Place, p.Note)
	}
	return b.String()
}

func decimal(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// given writes a value that zero stands for the absence of.
func given(v float64) string {
	if v == 0 {
		return ""
	}
	return decimal(v)
}
