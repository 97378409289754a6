package sampledata

import (
	"fmt"
	"time"
)

// faultKinds is the one table of faults; adding one is adding a row.
var faultKinds = []FaultKind{
	{Name: "water_detuning", Unit: "K", Default: 0.5, Ramp: 3 * time.Hour, At: "structure or water loop",
		About:  "the cooling water really gets warmer, and its thermometers say so",
		places: atStructure | atLoop, begin: beginWater},
	{Name: "regulating_sensor", Unit: "K", Default: 0.5, Ramp: 3 * time.Hour, At: "structure or water loop",
		About:  "the regulating thermometer drifts: the real water gets warmer by this, the reading stays",
		places: atStructure | atLoop, begin: beginRegulatingSensor},
	{Name: "cooling_flow", Unit: "%", Default: -30, Ramp: time.Hour, At: "structure",
		About:  "the water flow changes, and its meter says so",
		places: atStructure, begin: beginFlow},
	{Name: "heat_load", Unit: "%", Default: 15, Ramp: time.Hour, At: "structure",
		About:  "the structure gets another share of the RF power (its divider's load gets the rest)",
		places: atStructure, begin: beginHeatLoad},
	{Name: "temperature_sensor", Unit: "K", Default: 0.5, Ramp: 3 * time.Hour, At: "structure",
		About:      "a thermometer that regulates nothing reads wrong",
		Quantities: []string{"water_temperature", "body_temperature", "return_temperature"},
		places:     atStructure, begin: beginAdded},
	{Name: "reading_doubted", Unit: "% (deg for phases)", Default: 10, Ramp: time.Hour, At: "station or structure",
		About: "one meter reads wrong: a coupler, the voltage divider, a current transformer, a flow meter, a gauge",
		Quantities: []string{"beam_voltage", "input_power", "beam_current", "forward_power", "compressed_power", "output_power",
			"water_flow", "vacuum_pressure", "drive_power", "reflected_power", "forward_phase", "input_phase", "output_phase",
			"cavity_voltage", "cavity_phase"},
		places: atStation | atStructure, begin: beginDoubted},
	{Name: "compressor_detuning", Unit: "K", Default: 0.6, Ramp: 2 * time.Hour, At: "station with a compressor",
		About:  "the pulse compressor gets warmer, and its thermometer says so",
		places: atStation, begin: beginCompressor},
	{Name: "modulator_voltage", Unit: "% of the beam voltage", Default: -1.5, Ramp: 3 * time.Hour, At: "station",
		About:  "the modulator gives another voltage",
		places: atStation, begin: beginVoltage},
	{Name: "cathode_emission", Unit: "% of the perveance", Default: -5, Ramp: 8 * time.Hour, At: "station",
		About:  "the cathode emits less",
		places: atStation, begin: beginEmission},
	{Name: "drive_power", Unit: "%", Default: -20, Ramp: 3 * time.Hour, At: "station",
		About:  "the drive amplifier gives another power",
		places: atStation, begin: beginDrive},
	{Name: "phase_drift", Unit: "deg", Default: 10, Ramp: 4 * time.Hour, At: "station",
		About:  "the phase of the station's RF drifts, from its drive chain",
		places: atStation, begin: beginPhase},
	{Name: "waveguide_loss", Unit: "% of the power", Default: 10, Ramp: time.Hour, At: "station or structure",
		About:  "power is lost between the compressor (else the klystron) and the structures, or on the arm to one",
		places: atStation | atStructure, begin: beginLoss},
	{Name: "reflected_power", Unit: "% of the forward power, more", Default: 4, Ramp: time.Hour, At: "station",
		About:  "more power comes back to the klystron",
		places: atStation, begin: beginReflected},
	{Name: "set_point", Unit: "% (deg for the phase)", Default: 1, At: "station",
		About:      "somebody changes a set value in one step, and everything follows",
		Quantities: []string{"beam_voltage", "drive_phase", "drive_power"},
		places:     atStation, begin: beginSetPoint},
	{Name: "trips", Unit: "trips", Default: 14, Ramp: 5 * time.Hour, At: "station",
		About:  "that many trips more, over the length of the ramp, in clusters",
		places: atStation, begin: beginTrips},
	{Name: "vacuum", Unit: "times the pressure", Default: 8, Ramp: 2 * time.Hour, At: "station",
		About:  "the pressure in the station's waveguide rises",
		places: atStation, begin: beginVacuum},
	{Name: "stuck_reading", Unit: "h (0: to the end)", Default: 0, At: "station or structure",
		About:      "a reading stands still",
		Quantities: []string{"forward_power", "input_power"}, anyReading: true,
		places: atStation | atStructure, begin: beginStuck},
	{Name: "data_gap", Unit: "min", Default: 35, At: "station, structure or machine",
		About:      "no readings from one place; from the machine: no rows at all",
		anyReading: true,
		places:     atStation | atStructure | atMachine, begin: beginGap},
	{Name: "headroom", Unit: "% of what there is", Default: 96, Ramp: 6 * time.Hour, At: "shared water loop or station",
		About:  "the reading stays put while what regulates it goes towards its end: a loop's valve, a station's drive",
		places: atLoop | atStation, begin: beginHeadroom},
	{Name: "common_water", Unit: "K", Default: 0.3, Ramp: 2 * time.Hour, At: "machine",
		About:  "all cooling water gets warmer together",
		places: atMachine, begin: beginCommonWater},
	{Name: "common_phase", Unit: "deg", Default: 8, At: "machine",
		About:  "the reference line that all phases are measured against moves; the RF does not",
		places: atMachine, begin: beginCommonPhase},
	{Name: "common_voltage", Unit: "%", Default: -0.8, Ramp: time.Hour, At: "machine",
		About:  "the mains move all beam voltages together",
		places: atMachine, begin: beginCommonVoltage},
	{Name: "common_trip", Unit: "% of the stations", Default: 70, At: "machine",
		About:  "a mains dip trips many stations in the same second",
		places: atMachine, begin: beginCommonTrip},
}

