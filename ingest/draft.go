package ingest

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/gocarina/gocsv"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

// DraftPlant writes a plant folder to start from into dir, which must be new or
// empty. Its places are those that a log names, else an example. What a person
// must fill in stands as ?, and what is only guessed begins with ?: OpenPlant tells
// of each until it is gone. A README.md beside explains every column.
func DraftPlant(dir string, log *series.Log) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("draft plant: %w", err)
	}
	there, err := os.ReadDir(dir)
	if err != nil {
		return fmt.Errorf("draft plant: %w", err)
	}
	if len(there) > 0 {
		return fmt.Errorf("draft plant: %s is not empty: name a new folder, so that nothing in it is lost", dir)
	}
	files, err := draftFiles(log)
	if err != nil {
		return fmt.Errorf("draft plant: %w", err)
	}
	for _, file := range files {
		if err := writeNew(filepath.Join(dir, file.name), file.text); err != nil {
			return fmt.Errorf("draft plant: %w", err)
		}
	}
	return nil
}

type draftFile struct{ name, text string }

// writeNew writes a file that was not there before.
func writeNew(path, text string) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, fs.FileMode(0o644))
	if err != nil {
		return err
	}
	_, err = f.WriteString(text)
	return errors.Join(err, f.Close())
}

func draftFiles(log *series.Log) ([]draftFile, error) {
	found := foundIn(log)
	stations, structures := found.stationRows(), found.structureRows()
	tables := []struct {
		file string
		rows any
	}{
		{stationTable.file, &stations},
		{structureTable.file, &structures},
		{toleranceTable.file, &[]toleranceRow{}},
		{plannedTable.file, &[]plannedRow{}},
	}
	if rules := found.columnRows(); len(rules) > 0 {
		tables = append(tables, struct {
			file string
			rows any
		}{columnTable.file, &rules})
	}
	files := []draftFile{{plantTOMLFile, found.plantTOML()}, {"README.md", found.readme()}}
	for _, table := range tables {
		text, err := gocsv.MarshalString(table.rows)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", table.file, err)
		}
		files = append(files, draftFile{table.file, text})
	}
	return files, nil
}

var mark = entry{text: notFilledIn}

func words(text string) entry { return entry{text: text} }

// guess marks a value that a person must check.
func guess(text string) entry { return entry{text: notFilledIn + " " + text} }

// stationRows drafts stations.csv: what every station needs is marked, what may be
// left out is left out.
func (f *foundPlaces) stationRows() []stationRow {
	var rows []stationRow
	for _, s := range f.stations {
		row := stationRow{
			Station: words(s.name), RatedPower: mark, Microperveance: mark, Efficiency: mark,
			RFPulse: mark, WaveguideLoss: mark, CrestOffset: guess("0"),
		}
		if s.logs(rf.CompressedPower) || s.logs(rf.CompressorTemperature) {
			row.PhaseFlip, row.CompressorQ0, row.CompressorBeta = mark, mark, mark
		}
		rows = append(rows, row)
	}
	if rows == nil {
		rows = []stationRow{{
			Station: guess("S01"), RatedPower: mark, Microperveance: mark, Efficiency: mark,
			RFPulse: mark, WaveguideLoss: mark, CrestOffset: guess("0"),
		}}
	}
	return rows
}

// structureRows drafts structures.csv. Which station feeds a structure stands in
// no log: it is guessed, and marked as a guess.
func (f *foundPlaces) structureRows() []structureRow {
	fed := f.feedingStations()
	count := map[string]int{}
	for _, station := range fed {
		count[station]++
	}
	var rows []structureRow
	for i, s := range f.structures {
		const three = 1000 // decimals, rounded down so that shares stay within 1
		share := float64(three/count[fed[i]]) / three
		row := structureRow{Structure: words(s.name), Station: guess(fed[i]), PowerShare: guess(strconv.FormatFloat(share, 'g', -1, 64))}
		if s.logs(rf.CavityPhase) || s.logs(rf.CavityVoltage) {
			row.Kind = words(string(rf.StandingWave))
			row.UnloadedQ, row.CouplingBeta, row.CavityShuntMOhms = mark, mark, mark
		} else {
			row.Kind = guess(string(rf.ConstantGradient))
			row.Length, row.ShuntImpedance, row.Attenuation, row.FillingTime = mark, mark, mark, mark
		}
		rows = append(rows, row)
	}
	if rows == nil {
		rows = []structureRow{{
			Structure: guess("A01"), Station: guess(f.stationOr("S01", 0)), Kind: guess(string(rf.ConstantGradient)),
			Length: mark, ShuntImpedance: mark, Attenuation: mark, FillingTime: mark, PowerShare: guess("1"),
		}}
	}
	return rows
}

// columnRows drafts columns.csv where the log has no heading that is understood:
// then each must be told.
func (f *foundPlaces) columnRows() []columnRow {
	if f.understood > 0 {
		return nil
	}
	var rows []columnRow
	for _, c := range f.ignored[:min(len(f.ignored), tableRowLimit)] {
		rows = append(rows, columnRow{Column: words(c.Header), Place: mark, Quantity: mark})
	}
	return rows
}

// plantTOML drafts plant.toml, with the meaning of each key above it.
func (f *foundPlaces) plantTOML() string {
	var b strings.Builder
	b.WriteString("# Fill in every \"?\". Numbers stand without quotes, words in quotes. See README.md.\n")
	guesses := map[string]string{"time_zone": f.zone, "repetition_rate_Hz": f.repetitionRate}
	for _, spec := range plantKeys {
		fmt.Fprintf(&b, "\n# %s\n", spec.about)
		value := notFilledIn
		if known := guesses[spec.name]; known != "" {
			value = guess(known).text
		}
		if spec.optional {
			b.WriteString("# ")
		}
		fmt.Fprintf(&b, "%s = %q\n", spec.name, value)
	}
	b.WriteString("\n# One section for each energy that must be met, in beam order.\n")
	waypoints := []string{guess("end").text}
	if len(f.waypoints) > 0 {
		waypoints = nil
		for _, w := range f.waypoints {
			waypoints = append(waypoints, w.name)
		}
	}
	for _, name := range waypoints {
		values := map[string]string{"name": name, "after_station": guess(f.stationOr("S01", len(f.stations)-1)).text}
		b.WriteString("\n[[waypoint]]\n")
		for _, spec := range waypointKeys {
			value, known := values[spec.name]
			if !known {
				value = notFilledIn
			}
			if spec.optional {
				b.WriteString("# ")
			}
			fmt.Fprintf(&b, "%s = %q # %s\n", spec.name, value, spec.about)
		}
	}
	return b.String()
}
