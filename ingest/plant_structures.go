package ingest

import (
	"fmt"
	"math"
	"strings"

	"dawncrest/rf"
)

var structureTable = plantTable{
	file:  "structures.csv",
	about: "one row for each accelerating structure or cavity",
	columns: []entrySpec{
		{name: "structure", about: "the structure's name as it stands in the log's headings"},
		{name: "station", about: "the name of the station that feeds it"},
		{name: "kind", about: "constant_gradient, constant_impedance or standing_wave"},
		{name: "length_m", blank: true, low: 0.01, high: 20, about: "its active length in m"},
		{name: "shunt_impedance_MOhm_per_m", blank: true, low: 1, high: 1000, about: "its effective shunt impedance in MOhm/m"},
		{name: "attenuation_Np", blank: true, low: 0.001, high: 3, about: "its one-way attenuation of the field in neper (dB over 8.686)"},
		{name: "filling_time_us", blank: true, low: 0.001, high: 100, about: "its filling time in us"},
		{name: "power_share", low: 0.001, high: 1, percent: true, about: "the part of the station's power that it gets"},
		{name: "tuned_water_degC", blank: true, low: 1, high: 99, about: "the temperature in degC of the inlet water that tunes it at normal RF power"},
		{name: "tuned_phase_deg", blank: true, low: -1e5, high: 1e5, about: "output phase minus input phase in degrees when it is on tune"},
		{name: "heating_K_per_kW", blank: true, low: 0, high: 100, about: "by how many kelvin its body is above the inlet for each kilowatt lost in its copper"},
		{name: "water_loop", optional: true, about: "the water loop it shares with others, nothing where it has its own"},
		{name: "thermal_time_min", optional: true, low: 0.1, high: 240, about: "its thermal time constant in minutes"},
		{name: "kHz_per_K", optional: true, low: -10000, high: -0.1, about: "its measured change of frequency in kHz for each kelvin; warmer is lower, so it is negative"},
		{name: "tuned_phase_error_deg", optional: true, low: 0.01, high: 180, about: "the uncertainty of tuned_phase_deg in degrees, one sigma"},
		{name: "tuned_phase_on", optional: true, about: "the day tuned_phase_deg was measured, such as 2026-03-01"},
		{name: "frequency_MHz", optional: true, low: 100, high: 1e5, about: "its own frequency in MHz where it is not the linac's"},
		{name: "unloaded_q", optional: true, low: 100, high: 1e7, about: "the unloaded quality factor of the cavity"},
		{name: "coupling_beta", optional: true, low: 0.01, high: 1000, about: "the coupling factor of the cavity"},
		{name: "shunt_impedance_MOhm", optional: true, low: 0.001, high: 1e4, about: "the effective shunt impedance of the whole cavity in MOhm"},
	},
}

type structureRow struct {
	Structure        entry `csv:"structure"`
	Station          entry `csv:"station"`
	Kind             entry `csv:"kind"`
	Length           entry `csv:"length_m"`
	ShuntImpedance   entry `csv:"shunt_impedance_MOhm_per_m"`
	Attenuation      entry `csv:"attenuation_Np"`
	FillingTime      entry `csv:"filling_time_us"`
	PowerShare       entry `csv:"power_share"`
	TunedWater       entry `csv:"tuned_water_degC"`
	TunedPhase       entry `csv:"tuned_phase_deg"`
	Heating          entry `csv:"heating_K_per_kW"`
	WaterLoop        entry `csv:"water_loop"`
	ThermalTime      entry `csv:"thermal_time_min"`
	KHzPerK          entry `csv:"kHz_per_K"`
	TunedPhaseError  entry `csv:"tuned_phase_error_deg"`
	TunedPhaseOn     entry `csv:"tuned_phase_on"`
	Frequency        entry `csv:"frequency_MHz"`
	UnloadedQ        entry `csv:"unloaded_q"`
	CouplingBeta     entry `csv:"coupling_beta"`
	CavityShuntMOhms entry `csv:"shunt_impedance_MOhm"`
}

