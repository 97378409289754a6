package sampledata

import "fmt"

// starter lets a fault begin: it adds what the fault does to the night, or says
// why it cannot be.
type starter func(n *night, f *playedFault) error

func onMachine(apply func(e *effects, size float64)) starter {
	return func(n *night, f *playedFault) error {
		n.during(f, apply)
		return nil
	}
}

func onStation(apply func(e *stationEffect, size float64)) starter {
	return func(n *night, f *playedFault) error {
		n.during(f, func(e *effects, size float64) { apply(&e.stations[f.station], size) })
		return nil
	}
}

func onStructure(apply func(e *structureEffect, size float64)) starter {
	return func(n *night, f *playedFault) error {
		n.during(f, func(e *effects, size float64) { apply(&e.structures[f.structure], size) })
		return nil
	}
}

// onLoop is for a water loop or a structure with water of its own.
func onLoop(apply func(e *loopEffect, size float64)) starter {
	return func(n *night, f *playedFault) error {
		loop := f.loop
		if f.structure >= 0 {
			s := &n.structures[f.structure]
			if s.WaterLoop != "" {
				return fmt.Errorf("it shares its water: name the loop %s", s.WaterLoop)
			}
			loop = s.loop
		}
		n.during(f, func(e *effects, size float64) { apply(&e.loops[loop], size) })
		return nil
	}
}

func beginFlow(n *night, f *playedFault) error {
	if f.Size <= -95 {
		return fmt.Errorf("size %v %%: must be above -95, a structure is never run dry", f.Size)
	}
	return onStructure(func(e *structureEffect, size float64) { e.flowPercent += size })(n, f)
}

func beginCompressor(n *night, f *playedFault) error {
	if !n.stations[f.station].compressed() {
		return fmt.Errorf("it has no compressor")
	}
	return onStation(func(e *stationEffect, size float64) { e.compressorK += size })(n, f)
}

func beginDrive(n *night, f *playedFault) error {
	if f.Size <= -95 {
		return fmt.Errorf("size %v %%: must be above -95", f.Size)
	}
	return onStation(func(e *stationEffect, size float64) { e.drivePercent += size })(n, f)
}

func beginLoss(n *night, f *playedFault) error {
	switch {
	case f.Size >= 100:
		return fmt.Errorf("size %v %%: must be below 100", f.Size)
	case f.structure >= 0:
		return onStructure(func(e *structureEffect, size float64) { e.lossPercent += size })(n, f)
	}
	return onStation(func(e *stationEffect, size float64) { e.lossPercent += size })(n, f)
}

func beginSetPoint(n *night, f *playedFault) error {
	f.Ramp, f.rampS = 0, 0
	return onStation(func(e *stationEffect, size float64) {
		switch f.Quantity {
		case "beam_voltage":
			e.voltageSetPercent += size
		case "drive_phase":
			e.phaseSetDeg += size
		case "drive_power":
			e.drivePercent += size
		}
	})(n, f)
}

func beginVacuum(n *night, f *playedFault) error {
	if f.Size < 1 {
		return fmt.Errorf("size %v: must be 1 or more times the pressure", f.Size)
	}
	return onStation(func(e *stationEffect, size float64) {
		e.vacuumFactor *= 1 + (f.Size-1)*size/f.Size
	})(n, f)
}

func beginHeadroom(n *night, f *playedFault) error {
	switch {
	case f.Size <= 0 || f.Size > 100:
		return fmt.Errorf("size %v %%: must be above 0, at most 100", f.Size)
	case f.loop >= 0 && !n.reads(f.Place, "valve_opening"):
		return fmt.Errorf("its valve is not logged: name a shared loop")
	case f.loop >= 0:
		return onLoop(func(e *loopEffect, size float64) { e.valveShare, e.valveTo = size/f.Size, f.Size })(n, f)
	}
	st := &n.stations[f.station]
	more := 100 * (f.Size/100*st.DriveSaturationW/st.DriveW - 1)
	return onStation(func(e *stationEffect, size float64) { e.gainFallPercent += more * size / f.Size })(n, f)
}
