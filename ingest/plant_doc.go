package ingest

import "dawncrest/rf"

// PlantFolder is a plant folder, read and checked.
//
// # The plant folder
//
// A plant folder describes one linac: plant.toml and tables beside it, as text in
// UTF-8. The tables are CSV as RFC 4180 has it: commas between cells, decimal
// points, quotes around a cell that holds a comma; the first line names the
// columns, in any order, and their units. Numbers are written with
// digits, sign, decimal point and exponent. An empty cell is a value that is not
// given, never 0. A cell that begins with ? is not filled in yet.
//
// A name is told apart letter by letter, and no two places share one, be they
// stations, structures, water loops or waypoints. It stands before the quantity in
// the log's headings ("S03 forward_power [MW]"), so it holds none of the characters
// [ ] " , ; | * and no blank before or after it. "machine" stands for the whole
// machine.
//
// Everything is checked before anything is used, and all that is wrong is told at
// once: file, line, column, what is wrong, what would be right.
//
// # plant.toml
//
//	name                  of the linac
//	frequency_MHz         drive frequency
//	repetition_rate_Hz    RF pulses per second
//	time_zone             IANA name, such as "Europe/Lisbon"
//	injection_energy_MeV  of the beam before the first station
//	expansion_per_K       linear, of the structures; optional, copper if left out
//	beam_current_mA       averaged over the RF pulse, without sign; optional, 0
//	phase_sampling        optional: "same_wave_front" (output phase taken one filling
//	                      time after the input phase) or "same_time"
//
// and for each energy that must be met a section [[waypoint]]:
//
//	name
//	after_station         the last station before it
//	required_energy_MeV
//	tolerance_percent
//	r56_mm                optional: a bunch compressor stands there
//
// # stations.csv, in beam order
//
//	station                        name
//	rated_power_MW                 peak RF power of the klystron
//	microperveance                 beam current / beam voltage^1.5, times 1e6
//	efficiency                     RF power over beam power, 0 to 1
//	drift_length_m                 input gap to output gap of the klystron; may be empty
//	rf_pulse_us                    length of the RF pulse
//	phase_flip_us                  start of the pulse to phase reversal; empty: no compressor
//	compressor_q0                  unloaded quality factor; with phase_flip_us only
//	compressor_beta                coupling factor; with phase_flip_us only
//	compressor_tuned_degC          temperature on tune; may be empty
//	waveguide_loss_dB              klystron to compressor or splitter
//	crest_offset_deg               beam phase from the crest, positive where the beam is later
//	spare                          optional: yes for a hot spare, which makes no energy now
//	conditioned_power_MW           optional: the most it has held without trips
//	drive_saturation_W             optional
//	phase_pushing_deg_per_percent  optional: measured; else from the drift length
//	water_loop                     optional: the loop that tunes the compressor
//	trips_per_day                  optional: its usual rate
//
// # structures.csv
//
//	structure                   name
//	station                     that feeds it
//	kind                        constant_gradient, constant_impedance or standing_wave
//	length_m                    active length
//	shunt_impedance_MOhm_per_m  effective
//	attenuation_Np              one-way, of the field
//	filling_time_us
//	power_share                 of the station's power, 0 to 1; at most 1 in all
//	tuned_water_degC            inlet water that tunes it at normal power; may be empty
//	tuned_phase_deg             output minus input phase when on tune; may be empty
//	heating_K_per_kW            body above inlet per kilowatt lost in the copper; may be empty
//	water_loop                  optional: of structures that share one; else each its own
//	thermal_time_min            optional: else fitted to the log
//	kHz_per_K                   optional: measured, negative; else from expansion
//	tuned_phase_error_deg       optional: of tuned_phase_deg, one sigma, 2 if left out
//	tuned_phase_on              optional: the day tuned_phase_deg was measured
//	frequency_MHz               optional: its own, where it is not the linac's
//	unloaded_q                  standing_wave only
//	coupling_beta               standing_wave only
//	shunt_impedance_MOhm        standing_wave only: effective, of the whole cavity
//
// A travelling-wave structure needs length, shunt impedance per metre, attenuation
// and filling time. A standing_wave structure (gun, buncher, ring cavity) needs
// unloaded_q, coupling_beta and shunt_impedance_MOhm and may leave those empty.
//
// # tolerances.csv, optional
//
// A built-in set of limits covers every quantity. A row replaces the built-in one
// of the same quantity, place and basis, or is added.
//
//	quantity     as in the log's headings, or derived: microperveance, efficiency,
//	             peak_power_gain, energy_multiplication, compressor_detuning,
//	             compressor_phase, reflected_fraction, phase_advance, detuning,
//	             energy_gain, coupler_ratio, trips
//	place        empty: everywhere; a named place goes before
//	basis        relative (percent of the reference), change (from the reference),
//	             absolute (the value itself), ratio (times the reference)
//	drift_limit  a value equal to a limit is inside it
//	act_limit    at least the drift_limit
//	unit         % for relative, 1 for ratio, else any unit of the quantity's kind
//
// # planned.csv, optional
//
// Stops, access days and conditioning, which are no gaps, trips or drift.
//
//	from   2026-03-01 06:00 in the plant's time zone, or 2026-03-01T06:00:00+01:00
//	to
//	place  empty: the whole machine
//	note
//
// # columns.csv, optional
//
// For logs without native headings.
//
//	column    the heading as it stands, or with one * in the place of the place
//	place     empty where the heading has a *
//	quantity  that the column measures
//	unit      empty: the quantity's own
//	scale     a reading is multiplied by it; empty: 1
//	offset    and this is added, in the unit; empty: 0
type PlantFolder struct {
	Plant   *rf.Plant
	Columns []ColumnRule // for logs without native headings
	Dir     string
	Notices []string // what is allowed and still worth a look
}
