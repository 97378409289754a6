package handover

import (
	"bytes"
	"encoding/json"
	"math"
	"reflect"
	"testing"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

// keysOf the form dawncrest.review/1, as it is promised to other programs.
var keysOf = map[string][]string{
	"":                  {"schema", "plant", "from", "to", "log", "stations", "structures", "water_loops", "waypoints", "findings"},
	"log":               {"files", "rows", "values", "missing", "rejected_rows", "coverage_percent"},
	"stations":          {"station", "verdict", "energy_gain_MeV", "energy_gain_reference_MeV", "peak_power_gain", "peak_power_gain_design", "energy_multiplication", "compressor_detuning_kHz", "microperveance", "efficiency", "reflected_fraction", "trips", "rf_on_percent"},
	"structures":        {"structure", "station", "water_loop", "verdict", "detuning_kHz", "detuning_ci95_kHz", "phase_slip_deg", "energy_loss_MeV", "water_change_K", "water_change_ci95_K", "advice", "reason"},
	"water_loops":       {"water_loop", "structures", "water_change_K", "advice", "reason"},
	"waypoints":         {"waypoint", "verdict", "required_MeV", "budget_MeV", "measured_MeV", "margin_percent", "closure_percent", "arrival_shift_ps", "bunch_compression_change_percent", "without"},
	"waypoints.without": {"station", "margin_percent", "closes", "made_up_by"},
	"findings":          {"place", "cause", "likely", "verdict", "quantity", "since", "change", "unit", "slope_per_h", "reaches_limit_at", "energy_cost_MeV", "beam_noticed", "message", "advice", "evidence", "not_logged"},
}

func TestJSONHasEveryKeyAlways(t *testing.T) {
	unknown := &review.Report{
		Coverage:   math.NaN(),
		Stations:   []review.StationResult{{Station: "S01", Gain: rf.Unknown[rf.Energy](), PeakPowerGain: math.NaN()}},
		Structures: []review.StructureResult{{}}, Loops: []review.LoopResult{{}},
		Waypoints: []review.WaypointResult{{Without: []review.WithoutStation{{}}}}, Findings: []review.Finding{{}},
	}
	for name, r := range map[string]*review.Report{"empty": {}, "busy": busyNight(), "unknown": unknown} {
		var object map[string]any
		if err := json.Unmarshal(written(t, func(b *bytes.Buffer) error { return JSON(b, r) }), &object); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		checkKeys(t, name, "", object)
	}
}

func TestRowsJSONChangesNothingButLineBreaks(t *testing.T) {
	for _, text := range []string{`a "quoted" },{ text`, `back\`, `[{`, `\",{`, "line\nbreak"} {
		want := map[string]any{"a": text, "b": []any{map[string]any{"c": text}, map[string]any{"c": []any{}}}, "d": map[string]any{}}
		var got map[string]any
		if err := json.Unmarshal(written(t, func(b *bytes.Buffer) error { return writeRowsJSON(b, want) }), &got); err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%q came back as %v", text, got)
		}
	}
}

func checkKeys(t *testing.T, name, path string, v any) {
	t.Helper()
	switch v := v.(type) {
	case map[string]any:
		want := keysOf[path]
		if len(v) != len(want) {
			t.Errorf("%s: %q has %d keys, want %d", name, path, len(v), len(want))
		}
		for _, key := range want {
			inner, ok := v[key]
			if !ok {
				t.Errorf("%s: %q lacks %q", name, path, key)
				continue
			}
			checkKeys(t, name, join(path, key), inner)
		}
	case []any:
		for _, inner := range v {
			checkKeys(t, name, path, inner)
		}
	}
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

func TestJSONWritesNullForWhatIsNotKnown(t *testing.T) {
	r := quietNight()
	nothing := math.NaN()
	r.Coverage = nothing
	r.Stations[0] = review.StationResult{Station: "S01", Gain: rf.Energy(nothing), GainReference: rf.Energy(math.Inf(1)), PeakPowerGain: nothing}
	r.Stations[1].GainHeld = true
	r.Structures[0].DetuningLow = rf.Frequency(nothing)
	var got struct {
		Log      map[string]any   `json:"log"`
		Stations []map[string]any `json:"stations"`
		Struct   []struct {
			CI []any `json:"detuning_ci95_kHz"`
		} `json:"structures"`
		Loops json.RawMessage `json:"water_loops"`
	}
	if err := json.Unmarshal(written(t, func(b *bytes.Buffer) error { return JSON(b, r) }), &got); err != nil {
		t.Fatal(err)
	}
	for what, v := range map[string]any{
		"coverage": got.Log["coverage_percent"], "gain": got.Stations[0]["energy_gain_MeV"], "infinite gain": got.Stations[0]["energy_gain_reference_MeV"],
		"peak power gain": got.Stations[0]["peak_power_gain"], "gain held for want of data": got.Stations[1]["energy_gain_MeV"],
	} {
		if v != nil {
			t.Errorf("%s not known is written %v", what, v)
		}
	}
	if !reflect.DeepEqual(got.Struct[0].CI, []any{nil, 0.8}) {
		t.Errorf("half-known interval is written %v", got.Struct[0].CI)
	}
	if string(got.Loops) != "[]" {
		t.Errorf("no water loops are written %s", got.Loops)
	}
}