func (p *plantReader) readStructures() {
	rows, whole := readTable[structureRow](p, &structureTable)
	p.structuresWhole = whole
	for _, row := range rows {
		s := row.structure(p)
		p.structuresWhole = p.structuresWhole && s.Name != ""
		p.plant.Structures = append(p.plant.Structures, s)
	}
	for i, row := range rows {
		p.plant.Structures[i].WaterLoop = p.newPlace(row.WaterLoop, rf.OfLoop)
	}
	for _, s := range p.plant.Structures {
		if place, ok := p.places[strings.ToLower(s.Name)]; ok && s.WaterLoop == "" {
			place.kind |= rf.OfLoop // its water is its own
			p.places[strings.ToLower(s.Name)] = place
		}
	}
	if whole && len(rows) == 0 {
		p.structuresWhole = false
		p.faultAt(structureTable.file, 0, "", "has no rows", "write "+structureTable.about)
	}
	p.checkShares(rows)
}

// structure checks a row, all but the water loop: a loop's name must not be that
// of a structure that is still to come.
func (row structureRow) structure(p *plantReader) rf.Structure {
	name := p.newPlace(row.Structure, rf.OfStructure)
	station, _ := p.oldPlace(row.Station, rf.OfStation)
	s := rf.Structure{
		Name:            name,
		Station:         station,
		Kind:            rf.StructureKind(p.keyword(row.Kind, string(rf.ConstantGradient), string(rf.ConstantImpedance), string(rf.StandingWave))),
		PowerShare:      p.number(row.PowerShare),
		TunedWater:      rf.Celsius(p.number(row.TunedWater)),
		TunedPhase:      rf.Phase(p.number(row.TunedPhase)) * rf.Degree,
		HeatingKPerKW:   p.number(row.Heating),
		ThermalTime:     rf.Interval(p.number(row.ThermalTime)) * rf.Minute,
		HzPerK:          p.number(row.KHzPerK) * 1e3,
		TunedPhaseError: rf.DefaultTunedPhaseError,
		TunedPhaseOn:    p.day(row.TunedPhaseOn),
		Frequency:       p.plant.Frequency,
	}
	if row.TunedPhaseError.given() {
		s.TunedPhaseError = rf.Phase(p.number(row.TunedPhaseError)) * rf.Degree
	}
	if row.Frequency.given() {
		s.Frequency = rf.Frequency(p.number(row.Frequency)) * rf.Megahertz
	}
	// What one kind of structure needs, the other may leave empty.
	travelling, standing := p.number, p.number
	switch s.Kind {
	case rf.ConstantGradient, rf.ConstantImpedance:
		travelling = func(e entry) float64 { return p.need(e, "a travelling-wave structure needs it") }
	case rf.StandingWave:
		standing = func(e entry) float64 { return p.need(e, "a standing_wave structure needs it") }
	}
	s.LengthM = travelling(row.Length)
	s.ShuntImpedanceOhmPerM = travelling(row.ShuntImpedance) * 1e6
	s.Attenuation = travelling(row.Attenuation)
	s.FillingTime = rf.Interval(travelling(row.FillingTime)) * rf.Microsecond
	s.UnloadedQ = standing(row.UnloadedQ)
	s.CouplingBeta = standing(row.CouplingBeta)
	s.ShuntImpedanceOhm = standing(row.CavityShuntMOhms) * 1e6
	return s
}

// shareSlack forgives shares that were rounded, such as three of 0.3334.
const shareSlack = 1e-3

// checkShares refuses shares that give out more power than a station has.
func (p *plantReader) checkShares(rows []structureRow) {
	sums := map[string]float64{}
	over := map[string]bool{}
	for i, s := range p.plant.Structures {
		if s.Station == "" || math.IsNaN(s.PowerShare) {
			continue
		}
		sums[s.Station] += s.PowerShare
		if sums[s.Station] > 1+shareSlack && !over[s.Station] {
			over[s.Station] = true
			p.fault(rows[i].PowerShare, fmt.Sprintf("the shares of %s add up to %.4g by this row", s.Station, sums[s.Station]), "write shares that add up to 1 at most")
		}
	}
}
