package ingest

import (
	"encoding/csv"
	"errors"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

// draftLog is the account of a log with two stations, one with a compressor, four
// structures of which one is a cavity, and other places.
func draftLog() *series.Log {
	columns := []series.Column{
		{ColumnName: &series.ColumnName{Header: "Room 4 pressure", Guess: "did you mean vacuum_pressure?"}},
		{ColumnName: &series.ColumnName{Header: "esc\x1b[2J"}},
	}
	log := func(place string, quantities ...rf.Quantity) {
		for _, q := range quantities {
			columns = append(columns, series.Column{ColumnName: &series.ColumnName{Header: place + " " + string(q), Place: place, Quantity: q}, Mean: 50})
		}
	}
	log("S01", rf.BeamVoltage, rf.ForwardPower)
	log("S02", rf.ForwardPower, rf.CompressedPower, rf.DrivePhase.Set())
	log("gun", rf.ForwardPower, rf.CavityPhase)
	log("S01A", rf.InputPhase, rf.OutputPhase)
	log("S02A", rf.InputPhase, rf.OutputPhase)
	log("S02B", rf.InputPhase, rf.WaterTemperature)
	log("W1", rf.LoopTemperature)
	log("chicane", rf.BeamEnergy)
	log("machine", rf.RepetitionRate, rf.GalleryTemperature)
	log("both", rf.BeamVoltage, rf.InputPhase)
	log("a[1]", rf.BeamVoltage)
	return &series.Log{Files: []series.File{{Name: "night.csv", Zone: "Europe/Zurich", Columns: columns}}}
}

// fills are what a person might write for each mark.
var fills = map[string]string{
	"name": "Harrow Fen", "frequency_MHz": "2856", "repetition_rate_Hz": "50", "time_zone": "Europe/Zurich", "injection_energy_MeV": "5",
	"required_energy_MeV": "120", "tolerance_percent": "0.5",
	"rated_power_MW": "40", "microperveance": "2", "efficiency": "0.42", "rf_pulse_us": "3.5", "phase_flip_us": "2.5",
	"compressor_q0": "100000", "compressor_beta": "5", "waveguide_loss_dB": "0.3",
	"length_m": "2.7", "shunt_impedance_MOhm_per_m": "54", "attenuation_Np": "0.55", "filling_time_us": "0.8",
	"unloaded_q": "13000", "coupling_beta": "1.2", "shunt_impedance_MOhm": "3",
	"place": "S01", "quantity": "forward_power",
}

// fillMark returns what stands where a mark stood: the guess after it, else the fill.
func fillMark(t *testing.T, column, text string) string {
	guess, marked := strings.CutPrefix(text, notFilledIn)
	switch guess = strings.TrimSpace(guess); {
	case !marked:
		return text
	case guess != "":
		return guess
	case fills[column] == "":
		t.Errorf("nothing to fill %s with", column)
	}
	return fills[column]
}

// fillIn does to a drafted folder what a person does.
func fillIn(t *testing.T, dir string) {
	t.Helper()
	tables, err := filepath.Glob(filepath.Join(dir, "*.csv"))
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range tables {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(strings.NewReader(string(text))).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range rows[1:] {
			for i := range row {
				row[i] = fillMark(t, rows[0][i], row[i])
			}
		}
		var b strings.Builder
		if err := errors.Join(csv.NewWriter(&b).WriteAll(rows), os.WriteFile(path, []byte(b.String()), 0o600)); err != nil {
			t.Fatal(err)
		}
	}
	path := filepath.Join(dir, plantTOMLFile)
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	number := regexp.MustCompile(`_(MHz|Hz|MeV|percent) = "([0-9.]+)"`)
	whole := regexp.MustCompile(`(?m)^(\w+) = "(\?[^"]*)"`).ReplaceAllStringFunc(string(text), func(line string) string {
		key, value, _ := strings.Cut(line, " = ")
		return key + ` = "` + fillMark(t, key, strings.Trim(value, `"`)) + `"`
	})
	if err := os.WriteFile(path, []byte(number.ReplaceAllString(whole, `_$1 = $2`)), 0o600); err != nil {
		t.Fatal(err)
	}
}

func TestDraftPlantLoadsOnceItIsFilledIn(t *testing.T) {
	foreign := &series.Log{Files: []series.File{{Columns: []series.Column{{ColumnName: &series.ColumnName{Header: "P1 kw"}}, {ColumnName: &series.ColumnName{Header: `U, "kV"`, Place: logPlace, Quantity: `U, "kV"`}}}}}}
	for _, test := range []struct {
		name                 string
		log                  *series.Log
		marks                int
		stations, structures string
		fill                 map[string]string
	}{
		// 5 in plant.toml, 4 for its waypoint, 7 for a station, 8 for a structure.
		{name: "no log", marks: 5 + 4 + 7 + 8, stations: "S01", structures: "A01/S01"},
		// The two foreign columns lack place and quantity each.
		{name: "foreign log", log: foreign, marks: 5 + 4 + 7 + 8 + 4, stations: "S01", structures: "A01/S01"},
		// The waypoint is named; stations are, one with three more marks for its
		// compressor; three structures with 7 marks, a cavity with 5.
		{name: "log", log: draftLog(), marks: 5 + 3 + 6 + 9 + 3*7 + 5, stations: "S01 S02", structures: "gun/S01 S01A/S01 S02A/S02 S02B/S02"},
	} {
		t.Run(test.name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "new", "plant")
			if err := DraftPlant(dir, test.log); err != nil {
				t.Fatal(err)
			}
			_, err := OpenPlant(dir)
			var faults PlantFaults
			if !errors.As(err, &faults) || len(faults) != test.marks {
				t.Errorf("%d marks, want %d:\n%v", len(faults), test.marks, err)
			}
			for _, fault := range faults {
				if fault.Row == 0 || fault.Wrong != "not filled in yet" {
					t.Errorf("%v", fault)
				}
			}
			fillIn(t, dir)
			if test.name == "foreign log" { // two columns cannot both be the same channel
				path := filepath.Join(dir, columnTable.file)
				text, _ := os.ReadFile(path)
				if err := os.WriteFile(path, []byte(strings.Replace(string(text), "forward_power", "forward_phase", 1)), 0o600); err != nil {
					t.Fatal(err)
				}
			}
			got, err := OpenPlant(dir)
			if err != nil {
				t.Fatal(err)
			}
			var stations, structures []string
			for _, s := range got.Plant.Stations {
				stations = append(stations, s.Name)
			}
			for _, s := range got.Plant.Structures {
				structures = append(structures, s.Name+"/"+s.Station)
			}
			if s := strings.Join(stations, " "); s != test.stations {
				t.Errorf("stations %s, want %s", s, test.stations)
			}
			if s := strings.Join(structures, " "); s != test.structures {
				t.Errorf("structures %s, want %s", s, test.structures)
			}
		})
	}
}

