package sampledata

// meter is how one quantity is read: its unit, its steps, and its weaknesses.
// Shares are of the value, the rest in the unit; errors are one sigma.
type meter struct {
	unit       string
	decimals   int     // as logged; -1: three significant digits
	quantum    float64 // smallest step
	angle      bool
	noiseShare float64 // of each reading
	noise      float64
	errorShare float64 // steady, of the machine
	driftShare float64 // over a night
	drift      float64
}

// quantities is the one table of what the machine logs.
var quantities = map[string]meter{
	"beam_voltage":           {unit: "kV", decimals: 2, quantum: 0.02, noiseShare: 5e-4, errorShare: 5e-3, driftShare: 2e-4},
	"beam_voltage_set":       {unit: "kV", decimals: 2, quantum: 0.01},
	"beam_current":           {unit: "A", decimals: 1, quantum: 0.1, noiseShare: 1e-3, errorShare: 5e-3, driftShare: 2e-4},
	"heater_current":         {unit: "A", decimals: 2, quantum: 0.01, noiseShare: 5e-4},
	"drive_power":            {unit: "W", decimals: 1, quantum: 0.5, noiseShare: 3e-3, errorShare: 0.02, driftShare: 2e-3},
	"drive_phase":            {unit: "deg", decimals: 1, quantum: 0.1, angle: true, noise: 0.1, drift: 0.1},
	"drive_phase_set":        {unit: "deg", decimals: 1, quantum: 0.1, angle: true},
	"forward_power":          {unit: "MW", decimals: 2, quantum: 0.05, noise: 5e-3, noiseShare: 4e-3, errorShare: 0.03, driftShare: 2e-3},
	"forward_phase":          {unit: "deg", decimals: 1, quantum: 0.1, angle: true, noise: 0.2, drift: 0.25},
	"reflected_power":        {unit: "MW", decimals: 3, quantum: 0.005, noise: 2e-3, noiseShare: 0.02, errorShare: 0.05, driftShare: 0.01},
	"compressed_power":       {unit: "MW", decimals: 1, quantum: 0.2, noise: 0.02, noiseShare: 5e-3, errorShare: 0.03, driftShare: 3e-3},
	"compressor_temperature": {unit: "degC", decimals: 2, quantum: 0.01, noise: 8e-3},
	"vacuum_pressure":        {unit: "mbar", decimals: -1, noiseShare: 0.03, errorShare: 0.1},
	"pulse_flatness":         {unit: "%", decimals: 2, quantum: 0.01, noise: 0.02},
	"trip_count":             {unit: "1"},
	"rf_on":                  {unit: "1"},
	"trip_reason":            {},

	"input_power":        {unit: "MW", decimals: 1, quantum: 0.1, noise: 0.01, noiseShare: 5e-3, errorShare: 0.04, driftShare: 3e-3},
	"input_phase":        {unit: "deg", decimals: 1, quantum: 0.1, angle: true, noise: 0.2, drift: 0.25},
	"output_power":       {unit: "MW", decimals: 2, quantum: 0.05, noise: 5e-3, noiseShare: 5e-3, errorShare: 0.04, driftShare: 3e-3},
	"output_phase":       {unit: "deg", decimals: 1, quantum: 0.1, angle: true, noise: 0.2, drift: 0.25},
	"cavity_phase":       {unit: "deg", decimals: 1, quantum: 0.1, angle: true, noise: 0.15, drift: 0.25},
	"cavity_voltage":     {unit: "MV", decimals: 3, quantum: 1e-3, noise: 1e-3, noiseShare: 2e-3, errorShare: 0.03, driftShare: 2e-3},
	"water_temperature":  {unit: "degC", decimals: 2, quantum: 0.01, noise: 6e-3},
	"return_temperature": {unit: "degC", decimals: 2, quantum: 0.01, noise: 6e-3},
	"body_temperature":   {unit: "degC", decimals: 2, quantum: 0.01, noise: 6e-3},
	"water_flow":         {unit: "L/min", decimals: 2, quantum: 0.05, noiseShare: 4e-3, errorShare: 0.02, driftShare: 2e-3},

	"beam_energy":         {unit: "MeV", decimals: 2, quantum: 0.01, noiseShare: 2e-4, errorShare: 1e-3},
	"gallery_temperature": {unit: "degC", decimals: 1, quantum: 0.1, noise: 0.03},
	"gallery_humidity":    {unit: "%", decimals: 1, quantum: 0.5, noise: 0.2},
	"reference_phase":     {unit: "deg", decimals: 2, quantum: 0.02, angle: true, noise: 0.03, drift: 0.1},
	"beam_charge":         {unit: "nC", decimals: 3, quantum: 2e-3, noiseShare: 8e-3, errorShare: 0.02},
	"repetition_rate":     {unit: "Hz", decimals: 0, quantum: 1},
	"loop_temperature":    {unit: "degC", decimals: 2, quantum: 0.01, noise: 6e-3},
	"valve_opening":       {unit: "%", decimals: 1, quantum: 0.1, noise: 0.15},
	"heater_power":        {unit: "kW", decimals: 2, quantum: 0.02, noiseShare: 0.01},
}
