package ingest

import (
	"errors"
	"strings"
	"testing"
)

// plantMistakes are edits of the good plant, each with everything that must be
// said about it.
var plantMistakes = []struct {
	name, file, from, to string
	want                 string
}{
	// What gocsv alone would take in silence: an empty cell as 0, a decimal comma
	// as the digits before it, a missing column or another separator as zeros,
	// the last of two equal headings.
	{"empty number", "stations.csv", "S01,25,", "S01,,", "stations.csv:2: rated_power_MW: is empty; write the peak RF power in MW that the klystron is rated for"},
	{"decimal comma", "stations.csv", "S01,25,", `S01,"24,5",`, "stations.csv:2: rated_power_MW: 24,5 is not a number; write 24.5 with a decimal point"},
	{"comma for thousands", "stations.csv", "2.5,100000,5", `2.5,"100,000",5`, "stations.csv:3: compressor_q0: 100,000 is not a number; write 100.000 with a decimal point, or 100000 without a mark for thousands"},
	{"missing column", "planned.csv", "", "from,to,place\n2026-02-17 23:30,2026-02-18 00:10,S02\n", "planned.csv:1: note: column is missing; add it: what is planned"},
	{"semicolons", "columns.csv", "", "column;place;quantity;unit;scale;offset\nA;S01;forward_power;MW;1;0\n", `columns.csv:1: is separated by ';'; save it separated by commas, with decimal points`},
	{"tabs", "columns.csv", "", "column\tplace\tquantity\nA\tS01\tforward_power\n", `columns.csv:1: is separated by '\t'; save it separated by commas, with decimal points`},
	{"equal headings", "stations.csv", "crest_offset_deg,spare,", "crest_offset_deg,efficiency,", "stations.csv:1: efficiency: stands twice in the heading; keep one of the two columns"},

	// The table itself.
	{"unknown column", "stations.csv", "crest_offset_deg,spare", "crest_offset_deg,spares", "stations.csv:1: spares: is not a column of this table; did you mean spare?"},
	{"column without heading", "stations.csv", "microperveance,efficiency", "microperveance,", "stations.csv:1: column 4 has no heading; give it one of station, rated_power_MW, microperveance, efficiency, drift_length_m, rf_pulse_us, phase_flip_us, compressor_q0, compressor_beta, compressor_tuned_degC, waveguide_loss_dB, crest_offset_deg, spare, conditioned_power_MW, drive_saturation_W, phase_pushing_deg_per_percent, water_loop, trips_per_day, or take it away\n" +
		"stations.csv:1: efficiency: column is missing; add it: RF power over beam power"},
	{"cell under no heading", "tolerances.csv", "", "quantity,place,basis,drift_limit,act_limit,unit,,\nforward_power,,relative,1,4,%,,note\n", "tolerances.csv:2: has 8 cells where the heading has 6; write one cell for each heading, with decimal points, and quotes around a cell that holds a comma"},
	{"row too short", "tolerances.csv", "forward_power,,relative,1,4,%", "forward_power,,relative,1,4", "tolerances.csv:2: has 5 cells where the heading has 6; write one cell for each heading, with decimal points, and quotes around a cell that holds a comma"},
	{"row too long", "tolerances.csv", "forward_power,,relative,1,4,%", "forward_power,,relative,0,5,1,4,%", "tolerances.csv:2: has 8 cells where the heading has 6; write one cell for each heading, with decimal points, and quotes around a cell that holds a comma"},
	{"too many rows", "planned.csv", "", "from,to,place,note\n" + strings.Repeat("2026-02-17 23:30,2026-02-18 00:10,,\n", tableRowLimit+1), "planned.csv:5002: has more than 5000 rows; is this a log? a plant table has one row for each thing it describes"},
	{"quote out of place", "planned.csv", `"access, two people"`, `access "two" people`, "planned.csv:3: has a quote out of place: what follows cannot be told into cells; put the whole cell in quotes and double each quote inside it"},
	{"quote never closed", "planned.csv", `two people"`, "two people", "planned.csv:3: has a quote out of place: what follows cannot be told into cells; put the whole cell in quotes and double each quote inside it"},
	{"empty file", "tolerances.csv", "", "", "tolerances.csv: is empty; its first line must be quantity,place,basis,drift_limit,act_limit,unit"},
	{"other table", "tolerances.csv", "", "time,S01 forward_power [MW]\n2026-02-17T00:00:00Z,24\n", "tolerances.csv:1: has none of the headings of this table; its first line must be quantity,place,basis,drift_limit,act_limit,unit"},
	{"no rows", "stations.csv", "", strings.SplitAfter(goodPlant["stations.csv"], "\n")[0], "stations.csv: has no rows; write one row for each station, in beam order"},
	{"UTF-16", "planned.csv", "", "\xff\xfef\x00r\x00", "planned.csv: is UTF-16; save it as UTF-8"},
	{"Latin-1", "planned.csv", "fan change", "L\xfcfter", "planned.csv:2: is not UTF-8; save the file as UTF-8"},
	{"zero byte", "planned.csv", "fan change", "fan\x00", "planned.csv:2: holds a zero byte; the file is damaged or not text: save it as UTF-8 text"},
	{"over 2 MB", "planned.csv", "", strings.Repeat("x", plantFileLimit+1), "planned.csv: is over 2 MB; is this a log? keep only the description of the plant here"},
	{"too many columns", "planned.csv", "", strings.Repeat("x,", 300) + "x\n", "planned.csv:1: has 301 columns; is this a log? its first line must be from,to,place,note"},

	// Numbers.
	{"percent for a fraction", "stations.csv", "1.95,0.45", "1.95,45", "stations.csv:3: efficiency: 45 is over 1; write 0.45 for 45 %"},
	{"negative", "stations.csv", "0.4,-20", "-0.4,-20", "stations.csv:2: waveguide_loss_dB: -0.4 is below 0; write the loss in dB from the klystron to the compressor or splitter, without sign, 0 to 10"},
	{"words", "stations.csv", "S01,25,", "S01,25 MW,", "stations.csv:2: rated_power_MW: 25 MW is not a number; write 25 alone, in the unit of the heading"},
	{"nan", "stations.csv", "S01,25,", "S01,nan,", "stations.csv:2: rated_power_MW: nan is not a number; write digits with a decimal point, or leave it empty where the column allows that"},
	{"hexadecimal", "stations.csv", "S01,25,", "S01,0x19,", "stations.csv:2: rated_power_MW: 0x19 is not a number; write digits with a decimal point, or leave it empty where the column allows that"},
	{"number over all bounds", "stations.csv", "S01,25,", "S01,1e999,", "stations.csv:2: rated_power_MW: 1e999 is not a number; write digits with a decimal point, or leave it empty where the column allows that"},
	{"ns for us", "structures.csv", "0.55,0.8,0.9", "0.55,800,0.9", "structures.csv:3: filling_time_us: 800 is over 100; write its filling time in us, 0.001 to 100"},
	{"warmer is higher", "structures.csv", "-47.5", "47.5", "structures.csv:3: kHz_per_K: 47.5 is over -0.1; write its measured change of frequency in kHz for each kelvin; warmer is lower, so it is negative, -10000 to -0.1"},
	{"not filled in", "stations.csv", "S01,25,", "S01,?,", "stations.csv:2: rated_power_MW: not filled in yet; write the peak RF power in MW that the klystron is rated for"},
	{"guess not checked", "structures.csv", "A1,S01", "A1,? S01", "structures.csv:3: station: not filled in yet; S01 is only a guess: check it and take the question mark away"},

	// Names.
	{"station twice", "stations.csv", "S02,45", "S01,45", "stations.csv:3: station: S01 stands already in line 2; give each place its own name"},
	{"structure named as a station", "structures.csv", "A1,S01", "S02,S01", "structures.csv:3: structure: S02 is already a station (stations.csv:3); give each place its own name"},
	{"loop named as its structure", "structures.csv", "1.4,,6", "1.4,A1,6", "structures.csv:3: water_loop: A1 is already a structure (structures.csv:3); leave it empty where a structure has its water to itself, else give the loop its own name"},
	{"waypoint named as a loop", "plant.toml", `"chicane"`, `"K1"`, "plant.toml:9: name: K1 is already a water loop (stations.csv:3); give each place its own name"},
	{"structure named machine", "structures.csv", "A1,S01", "machine,S01", "structures.csv:3: structure: machine stands for the whole machine; give the place another name"},
	{"brackets in a name", "structures.csv", "A1,S01", "A[1],S01", `structures.csv:3: structure: "A[1]" holds one of [ ] " , ; | * which headings give another meaning; write a short name as it stands in the log's headings`},
	{"blank behind a name", "structures.csv", "A1,S01", "A1 ,S01", `structures.csv:3: structure: "A1 " has a blank before or after it; write a short name as it stands in the log's headings`},
	{"escape sequence in a name", "structures.csv", "A1,S01", "A\x1b[2J,S01", `structures.csv:3: structure: "A\x1b[2J" holds one of [ ] " , ; | * which headings give another meaning; write a short name as it stands in the log's headings`},
	{"control character in a name", "structures.csv", "A1,S01", "A\x071,S01", `structures.csv:3: structure: "A\a1" holds a character that does not print; write a short name as it stands in the log's headings`},
	{"invisible character in a name", "structures.csv", "A1,S01", "A\u200b1,S01", `structures.csv:3: structure: "A\u200b1" holds a character that does not print; write a short name as it stands in the log's headings`},
	{"letter case only", "structures.csv", "A3,S02", "a2,S02", "structures.csv:5: structure: a2 differs from A2 (structures.csv:4) in letter case only; give each place its own name"},
	{"two blanks in a name", "structures.csv", "A1,S01", "A  1,S01", `structures.csv:3: structure: "A  1" has two blanks in a row; write a short name as it stands in the log's headings`},
	{"station in other letters", "structures.csv", "A1,S01", "A1,s01", "structures.csv:3: station: s01 is not in the plant; did you mean S01?"},
	{"unknown station", "structures.csv", "A1,S01", "A1,S1", "structures.csv:3: station: S1 is not in the plant; did you mean S01?"},

	// Stations.
	{"spare neither yes nor no", "stations.csv", "-20,no", "-20,maybe", "stations.csv:2: spare: maybe is not a word known here; write one of yes, no"},
	{"flip after the pulse", "stations.csv", "3.5,2.5,", "3.5,3.5,", "stations.csv:3: phase_flip_us: 3.5 is not before the end of the pulse, 3.5; write the time in us from the start of the pulse to the phase reversal, nothing where there is no pulse compressor"},
	{"compressor without its quality factor", "stations.csv", "2.5,100000,5", "2.5,,5", "stations.csv:3: compressor_q0: is empty; a compressor is half given: write the unloaded quality factor of the compressor's cavities"},
	{"compressor without its flip", "stations.csv", "3.5,2.5,", "3.5,,", "stations.csv:3: phase_flip_us: is empty, and compressor_q0 is given; write the time in us from the start of the pulse to the phase reversal, nothing where there is no pulse compressor and no compressor column then"},

	// Structures.
	{"unknown kind", "structures.csv", "A2,S02,constant_gradient", "A2,S02,constant-gradient", "structures.csv:4: kind: constant-gradient is not a word known here; did you mean constant_gradient?"},
	{"travelling wave without attenuation", "structures.csv", "54,0.55,0.8,0.9", "54,,0.8,0.9", "structures.csv:3: attenuation_Np: is empty; a travelling-wave structure needs it: write its one-way attenuation of the field in neper (dB over 8.686)"},
	{"cavity without its coupling", "structures.csv", "13000,1.2,3", "13000,,3", "structures.csv:2: coupling_beta: is empty; a standing_wave structure needs it: write the coupling factor of the cavity"},
	{"shares over 1", "structures.csv", "A3,S02,constant_gradient,2.7,54,0.55,0.8,0.5", "A3,S02,constant_gradient,2.7,54,0.55,0.8,0.6", "structures.csv:5: power_share: the shares of S02 add up to 1.1 by this row; write shares that add up to 1 at most"},
	{"no such day", "structures.csv", "2026-01-20", "2026-02-30", "structures.csv:3: tuned_phase_on: 2026-02-30 is not a date; write the day tuned_phase_deg was measured, such as 2026-03-01"},

	// plant.toml.
	{"syntax", "plant.toml", "frequency_MHz = 2856", "frequency_MHz = 2,856", `plant.toml:2: cannot be parsed: expected a top-level item to end with a newline, comment, or EOF, but got ',' instead; write one "key = value" a line, words in quotes`},
	{"key missing", "plant.toml", "repetition_rate_Hz = 50\n", "", "plant.toml: repetition_rate_Hz: is missing; write RF pulses per second"},
	{"key unknown", "plant.toml", "beam_current_mA", "beam_curent_mA", "plant.toml:6: beam_curent_mA: is not a key of plant.toml; did you mean beam_current_mA?"},
	{"key in other letters", "plant.toml", "name = \"H", "Name = \"H", "plant.toml: name: is missing; write the linac's name in quotes, such as \"Harrow Fen\"\nplant.toml:1: Name: is not a key of plant.toml; did you mean name?"},
	{"key twice", "plant.toml", "repetition_rate_Hz = 50", "frequency_MHz = 50", `plant.toml:3: cannot be parsed: Key 'frequency_MHz' has already been defined.; write one "key = value" a line, words in quotes`},
	{"number in quotes", "plant.toml", "= 2856", `= "2856"`, `plant.toml:2: frequency_MHz: "2856" stands in quotes; write 2856 without them`},
	{"word without quotes", "plant.toml", `name = "Harrow Fen injector"`, "name = 7", `plant.toml:1: name: 7 does not belong here; write the linac's name in quotes, such as "Harrow Fen"`},
	{"infinite", "plant.toml", "= 2856", "= inf", "plant.toml:2: frequency_MHz: +Inf does not belong here; write the drive frequency in MHz, such as 2856"},
	{"GHz for MHz", "plant.toml", "= 2856", "= 2.856", "plant.toml:2: frequency_MHz: 2.856 is below 100; write the drive frequency in MHz, such as 2856, 100 to 100000"},
	{"time zone", "plant.toml", "Europe/Zurich", "Europe/Zürich", `plant.toml:4: time_zone: Europe/Zürich is not a time zone; write the IANA name of the plant's time zone, such as "Europe/Lisbon", or "UTC"`},
	{"time zone of whoever looks", "plant.toml", "Europe/Zurich", "Local", `plant.toml:4: time_zone: Local is not a time zone; write the IANA name of the plant's time zone, such as "Europe/Lisbon", or "UTC"`},
	{"phase sampling", "plant.toml", "beam_current_mA = 120", `phase_sampling = "sametime"`, "plant.toml:6: phase_sampling: sametime is not a word known here; did you mean same_time?"},
	{"one waypoint table", "plant.toml", "[[waypoint]]\nname = \"end\"", "[waypoint_2]\nname = \"end\"", "plant.toml:15: waypoint_2: is not a key of plant.toml; take it away, or write one of name, frequency_MHz, repetition_rate_Hz, time_zone, injection_energy_MeV, expansion_per_K, beam_current_mA, phase_sampling"},
	{"waypoint as a number", "plant.toml", "", "waypoint = 3\n" + strings.Split(goodPlant["plant.toml"], "\n[[waypoint]]")[0], "plant.toml:1: waypoint: is not a list of tables; begin each waypoint with a line [[waypoint]]"},
	{"waypoint after nothing", "plant.toml", `after_station = "S02"`, `after_station = "S03"`, "plant.toml:17: after_station: S03 is not in the plant; did you mean S01?"},
	{"waypoint without energy", "plant.toml", "required_energy_MeV = 60\n", "", "plant.toml:8: required_energy_MeV: is missing; write the beam energy in MeV that must be met there"},
	{"key of the second waypoint", "plant.toml", "required_energy_MeV = 180", "required_energy_GeV = 0.18", "plant.toml:15: required_energy_MeV: is missing; write the beam energy in MeV that must be met there\n" +
		"plant.toml:18: required_energy_GeV: is not a key of plant.toml; did you mean required_energy_MeV?"},

	{"key of the linac below a waypoint", "plant.toml", "r56_mm = -42", "r56_mm = -42\nphase_sampling = \"same_time\"", "plant.toml:14: phase_sampling: stands below a [[waypoint]] and so belongs to it; move it above the first [[waypoint]]"},
	{"name of two lines", "plant.toml", "Harrow Fen injector", `Harrow Fen\ninjector`, `plant.toml:1: name: "Harrow Fen\ninjector" does not fit on a line; write a plain name of 60 letters at most`},
	{"key of too many parts", "plant.toml", "r56_mm = -42", strings.Repeat("a.", 40) + "a = 1", `plant.toml:13: has more dots or braces than a plant needs; write one "key = value" a line`},
	{"over 100 kB", "plant.toml", "r56_mm = -42", strings.Repeat("# more\n", 20000), "plant.toml: is over 100 kB; keep only the description of the linac here"},

	// Tolerances.
	{"unknown quantity", "tolerances.csv", "forward_power,,", "foward_power,,", "tolerances.csv:2: quantity: foward_power is not a quantity; did you mean forward_power?"},
	{"unknown basis", "tolerances.csv", ",,relative", ",,percent", "tolerances.csv:2: basis: percent is not a word known here; write one of relative, change, absolute, ratio"},
	{"unit of the wrong kind", "tolerances.csv", "1000,2500,V", "1000,2500,W", "tolerances.csv:4: unit: W does not suit change of beam_voltage; write kV"},
	{"unknown unit", "tolerances.csv", "1000,2500,V", "1000,2500,volts", "tolerances.csv:4: unit: volts does not suit change of beam_voltage; write kV"},
	{"unit for relative", "tolerances.csv", "relative,1,4,%", "relative,1,4,MW", "tolerances.csv:2: unit: MW does not suit relative of forward_power; write %"},
	{"step in decibel", "tolerances.csv", "relative,1,4,%", "change,1,4,dBm", "tolerances.csv:2: unit: dBm does not suit change of forward_power; write MW"},
	{"percent of what", "tolerances.csv", "relative,1,4,%", "change,1,4,%\ncoupler_ratio,,change,1,2,%", "tolerances.csv:2: unit: % does not suit change of forward_power; write MW\ntolerances.csv:3: unit: % could be of the reference or of coupler_ratio itself; write 1 for its own unit, or relative for percent of the reference"},
	{"percent of an angle", "tolerances.csv", "forward_power,,relative", "forward_phase,,relative", "tolerances.csv:2: basis: relative of forward_phase means nothing: its zero is arbitrary; write change"},
	{"limit of words", "tolerances.csv", "forward_power,,relative", "trip_reason,,relative", "tolerances.csv:2: quantity: trip_reason has no size to limit; take the row away; trips are limited by the quantity trips"},
	{"limits swapped", "tolerances.csv", "relative,1,4,%", "relative,4,1,%", "tolerances.csv:2: drift_limit: 4 is over the act_limit 1; write a drift_limit that is met before the act_limit"},
	{"ratio below 1", "tolerances.csv", "forward_power,,relative,1,4,%", "vacuum_pressure,,ratio,0.5,4,1", "tolerances.csv:2: drift_limit: 0.5 times the reference is below the reference; write a ratio over 1"},
	{"tolerance of an unknown place", "tolerances.csv", "S02", "S20", "tolerances.csv:3: place: S20 is not in the plant; name a place of the plant"},
	{"tolerance at the wrong kind of place", "tolerances.csv", "loop_temperature,W1", "water_temperature,W1", "tolerances.csv:5: place: W1 is a water loop, and water_temperature belongs to a structure; name such a place, or none for everywhere"},
	{"tolerance twice", "tolerances.csv", "forward_power,S02", "forward_power,", "tolerances.csv:3: quantity: has the same quantity, place and basis as line 2; keep one of the two rows"},

	// Planned stops.
	{"stop ends first", "planned.csv", "2026-02-18 00:10", "2026-02-17 00:10", "planned.csv:2: to: 2026-02-17 00:10 is not after 2026-02-17 23:30; write the end of the stop, later than its start"},
	{"not a time", "planned.csv", "2026-02-18 00:10", "17/02/2026", "planned.csv:2: to: 17/02/2026 is not a time; write a time such as 2026-03-01 06:00, in the plant's time zone, or 2026-03-01T06:00:00+01:00"},
	{"hour that the clocks left out", "planned.csv", "2026-02-17 23:30,2026-02-18 00:10", "2026-03-29 02:30,2026-03-29 04:00", "planned.csv:2: from: 2026-03-29 02:30 does not exist: the clocks were put forward; write a time that the clock showed"},
	{"hour that ran twice", "planned.csv", "2026-02-17 23:30,2026-02-18 00:10", "2026-10-25 01:30,2026-10-25 02:30", "planned.csv:2: to: 2026-10-25 02:30 came twice: the clocks were put back; write 2026-10-25T02:30:00+02:00 or 2026-10-25T02:30:00+01:00"},
	{"stop of nothing", "planned.csv", "S02", "S9", "planned.csv:2: place: S9 is not in the plant; name a place of the plant"},
	{"escape sequence in a note", "planned.csv", "fan change", "fan\x1b[2Jchange", `planned.csv:2: note: "fan\x1b[2Jchange" holds a character that does not print; write plain words`},

	// Columns.
	{"place beside a mark", "columns.csv", "P_fwd,,", "P_fwd,S01,", "columns.csv:2: place: S01 stands beside a * that gives the place; leave the place empty, or write the heading without *"},
	{"two marks", "columns.csv", "Klystron * P_fwd", "* P_fwd *", "columns.csv:2: column: * P_fwd * has more than one *; write one * where the place stands"},
	{"column without place", "columns.csv", "machine", "", "columns.csv:3: place: is empty; write the place it belongs to, nothing where the heading has a *"},
	{"column at the wrong place", "columns.csv", "machine", "S01", "columns.csv:3: place: S01 is a station; name the whole machine"},
	{"station column at the machine", "columns.csv", "gallery_temperature,degC", "forward_power,kW", "columns.csv:3: place: machine is the whole machine; name a station or a structure"},
	{"column of a derived quantity", "columns.csv", "forward_power,kW", "efficiency,", "columns.csv:2: quantity: efficiency is computed, not read; write the quantity that the column measures"},
	{"column in a wrong unit", "columns.csv", "forward_power,kW", "forward_power,kV", "columns.csv:2: unit: kV is a unit of voltage, and forward_power is a power: write one of W, mW, uW, kW, MW, GW, dBm, dBW"},
	{"column in no unit", "columns.csv", "forward_power,kW", "forward_power,kWatt", "columns.csv:2: unit: kWatt is not a unit known here; write the unit that forward_power is logged in"},
	{"scale of nothing", "columns.csv", "degC,0.1", "degC,0", "columns.csv:3: scale: 0 would make every reading the same; write what to multiply a reading by, nothing for 1"},
	{"scale of a level", "columns.csv", "forward_power,kW,,", "forward_power,dBm,2,", "columns.csv:2: unit: dBm is a level, which scale and offset cannot change; leave scale and offset empty"},
	{"column twice", "columns.csv", "Gallery T,", "Klystron * P_fwd,,forward_phase,,,\nGallery T,", "columns.csv:3: column: Klystron * P_fwd stands already in line 2; write each heading once"},
	{"two columns for one channel", "columns.csv", "Gallery T,", "Hall T,machine,gallery_temperature,degC,,\nGallery T,", "columns.csv:4: quantity: line 3 gives machine gallery_temperature too; let one column give it"},
}