func TestDraftPlantReadme(t *testing.T) {
	dir := t.TempDir()
	if err := DraftPlant(dir, draftLog()); err != nil {
		t.Fatal(err)
	}
	readme, err := os.ReadFile(filepath.Join(dir, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		"- stations: S01, S02\n", "- structures: gun, S01A, S02A, S02B\n", "- water loops: W1\n", "- waypoints: chicane\n",
		"    Room 4 pressure (did you mean vacuum_pressure?)\n", `    "esc\x1b[2J"` + "\n",
		`    "both" has readings of more than one kind of place`, `    "a[1]" holds one of`,
		"- `efficiency`: RF power over beam power (0.01 to 1)\n", "| forward_power | relative | 2 | 5 | % |\n",
	} {
		if !strings.Contains(string(readme), want) {
			t.Errorf("README.md does not hold %q", want)
		}
	}
	if strings.ContainsFunc(string(readme), func(r rune) bool { return r != '\n' && unprintable(r) }) {
		t.Error("README.md holds control characters")
	}
}

func TestDraftPlantKeepsWhatIsThere(t *testing.T) {
	dir := t.TempDir()
	note := filepath.Join(dir, "note.txt")
	if err := os.WriteFile(note, []byte("mine"), 0o600); err != nil {
		t.Fatal(err)
	}
	err := DraftPlant(dir, nil)
	want := "draft plant: " + dir + " is not empty: name a new folder, so that nothing in it is lost"
	if err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
	if files, _ := os.ReadDir(dir); len(files) != 1 {
		t.Errorf("%d files", len(files))
	}
}

func TestFeedingStations(t *testing.T) {
	places := func(names string) []*foundPlace {
		var list []*foundPlace
		for _, name := range strings.Fields(names) {
			list = append(list, &foundPlace{name: name})
		}
		return list
	}
	for _, test := range []struct{ name, stations, structures, want string }{
		{"by name", "S1 S10 S2", "S10A S1A S2B", "S10 S1 S2"},
		{"by number", "K01 K02 K03", "A3 A1.1 A1.2 A2", "K03 K01 K01 K02"},
		{"by order", "K01 K02", "A1 A2 A3 A4", "K01 K01 K02 K02"},
		{"no numbers", "north south", "a b c", "north north south"},
		{"no stations", "", "a b", "S01 S01"},
	} {
		f := foundPlaces{stations: places(test.stations), structures: places(test.structures)}
		if got := strings.Join(f.feedingStations(), " "); got != test.want {
			t.Errorf("%s: got %s, want %s", test.name, got, test.want)
		}
	}
}
