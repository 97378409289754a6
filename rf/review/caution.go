package review

import "strings"

// Hazard is a kind of harm that work on an RF station can do. Hands are kept
// from it by local rules, permits and interlocks; a log proves nothing safe.
type Hazard string

// The hazards of the equipment that findings lead to.
const (
	StoredEnergy    Hazard = "stored energy and high voltage"
	XRays           Hazard = "X-rays"
	RFLeakage       Hazard = "RF leakage"
	PromptRadiation Hazard = "prompt radiation"
	HotWater        Hazard = "hot pressurised water"
	GasAndVacuum    Hazard = "vacuum and insulating gas"
	HiddenDamage    Hazard = "damage behind the reading"
)

// hazards lists what can hurt whoever follows up a cause, worst first.
var hazards = map[Cause][]Hazard{
	WaterDetuning:      {HotWater},
	RegulatingSensor:   {HotWater, PromptRadiation},
	CoolingFlow:        {HotWater, PromptRadiation},
	HeatLoad:           {HotWater},
	TemperatureSensor:  {HotWater, PromptRadiation},
	ReadingDoubted:     {XRays, RFLeakage},
	CompressorDetuning: {HotWater, RFLeakage, GasAndVacuum},
	ModulatorVoltage:   {StoredEnergy, XRays},
	CathodeEmission:    {StoredEnergy, XRays},
	DrivePower:         {XRays, RFLeakage},
	PhaseDrift:         {RFLeakage, PromptRadiation},
	WaveguideLoss:      {HiddenDamage, RFLeakage, GasAndVacuum},
	ReflectedPower:     {HiddenDamage, RFLeakage, GasAndVacuum},
	TooManyTrips:       {HiddenDamage, StoredEnergy, XRays},
	Vacuum:             {HiddenDamage, GasAndVacuum, XRays},
	StuckReading:       {PromptRadiation},
	DataGap:            {PromptRadiation},
	Headroom:           {HotWater},
	CommonWater:        {HotWater},
	CommonPhase:        {RFLeakage},
	CommonVoltage:      {StoredEnergy, XRays},
	CommonTrip:         {StoredEnergy, XRays},
	Unexplained:        {HiddenDamage},
}

// reminders say each hazard in one sentence, to stand beside an advice.
var reminders = map[Hazard]string{
	StoredEnergy:    "Modulator: high voltage and stored energy that kills, also after switch-off; authorised people only, locked out, discharged and proved dead.",
	XRays:           "Klystrons give X-rays whenever high voltage is on, structures and windows whenever RF is on, with or without beam.",
	RFLeakage:       "A loosened or badly closed waveguide flange leaks RF: power off and locked out before it is touched, surveyed after.",
	PromptRadiation: "Tunnel: only through the personnel-protection interlock; nothing in a log shows that it is safe to enter.",
	HotWater:        "Water is hot and under pressure; small steps, one loop at a time, then wait until it has settled.",
	GasAndVacuum:    "Vented, evacuated or gas-filled parts: implosion, suffocation and toxic arc products; gas-trained people only.",
	HiddenDamage:    "May be damage, not drift: raise neither voltage nor power to win energy back, bypass no interlock, ask first.",
}

// HazardsOf returns what can hurt whoever follows up a cause, worst first.
func HazardsOf(c Cause) []Hazard { return hazards[c] }

// CautionFor returns the caution that stands beside the advice on a cause,
// empty where nothing but the log is touched.
func CautionFor(c Cause) string {
	var said []string
	for _, h := range hazards[c] {
		said = append(said, reminders[h])
	}
	if said == nil {
		return ""
	}
	return strings.Join(said, " ") + " Local rules decide."
}
