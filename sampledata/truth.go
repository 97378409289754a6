package sampledata

import (
	"math"
	"time"
)

// Truth is what really happened in a night, known only to who played it. First
// and last are means over the first settled hour and the last settled quarter of
// an hour of a place: its RF on for 21 minutes without a stop.
type Truth struct {
	Machine    string           `json:"machine"`
	Seed       uint64           `json:"seed"`
	From       time.Time        `json:"from"`
	To         time.Time        `json:"to"`
	Faults     []FaultTruth     `json:"faults"`
	Stations   []StationTruth   `json:"stations"`
	Structures []StructureTruth `json:"structures"`
	Waypoints  []WaypointTruth  `json:"waypoints"`
}

// FaultTruth is one fault and what it truly did by the end of the night. A
// number that does not apply, or is not known, is null.
type FaultTruth struct {
	Kind          string    `json:"kind"`
	Place         string    `json:"place"`
	Quantity      string    `json:"quantity,omitempty"`
	Size          float64   `json:"size"`
	Unit          string    `json:"unit"`
	Start         time.Time `json:"start"`
	RampMin       float64   `json:"ramp_min"`
	ByOperator    bool      `json:"by_operator"`     // an everyday step, not asked for
	DetuningKHz   *float64  `json:"detuning_kHz"`    // of structure or compressor, a loop's mean, by this fault alone
	WaterChangeK  *float64  `json:"water_change_K"`  // to ADD to the set point to come back on tune, all causes
	EnergyLostMeV *float64  `json:"energy_lost_MeV"` // at the last waypoint, by this fault alone
}

// StationTruth is the true state of a station.
type StationTruth struct {
	Station       string   `json:"station"`
	FirstGainMeV  *float64 `json:"first_energy_gain_MeV"`
	LastGainMeV   *float64 `json:"last_energy_gain_MeV"`
	FirstDetuning *float64 `json:"first_compressor_detuning_kHz"`
	LastDetuning  *float64 `json:"last_compressor_detuning_kHz"`
	Trips         int      `json:"trips"`
}

// StructureTruth is the true state of a structure.
type StructureTruth struct {
	Structure     string   `json:"structure"`
	FirstDetuning *float64 `json:"first_detuning_kHz"`
	LastDetuning  *float64 `json:"last_detuning_kHz"`
	WaterChangeK  *float64 `json:"water_change_K"` // to ADD to the set point to come back on tune
	FirstGainMeV  *float64 `json:"first_energy_gain_MeV"`
	LastGainMeV   *float64 `json:"last_energy_gain_MeV"`
}

// WaypointTruth is the true energy of the beam at a waypoint.
type WaypointTruth struct {
	Waypoint       string   `json:"waypoint"`
	FirstEnergyMeV *float64 `json:"first_energy_MeV"`
	LastEnergyMeV  *float64 `json:"last_energy_MeV"`
}

// known returns v as a number that may be missing.
func known(v float64) *float64 {
	if math.IsNaN(v) {
		return nil
	}
	return &v
}
