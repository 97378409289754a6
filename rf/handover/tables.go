package handover

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"

	"github.com/gocarina/gocsv"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

// Table is one table of a report for a spreadsheet.
type Table struct {
	Name string // of its file: stations.csv
	rows any    // a slice of rows with gocsv tags
}

// Tables returns the tables of a report. Column names carry the unit; an empty
// cell is a value that is not known.
func Tables(r *review.Report) []Table {
	return []Table{
		{"waypoints.csv", each(r.Waypoints, waypointRowOf)},
		{"stations.csv", each(r.Stations, stationRowOf)},
		{"structures.csv", each(r.Structures, structureRowOf)},
		{"findings.csv", each(r.Findings, findingRowOf)},
		{"without_station.csv", withoutRows(r)},
	}
}

// WriteCSV writes the table with a header. A text that a spreadsheet would run
// as a formula is marked as text; numbers stay numbers.
func (t Table) WriteCSV(w io.Writer) error { return gocsv.Marshal(t.rows, w) }

// WriteTables writes all tables of a report into a folder, which is made where
// it is not there. Files that are there already are kept, with an error, unless
// replace is set.
func WriteTables(dir string, r *review.Report, replace bool) error {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return writeFailure(dir, err)
	}
	tables := Tables(r)
	for _, t := range tables {
		if err := Writable(filepath.Join(dir, t.Name), replace); err != nil {
			return err
		}
	}
	for _, t := range tables {
		var b bytes.Buffer
		if err := t.WriteCSV(&b); err != nil {
			return fmt.Errorf("make table %s: %w", t.Name, err)
		}
		if err := WriteFile(filepath.Join(dir, t.Name), b.Bytes(), replace); err != nil {
			return err
		}
	}
	return nil
}

// MarshalCSV writes the number in full, and nothing where it is not known.
func (f figure) MarshalCSV() (string, error) {
	v := float64(f)
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "", nil
	}
	if v == 0 {
		return "0", nil
	}
	return strconv.FormatFloat(v, 'g', 9, 64), nil
}

// cellText is text in a cell of a table.
type cellText string

// runsAsFormula matches text that some spreadsheet takes for a formula: at the
// start of a cell, also in full-width letters, and after a separator at which
// another locale would split the line.
//
// Source: OWASP, CSV Injection, from memory.
var runsAsFormula = regexp.MustCompile(`(^|;)(\s*[=+\-@\x{FF1D}\x{FF0B}\x{FF0D}\x{FF20}])`)

// MarshalCSV writes the text so that no spreadsheet runs it: an apostrophe is
// the spreadsheets' own mark for text.
func (t cellText) MarshalCSV() (string, error) {
	return runsAsFormula.ReplaceAllString(clean(string(t)), "$1'$2"), nil
}

type waypointRow struct {
	Waypoint    cellText `csv:"waypoint"`
	Verdict     cellText `csv:"verdict"`
	Required    figure   `csv:"required_MeV"`
	Budget      figure   `csv:"budget_MeV"`
	BudgetError figure   `csv:"budget_error_MeV"`
	Measured    figure   `csv:"measured_MeV"`
	Margin      figure   `csv:"margin_percent"`
	Closure     figure   `csv:"closure_percent"`
	Arrival     figure   `csv:"arrival_shift_ps"`
	Compression figure   `csv:"bunch_compression_change_percent"`
}

func waypointRowOf(p review.WaypointResult) waypointRow {
	o := waypointObject(p)
	return waypointRow{
		cellText(p.Waypoint), cellText(p.Verdict.Words()), o.Required, o.Budget, in(p.BudgetError, rf.Megaelectronvolt),
		o.Measured, o.Margin, o.Closure, o.Arrival, o.Compression,
	}
}

type stationRow struct {
	Station              cellText `csv:"station"`
	Verdict              cellText `csv:"verdict"`
	Gain                 figure   `csv:"energy_gain_MeV"`
	GainReference        figure   `csv:"energy_gain_reference_MeV"`
	PeakPowerGain        figure   `csv:"peak_power_gain"`
	PeakPowerGainDesign  figure   `csv:"peak_power_gain_design"`
	EnergyMultiplication figure   `csv:"energy_multiplication"`
	CompressorDetuning   figure   `csv:"compressor_detuning_kHz"`
	Microperveance       figure   `csv:"microperveance"`
	Efficiency           figure   `csv:"efficiency_percent"`
	ReflectedFraction    figure   `csv:"reflected_fraction_percent"`
	Trips                int      `csv:"trips"`
	TripsPerDay          figure   `csv:"trips_per_day"`
	TripsPerDayLow       figure   `csv:"trips_per_day_ci95_low"`
	TripsPerDayHigh      figure   `csv:"trips_per_day_ci95_high"`
	OnPercent            figure   `csv:"rf_on_percent"`
}

