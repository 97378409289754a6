package review

// adviceFor is what to do, and what not to do, for each cause. Numbers to set are
// given by the retune table alone.
var adviceFor = map[Cause]string{
	WaterDetuning:      "Change the water set point as the retune table says, in steps of at most 0.3 K; wait for the body, measure again, never two loops at once. Do not re-phase first: the phase comes back with the water.",
	RegulatingSensor:   "Do not retune by this thermometer: the water follows its error. Compare it with a second thermometer on the same line, then let the water plant replace or trim it.",
	CoolingFlow:        "Restore the flow: filter, valve, pump, air. Do not make up for it by set point: the tune would be off again when the flow comes back.",
	HeatLoad:           "The structure carries more or less average RF power than before. Where that is meant to last, move the water set point the other way as the retune table says; else bring the power back.",
	TemperatureSensor:  "Do not retune by this thermometer: phase advance says that the structure did not move. Have the sensor compared with another.",
	CompressorDetuning: "Bring the compressor back to tune by its own water, in small steps, watching the phase behind it. Do not re-phase the station for it.",
	ModulatorVoltage:   "Find what moved the charging voltage or its regulation. Do not make up for it by drive: phase and power both follow the voltage.",
	CathodeEmission:    "Look at the heater current and its history with whoever is responsible for the tube. Do not raise the voltage to win the power back.",
	DrivePower:         "Look at the drive amplifier, its supply and its cables. Do not raise the beam voltage to make up for drive.",
	PhaseDrift:         "Find what turned the phase before the klystron's output: drive line, phase shifter, low-level electronics. Until then a phase scan with beam puts the crest back.",
	WaveguideLoss:      "Have the waveguide looked at for heating, pressure and vacuum before power is raised. Power that is lost heats something.",
	ReflectedPower:     "Stop raising power. A rise of reflected power with drift points to damage, not to temperature: ask before the station is pushed.",
	CommonWater:        "Ask the water plant first: all structures moved together. Retune advice is withheld until the water stands.",
	CommonPhase:        "Look at the phase reference line and its distribution. Do not re-phase single stations.",
	CommonVoltage:      "Look at the mains and the common charging supply. Do not trim single modulators.",
	Unexplained:        "Touch nothing on this alone. Look at the trace, check the reading, and wait for a second witness.",
}
