package ingest

import (
	"fmt"
	"math"
	"path"
	"slices"

	"dawncrest/rf"
)

// noticeOddities tells what is allowed in a plant and still likely a slip.
func (p *plantReader) noticeOddities() {
	for _, s := range p.plant.Structures {
		p.noticeQuality(s)
		p.noticeUnused(s)
	}
	for _, s := range p.plant.Stations {
		p.noticeStation(s)
	}
	p.noticeEnergies()
	p.noticeOtherFiles()
}

func (p *plantReader) notice(format string, args ...any) {
	p.notices = append(p.notices, fmt.Sprintf(format, args...))
}

// The unloaded quality factor of copper travelling-wave structures near 3 GHz.
const (
	usualQLow  = 9000
	usualQHigh = 16000
)

// noticeQuality compares attenuation and filling time, which are one number once
// the quality factor is known: 2 tau = omega t / Q. For one shape of cell the
// quality factor goes with the square root of the wavelength.
//
// Source: [Wiedemann] chapter 18, see package rf, for the relation; the range is
// common practice.
func (p *plantReader) noticeQuality(s rf.Structure) {
	if !s.TravellingWave() {
		return
	}
	omega := 2 * math.Pi * float64(s.Frequency)
	quality := omega * float64(s.FillingTime) / (2 * s.Attenuation)
	scale := math.Sqrt(3e9 / float64(s.Frequency))
	if quality < usualQLow*scale || quality > usualQHigh*scale {
		p.notice("%s: %s: filling_time_us and attenuation_Np give a quality factor of %.0f, where copper near %.0f MHz has %.0f to %.0f; check both",
			structureTable.file, s.Name, quality, rf.In(s.Frequency, rf.Megahertz), usualQLow*scale, usualQHigh*scale)
	}
}

// noticeUnused tells of figures that the kind of a structure makes no use of.
func (p *plantReader) noticeUnused(s rf.Structure) {
	if s.TravellingWave() && (rf.Known(s.UnloadedQ) || rf.Known(s.CouplingBeta) || rf.Known(s.ShuntImpedanceOhm)) {
		p.notice("%s: %s: unloaded_q, coupling_beta and shunt_impedance_MOhm hold for standing_wave only and are not used", structureTable.file, s.Name)
	}
}

func (p *plantReader) noticeStation(s rf.Station) {
	fed := p.plant.StructuresOf(s.Name)
	sum := 0.0
	for _, structure := range fed {
		sum += structure.PowerShare
		if s.HasCompressor() && structure.FillingTime > s.RFPulse-s.PhaseFlip {
			p.notice("%s: %s: the compressed pulse of %.3g us is shorter than the filling time %.3g us of %s", stationTable.file, s.Name,
				rf.In(s.RFPulse-s.PhaseFlip, rf.Microsecond), rf.In(structure.FillingTime, rf.Microsecond), structure.Name)
		}
	}
	const usualShare = 0.9
	switch {
	case len(fed) == 0:
		p.notice("%s: %s: feeds no structure, so it makes no energy", stationTable.file, s.Name)
	case sum < usualShare:
		p.notice("%s: the power_share of the structures of %s add up to %.3g: the rest makes no energy", structureTable.file, s.Name, sum)
	}
	if s.WaterLoop != "" && !s.HasCompressor() {
		p.notice("%s: %s: water_loop is that of the compressor, and the station has none", stationTable.file, s.Name)
	}
}

func (p *plantReader) noticeEnergies() {
	if len(p.plant.Waypoints) == 0 {
		p.notice("%s: there is no [[waypoint]], so no energy that must be met", plantTOMLFile)
	}
	for _, w := range p.plant.Waypoints {
		if w.Required < p.plant.InjectionEnergy {
			p.notice("%s: %s: required_energy_MeV is below the injection energy", plantTOMLFile, w.Name)
		}
	}
}

// noticeOtherFiles tells of tables that nothing reads, as they may be misspelt.
func (p *plantReader) noticeOtherFiles() {
	for _, file := range p.listing {
		if extension := path.Ext(file); (extension == ".csv" || extension == ".toml") && !slices.Contains(plantFiles, file) {
			p.notice("%s is not read; %s", shownText(file), didYouMean(file, plantFiles, "a plant folder has no file of that name"))
		}
	}
}