func stationRowOf(s review.StationResult) stationRow {
	o := stationObject(s)
	return stationRow{
		cellText(s.Station), cellText(s.Verdict.Words()), o.Gain, o.GainReference, o.PeakPowerGain, o.PeakPowerGainDesign,
		o.EnergyMultiplication, o.CompressorDetuning, o.Microperveance, o.Efficiency, o.ReflectedFraction,
		s.Trips, figure(s.TripsPerDay[0]), figure(s.TripsPerDay[1]), figure(s.TripsPerDay[2]), o.OnPercent,
	}
}

type structureRow struct {
	Structure       cellText `csv:"structure"`
	Station         cellText `csv:"station"`
	Loop            cellText `csv:"water_loop"`
	Verdict         cellText `csv:"verdict"`
	Detuning        figure   `csv:"detuning_kHz"`
	DetuningLow     figure   `csv:"detuning_ci95_low_kHz"`
	DetuningHigh    figure   `csv:"detuning_ci95_high_kHz"`
	From            cellText `csv:"detuning_from"`
	PhaseSlip       figure   `csv:"phase_slip_deg"`
	EnergyLoss      figure   `csv:"energy_loss_MeV"`
	WonByWater      figure   `csv:"won_by_water_MeV"`
	WonByPhase      figure   `csv:"won_by_phase_MeV"`
	WaterChange     figure   `csv:"water_change_K"`
	WaterChangeLow  figure   `csv:"water_change_ci95_low_K"`
	WaterChangeHigh figure   `csv:"water_change_ci95_high_K"`
	Advice          cellText `csv:"advice"`
	Reason          cellText `csv:"reason"`
}

func structureRowOf(s review.StructureResult) structureRow {
	o := structureObject(s)
	from := "tune"
	if s.Relative {
		from = "reference"
	}
	return structureRow{
		cellText(s.Structure), cellText(s.Station), cellText(s.Loop), cellText(s.Verdict.Words()), o.Detuning, o.DetuningCI[0], o.DetuningCI[1],
		cellText(from), o.PhaseSlip, o.EnergyLoss, in(s.WonByWater, rf.Megaelectronvolt), in(s.WonByPhase, rf.Megaelectronvolt),
		o.WaterChange, o.WaterChangeCI[0], o.WaterChangeCI[1], cellText(s.Advice), cellText(s.Reason),
	}
}

type findingRow struct {
	Place      cellText `csv:"place"`
	Cause      cellText `csv:"cause"`
	Likely     bool     `csv:"likely"`
	Verdict    cellText `csv:"verdict"`
	Quantity   cellText `csv:"quantity"`
	Since      cellText `csv:"since_utc"`
	Change     figure   `csv:"change"`
	Unit       cellText `csv:"unit"`
	SlopePerH  figure   `csv:"slope_per_h"`
	ReachesAct cellText `csv:"reaches_limit_at_utc"`
	EnergyCost figure   `csv:"energy_cost_MeV"`
	Message    cellText `csv:"message"`
	Advice     cellText `csv:"advice"`
	Evidence   cellText `csv:"evidence"`
}

func findingRowOf(f review.Finding) findingRow {
	o := findingObject(f)
	return findingRow{
		cellText(f.Place), cellText(f.Cause), f.Likely, cellText(f.Verdict.Words()), cellText(f.Quantity), cellText(o.Since), o.Change, cellText(f.Unit),
		o.SlopePerH, cellText(o.ReachesLimit), o.EnergyCost, cellText(f.Message), cellText(f.Advice), cellText(strings.Join(cleanAll(f.Evidence), " | ")),
	}
}

type withoutRow struct {
	Waypoint cellText `csv:"waypoint"`
	Station  cellText `csv:"without_station"`
	Margin   figure   `csv:"margin_percent"`
	Closes   bool     `csv:"closes"`
	MadeUpBy cellText `csv:"made_up_by"`
}

func withoutRows(r *review.Report) []withoutRow {
	rows := []withoutRow{}
	for _, p := range r.Waypoints {
		for _, w := range p.Without {
			o := withoutObject(w)
			rows = append(rows, withoutRow{cellText(p.Waypoint), cellText(w.Station), o.Margin, w.Closes, cellText(strings.Join(o.MadeUpBy, " "))})
		}
	}
	return rows
}
