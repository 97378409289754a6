package ingest

import (
	"strings"
	"testing"

	"dawncrest/rf"
)

// Values from NIST SP 811 (2008), appendix B.8 and B.9, and the SI Brochure; the
// decibel by its definition, 10 lg(P/P0), IEC 60027-3.
func TestUnitsConvert(t *testing.T) {
	for _, test := range []struct {
		value    float64
		unit     string
		quantity rf.Quantity
		want     float64
	}{
		{38.2e6, "W", rf.ForwardPower, 38.2}, {38200, "kW", rf.ForwardPower, 38.2}, {0.0382, "GW", rf.ForwardPower, 38.2},
		{75.8206336291, "dBW", rf.ForwardPower, 38.2}, {105.8206336291, "dBm", rf.ForwardPower, 38.2}, {0, "dBm", rf.DrivePower, 1e-3}, {30, "dBm", rf.DrivePower, 1},
		{268400, "V", rf.BeamVoltage, 268.4}, {0.2684, "MV", rf.BeamVoltage, 268.4}, {301200, "mA", rf.BeamCurrent, 301.2}, {2e7, "uA", rf.HeaterCurrent, 20}, {0.02, "kA", rf.HeaterCurrent, 20},
		{3.141592653589793, "rad", rf.DrivePhase, 180}, {1000, "mrad", rf.DrivePhase, 57.29577951308232},
		{303.15, "K", rf.WaterTemperature, 30}, {86, "degF", rf.WaterTemperature, 30}, {-40, "degF", rf.GalleryTemperature, -40}, {32, "°F", rf.WaterTemperature, 0},
		{101325, "Pa", rf.VacuumPressure, 1013.25}, {760, "Torr", rf.VacuumPressure, 1013.25}, {1, "Torr", rf.VacuumPressure, 1.333224}, {1013.25, "hPa", rf.VacuumPressure, 1013.25}, {1e-3, "Pa", rf.VacuumPressure, 1e-5},
		{3.5, "m3/h", rf.WaterFlow, 58.3333333333}, {1, "L/s", rf.WaterFlow, 60}, {58.3, "l/min", rf.WaterFlow, 58.3},
		{5e5, "keV", rf.BeamEnergy, 500}, {0.5, "GeV", rf.BeamEnergy, 500}, {5e8, "eV", rf.BeamEnergy, 500},
		{0.0031, "1", rf.PulseFlatness, 0.31}, {3100, "ppm", rf.PulseFlatness, 0.31}, {100, "pC", rf.BeamCharge, 0.1}, {0.05, "kHz", rf.RepetitionRate, 50},
	} {
		info, _ := test.quantity.Info()
		u, ok := unitNamed(test.unit)
		if !ok {
			t.Errorf("unit %s is not known", test.unit)
			continue
		}
		c, err := convert(u, info)
		if err != nil {
			t.Error(err)
			continue
		}
		if got := c.of(test.value); !near(got, test.want, 1e-6) && !(test.want == 0 && got < 1e-12 && got > -1e-12) {
			t.Errorf("%v %s of %s: got %v %s, want %v", test.value, test.unit, test.quantity, got, info.Unit, test.want)
		}
	}
}

// Every quantity has a native unit that is in the table, and converts to itself.
func TestNativeUnitsAreKnown(t *testing.T) {
	for _, info := range rf.Quantities() {
		if info.Derived || info.Unit == "" {
			continue
		}
		u, ok := unitNamed(info.Unit)
		if !ok {
			t.Errorf("%s: unit %s is not known", info.Name, info.Unit)
			continue
		}
		if c, err := convert(u, info); err != nil || !c.plain() {
			t.Errorf("%s in %s: %+v, %v", info.Name, info.Unit, c, err)
		}
	}
}

func TestUnitsOfTheWrongKind(t *testing.T) {
	for _, test := range []struct{ header, want string }{
		{"S01 forward_power [degC]", "unit of temperature, and forward_power is a power"},
		{"S01 drive_phase [MW]", "unit of power"},
		{"S01 beam_current [kV]", "write one of nA, uA, mA, A, kA"},
		{"A01 water_temperature [%]", "unit of ratio"},
	} {
		read := newHeadings(nil, nil).read(test.header, "")
		if read.err == nil || !strings.Contains(read.err.Error(), test.want) {
			t.Errorf("%s: error %v, want %q", test.header, read.err, test.want)
		}
	}
}

// Letter case counts where it must: a milliwatt is no megawatt.
func TestUnitLetterCase(t *testing.T) {
	for text, want := range map[string]string{"MW": "MW", "mW": "mW", "mw": "", "Mw": "", "KV": "kV", "DEGC": "degC", "TORR": "Torr", "mBar": "mbar", "C": "C", "Celsius": "degC", "parsec": ""} {
		u, ok := unitNamed(text)
		if ok != (want != "") || ok && u.symbol != want {
			t.Errorf("%s: got %q %t, want %q", text, u.symbol, ok, want)
		}
	}
}

func TestHeadings(t *testing.T) {
	for _, test := range []struct {
		header, place string
		quantity      rf.Quantity
		unit          string
	}{
		{"S03 forward_power [MW]", "S03", rf.ForwardPower, "MW"},
		{"S03 Forward Power (kW)", "S03", rf.ForwardPower, "kW"},
		{"Hall A gun cavity_phase [°]", "Hall A gun", rf.CavityPhase, "deg"},
		{"S03 beam_voltage_set [kV]", "S03", rf.BeamVoltage.Set(), "kV"},
		{"S03:drive_power [W]", "S03", rf.DrivePower, "W"},
		{"S03.drive_power[W]", "S03", rf.DrivePower, "W"},
		{"S03 rf_on", "S03", rf.RFOn, "1"},
		{"S03 trip_count", "S03", rf.TripCount, "1"},
		{"machine beam_current [mA]", rf.MachinePlace, rf.BeamCurrent, "mA"},
		{"gallery_humidity [%]", rf.MachinePlace, rf.GalleryHumidity, "%"},
		{"S03 microperveance", "", "", ""}, // computed, never read
		{"S03 forward_power", "", "", ""},  // of which unit?
		{"S03 forward_power [mw]", "", "", "mw"},
		{"S03_forward_power [MW]", "", "", "MW"},
		{"speed [m/s]", "", "", "m/s"},
	} {
		read := newHeadings(nil, nil).read(test.header, "")
		if read.place != test.place || read.quantity != test.quantity || read.unit != test.unit || read.err != nil {
			t.Errorf("%s: got %q %q %q %v (%s)", test.header, read.place, read.quantity, read.unit, read.err, read.guess)
		}
	}
}
