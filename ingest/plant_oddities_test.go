package ingest

import (
	"os"
	"strings"
	"testing"
)

func TestNotices(t *testing.T) {
	for _, test := range []struct {
		name, file, from, to, want string
	}{
		// 2 pi 2856 MHz * 0.83 us / (2 * 0.57) = 13065, so twice the attenuation
		// makes half of it; the range goes with 1/sqrt(f).
		{"quality factor", "structures.csv", "A1,S01,constant_impedance,2.7,54,0.55,0.8", "A1,S01,constant_impedance,2.7,54,1.14,0.83",
			"structures.csv: A1: filling_time_us and attenuation_Np give a quality factor of 6533, where copper near 2856 MHz has 9224 to 16398; check both"},
		{"shares far below 1", "structures.csv", "A1,S01,constant_impedance,2.7,54,0.55,0.8,0.9", "A1,S01,constant_impedance,2.7,54,0.55,0.8,0.4",
			"structures.csv: the power_share of the structures of S01 add up to 0.5: the rest makes no energy"},
		{"cavity figures of a travelling-wave structure", "structures.csv", "3,2026-01-20,,,,", "3,2026-01-20,,13000,,",
			"structures.csv: A1: unloaded_q, coupling_beta and shunt_impedance_MOhm hold for standing_wave only and are not used"},
		{"station without structures", "stations.csv", "S02,45", "S03,40,2,0.4,0.5,3.5,,,,,0.3,0,yes,,\nS02,45",
			"stations.csv: S03: feeds no structure, so it makes no energy"},
		{"short compressed pulse", "stations.csv", "3.5,2.5,", "3.5,2.9,",
			"stations.csv: S02: the compressed pulse of 0.6 us is shorter than the filling time 0.8 us of A2\nstations.csv: S02: the compressed pulse of 0.6 us is shorter than the filling time 0.8 us of A3"},
		{"water of no compressor", "stations.csv", "-20,no,,", "-20,no,,K1", "stations.csv: S01: water_loop is that of the compressor, and the station has none"},
		{"no waypoint", "plant.toml", "", strings.Split(goodPlant["plant.toml"], "\n[[waypoint]]")[0], "plant.toml: there is no [[waypoint]], so no energy that must be met"},
		{"waypoint below injection", "plant.toml", "= 60", "= 4", "plant.toml: chicane: required_energy_MeV is below the injection energy"},
		{"misspelt table", "tolerance.csv", "", "quantity\n", "tolerance.csv is not read; did you mean tolerances.csv?"},
	} {
		got, err := openFiles(withEdit(t, test.file, test.from, test.to))
		if err != nil {
			t.Errorf("%s: %v", test.name, err)
		} else if said := strings.Join(got.Notices, "\n"); said != test.want {
			t.Errorf("%s: got\n%s\nwant\n%s", test.name, said, test.want)
		}
	}
}

func TestEveryColumnIsDocumented(t *testing.T) {
	doc, err := os.ReadFile("plant_doc.go")
	if err != nil {
		t.Fatal(err)
	}
	specs := append(append([]entrySpec(nil), plantKeys...), waypointKeys...)
	for _, table := range []plantTable{stationTable, structureTable, toleranceTable, plannedTable, columnTable} {
		specs = append(specs, table.columns...)
		if !strings.Contains(string(doc), "\n// # "+table.file) {
			t.Errorf("plant_doc.go has no section on %s", table.file)
		}
	}
	for _, spec := range specs {
		if !strings.Contains(string(doc), "\n//\t"+spec.name) {
			t.Errorf("plant_doc.go does not say what %s is", spec.name)
		}
	}
}