func TestPlantMistakes(t *testing.T) {
	for _, test := range plantMistakes {
		t.Run(test.name, func(t *testing.T) {
			_, err := openFiles(withEdit(t, test.file, test.from, test.to))
			if err == nil {
				t.Fatalf("no error, want %s", test.want)
			}
			if got := err.Error(); got != test.want {
				t.Errorf("got:\n%s\nwant:\n%s", got, test.want)
			}
		})
	}
}

func TestMissingFilesAreAllTold(t *testing.T) {
	_, err := openFiles(map[string]string{"station.csv": ""})
	want := `plant.toml: is missing; write it: the linac's name, frequency, repetition rate, time zone and waypoints
stations.csv: is missing; did you mean station.csv? rename it
structures.csv: is missing; write it: one row for each accelerating structure or cavity`
	if err == nil || err.Error() != want {
		t.Errorf("got:\n%v\nwant:\n%s", err, want)
	}
}

func TestMistakesInEveryFileAreToldTogether(t *testing.T) {
	files := withEdit(t, "plant.toml", "= 2856", "= [") // cannot be parsed at all
	edit := func(file, from, to string) {
		files[file] = strings.Replace(files[file], from, to, 1)
	}
	edit("stations.csv", "0.42", "42")
	edit("stations.csv", "1.95", "?")
	edit("structures.csv", "A3,S02", "A3,S5")
	edit("tolerances.csv", "V\n", "W\n")
	edit("planned.csv", "23:30", "25:30")
	_, err := openFiles(files)
	var faults PlantFaults
	if !errors.As(err, &faults) {
		t.Fatalf("got %v", err)
	}
	var at []string
	for _, f := range faults {
		where, _, _ := strings.Cut(f.Error(), ": ")
		at = append(at, where+" "+f.Column)
	}
	want := "planned.csv:2 from, plant.toml:3 , stations.csv:2 efficiency, stations.csv:3 microperveance, structures.csv:5 station, tolerances.csv:4 unit"
	if got := strings.Join(at, ", "); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	var one PlantFault
	if !errors.As(err, &one) || one.File != "planned.csv" {
		t.Errorf("errors.As gave %+v", one)
	}
}