func beginWater(n *night, f *playedFault) error {
	loop, err := n.loopOf(f)
	if err != nil {
		return err
	}
	return n.during(f, func(e *effects, size float64) { e.loops[loop].waterK += size })
}

func beginRegulatingSensor(n *night, f *playedFault) error {
	loop, err := n.loopOf(f)
	if err != nil {
		return err
	}
	return n.during(f, func(e *effects, size float64) { e.loops[loop].regulatingK += size })
}

// loopOf returns the water loop of the place; a structure that shares its water
// has none to itself.
func (n *night) loopOf(f *playedFault) (int, error) {
	if f.structure < 0 {
		return f.loop, nil
	}
	s := &n.structures[f.structure]
	if s.WaterLoop != "" {
		return 0, fmt.Errorf("it shares its water: name the loop %s", s.WaterLoop)
	}
	return s.loop, nil
}

func beginFlow(n *night, f *playedFault) error {
	if f.Size <= -95 {
		return fmt.Errorf("size %v %%: must be above -95, a structure is never run dry", f.Size)
	}
	return n.during(f, func(e *effects, size float64) { e.structures[f.structure].flowPercent += size })
}

func beginHeatLoad(n *night, f *playedFault) error {
	return n.during(f, func(e *effects, size float64) { e.structures[f.structure].sharePercent += size })
}

func beginCompressor(n *night, f *playedFault) error {
	if !n.stations[f.station].compressed() {
		return fmt.Errorf("it has no compressor")
	}
	return n.during(f, func(e *effects, size float64) { e.stations[f.station].compressorK += size })
}

func beginVoltage(n *night, f *playedFault) error {
	return n.during(f, func(e *effects, size float64) { e.stations[f.station].voltagePercent += size })
}

func beginEmission(n *night, f *playedFault) error {
	return n.during(f, func(e *effects, size float64) { e.stations[f.station].perveancePercent += size })
}

func beginDrive(n *night, f *playedFault) error {
	if f.Size <= -95 {
		return fmt.Errorf("size %v %%: must be above -95", f.Size)
	}
	return n.during(f, func(e *effects, size float64) { e.stations[f.station].drivePercent += size })
}

func beginPhase(n *night, f *playedFault) error {
	return n.during(f, func(e *effects, size float64) { e.stations[f.station].phaseDeg += size })
}

func beginLoss(n *night, f *playedFault) error {
	if f.Size >= 100 {
		return fmt.Errorf("size %v %%: must be below 100", f.Size)
	}
	if f.structure >= 0 {
		return n.during(f, func(e *effects, size float64) { e.structures[f.structure].lossPercent += size })
	}
	return n.during(f, func(e *effects, size float64) { e.stations[f.station].lossPercent += size })
}

func beginReflected(n *night, f *playedFault) error {
	return n.during(f, func(e *effects, size float64) { e.stations[f.station].reflectedPercent += size })
}

func beginSetPoint(n *night, f *playedFault) error {
	f.Ramp, f.rampS = 0, 0
	return n.during(f, func(e *effects, size float64) {
		switch s := &e.stations[f.station]; f.Quantity {
		case "beam_voltage":
			s.voltageSetPercent += size
		case "drive_phase":
			s.phaseSetDeg += size
		case "drive_power":
			s.drivePercent += size
		}
	})
}

func beginVacuum(n *night, f *playedFault) error {
	if f.Size < 1 {
		return fmt.Errorf("size %v: must be 1 or more times the pressure", f.Size)
	}
	return n.during(f, func(e *effects, size float64) {
		grown := size / f.Size
		e.stations[f.station].vacuumFactor *= 1 + (f.Size-1)*grown
	})
}

func beginHeadroom(n *night, f *playedFault) error {
	if f.Size <= 0 || f.Size > 100 {
		return fmt.Errorf("size %v %%: must be above 0, at most 100", f.Size)
	}
	if f.loop >= 0 {
		if !n.reads(f.Place, "valve_opening") {
			return fmt.Errorf("its valve is not logged: name a shared loop")
		}
		return n.during(f, func(e *effects, size float64) {
			e.loops[f.loop].valveShare, e.loops[f.loop].valveTo = size/f.Size, f.Size
		})
	}
	st := &n.stations[f.station]
	more := 100 * (f.Size/100*st.DriveSaturationW/st.DriveW - 1)
	return n.during(f, func(e *effects, size float64) { e.stations[f.station].gainFallPercent += more * size / f.Size })
}

func beginCommonWater(n *night, f *playedFault) error {
	return n.during(f, func(e *effects, size float64) { e.commonWaterK += size })
}

func beginCommonPhase(n *night, f *playedFault) error {
	return n.during(f, func(e *effects, size float64) { e.referenceDeg += size })
}

func beginCommonVoltage(n *night, f *playedFault) error {
	return n.during(f, func(e *effects, size float64) { e.mainsPercent += size })
}
