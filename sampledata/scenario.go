package sampledata

import (
	"fmt"
	"slices"
	"time"
)

// Scenario is a night to play: when, how often it is read, what goes wrong and
// which of the ordinary nuisances are left out or added.
type Scenario struct {
	Seed     uint64
	Start    time.Time
	Length   time.Duration
	Interval time.Duration // between readings
	Faults   []Fault
	Without  Nuisance // of every day, left out
	With     Nuisance // rarer ones, added
	Leave    []string // not logged: "quantity" or "place quantity"
}

// Nuisance is a set of things that real nights bring and that are no fault.
type Nuisance uint32

// The nuisances of every day: played unless a scenario leaves them out.
const (
	WaterCycles   Nuisance = 1 << iota // a few hundredths of a kelvin every 20 to 40 minutes
	GallerySwing                       // its temperature moves all cable phases a little
	MainsSwing                         // moves all modulators together
	CouplerErrors                      // several per cent, steady
	CouplerDrift                       // a few tenths of a per cent over the night
	PickupDrift                        // phases, a few tenths of a degree
	PhaseWrap                          // phases shown between -180 and 180
	Quantisation                       // thermometers and meters in steps
	Noise                              // of every reading
	OrdinaryTrips                      // none, one or two at each station, with thermal recovery
	DriveDrift                         // of each station: tenths of a per cent, tenths of a degree
	VacuumUnrest                       // slow, and in bursts of minutes
	everydayEnd                        // not one itself
)

// The rarer nuisances: played when a scenario adds them.
const (
	SetPointChange Nuisance = everydayEnd << iota // an operator's step, logged in the set value
	StationStandby                                // one station off for an hour
	WarmUpStart                                   // RF came on minutes before the log begins
	MainsDip                                      // trips many stations in the same second
)

const everyday = everydayEnd - 1

func (s Scenario) plays(n Nuisance) bool {
	return (everyday&^s.Without|s.With)&n != 0
}

func (s Scenario) leaves(place, quantity string) bool {
	return slices.Contains(s.Leave, quantity) || slices.Contains(s.Leave, place+" "+quantity)
}

func (s Scenario) end() time.Time { return s.Start.Add(s.Length) }

func (s Scenario) validate() error {
	switch {
	case s.Start.IsZero():
		return fmt.Errorf("scenario: no start")
	case s.Length <= 0:
		return fmt.Errorf("scenario: length %v: must be above 0", s.Length)
	case s.Interval <= 0 || s.Interval > s.Length:
		return fmt.Errorf("scenario: interval %v: must be above 0 and within the length %v", s.Interval, s.Length)
	}
	return nil
}

// BareLog names the quantities that a scenario leaves out to be logged as
// sparely as many machines are: no set values, no flow, no loops, no gallery.
func BareLog() []string {
	return []string{
		"beam_voltage_set", "drive_phase_set", "heater_current", "pulse_flatness", "trip_reason",
		"return_temperature", "water_flow", "loop_temperature", "valve_opening", "heater_power",
		"gallery_temperature", "gallery_humidity", "reference_phase", "beam_charge", "repetition_rate",
	}
}
