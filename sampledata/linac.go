package sampledata

import (
	"math"
	"math/cmplx"
)

// Linac is a machine made ready to play: the numerical integrations are done
// once and kept as tables. Any number of nights can be played on it, at once too.
type Linac struct {
	machine    Machine
	stations   []preparedStation
	structures []preparedStructure
	loops      []string
}

type preparedStation struct {
	Station
	hidden      hiddenStation
	structures  []int
	loop        int   // of its compressor; -1: its own
	pulses      curve // middle of the compressed pulse: its field
	peaks       curve
	energies    curve   // us
	sourceKV    float64 // normal, of a load-line modulator
	resistKOhm  float64
	normalMW    float64 // forward power
	normalAngle float64 // of the energy gain against the klystron, as it was phased
	nearTune    float64 // kHz, where the compressor rests
}

type preparedStructure struct {
	Structure
	hidden       hiddenStructure
	station      int
	loop         int
	guide        guide
	gain         surface // MV for a megawatt of klystron wave, compressor by structure detuning
	answer       curve   // standing wave: MV for a megawatt
	reflected    curve   // standing wave
	copperShare  float64 // of the energy that enters
	tunedBody    float64 // degC
	restInlet    float64 // degC, where its water is set
	normalHeatKW float64
}

// Prepare integrates everything about the machine that does not change in a
// night.
func Prepare(m Machine) *Linac {
	l := &Linac{machine: m}
	index := map[string]int{}
	for _, s := range m.Structures {
		if _, ok := index[s.loop()]; !ok {
			index[s.loop()] = len(l.loops)
			l.loops = append(l.loops, s.loop())
		}
	}
	for _, s := range m.Stations {
		p := prepareStation(s, m)
		if s.WaterLoop != "" {
			if _, ok := index[s.WaterLoop]; !ok {
				index[s.WaterLoop] = len(l.loops)
				l.loops = append(l.loops, s.WaterLoop)
			}
			p.loop = index[s.WaterLoop]
		}
		l.stations = append(l.stations, p)
	}
	for _, s := range m.Structures {
		station, _ := m.station(s.Station)
		p := preparedStructure{Structure: s, hidden: hideStructure(s, m), station: station, loop: index[s.loop()]}
		l.stations[station].structures = append(l.stations[station].structures, len(l.structures))
		l.structures = append(l.structures, p)
	}
	for i := range l.stations {
		l.integrate(&l.stations[i])
	}
	l.settleLoops()
	for i := range l.stations {
		st := &l.stations[i]
		st.normalAngle = cmplx.Phase(l.stationGain(st, st.nearTune, func(x int) float64 { return l.restDetuning(x) }))
	}
	return l
}

func prepareStation(s Station, m Machine) preparedStation {
	p := preparedStation{Station: s, hidden: hideStation(s, m.Seed), loop: -1}
	currentA := p.hidden.microperveance * 1e-6 * math.Pow(s.VoltageKV*1e3, 1.5)
	p.resistKOhm = s.VoltageKV / currentA
	p.sourceKV = 2 * s.VoltageKV
	p.normalMW = p.forwardMW(s.VoltageKV, p.hidden.microperveance, s.DriveW)
	p.nearTune = -p.hidden.restK * m.ExpansionPerK * m.FrequencyMHz * 1e3
	return p
}

// forwardMW is the klystron law: the beam's power, the share of it that a
// saturated tube turns into RF, and how near the drive comes to saturation.
func (p *preparedStation) forwardMW(voltageKV, microperveance, driveW float64) float64 {
	beamMW := microperveance * 1e-6 * math.Pow(voltageKV*1e3, 2.5) / 1e6
	efficiency := p.hidden.efficiency * math.Pow(voltageKV/p.VoltageKV, p.hidden.efficiencyPower)
	return efficiency * beamMW * saturation(p.overdrive(voltageKV, driveW))
}

func (p *preparedStation) overdrive(voltageKV, driveW float64) float64 {
	return driveW / (p.hidden.saturationW * math.Pow(voltageKV/p.VoltageKV, p.hidden.saturationPower))
}

// integrate fills the tables of a station and of the structures on it.
func (l *Linac) integrate(st *preparedStation) {
	rows := noAxis
	if st.compressed() {
		rows = compressorAxis
	}
	pulses := make([]pulse, rows.points)
	st.pulses, st.peaks, st.energies = curve{axis: rows}, curve{axis: rows}, curve{axis: rows}
	for i := range pulses {
		pulses[i] = newPulse(st.Station, st.hidden.compressorQ0, rows.at(i))
		st.pulses.values = append(st.pulses.values, pulses[i].middle)
		st.peaks.values = append(st.peaks.values, complex(pulses[i].peak, 0))
		st.energies.values = append(st.energies.values, complex(pulses[i].energyUs, 0))
	}
	energyUs := real(st.energies.at(st.nearTune))
	for _, x := range st.structures {
		s := &l.structures[x]
		if s.Kind == standingWave {
			s.integrateCavity(st.RFPulseUs)
		} else {
			s.integrateGuide(rows, pulses)
		}
		averageKW := st.normalMW * st.hidden.lossShare * s.PowerShare * energyUs * l.machine.RepetitionRateHz * 1e-3
		s.normalHeatKW = averageKW * s.copperShare
		s.tunedBody = s.hidden.tunedInDegC + s.hidden.heatingKPerKW*s.normalHeatKW
	}
}

func (s *preparedStructure) integrateGuide(rows axis, pulses []pulse) {
	s.guide = newGuide(s.Structure)
	s.copperShare = 1 - s.guide.transmission
	s.gain = surface{rows: rows, columns: structureAxis}
	turned := make([][]complex128, structureAxis.points)
	for k := range turned {
		turned[k] = s.guide.turning(structureAxis.at(k))
	}
	for _, p := range pulses {
		arriving := s.guide.arriving(p)
		for _, t := range turned {
			s.gain.values = append(s.gain.values, overlap(arriving, t))
		}
	}
}

func (s *preparedStructure) integrateCavity(pulseUs float64) {
	s.answer, s.reflected = curve{axis: structureAxis}, curve{axis: structureAxis}
	for k := range structureAxis.points {
		a := newCavityAnswer(s.Structure, pulseUs, structureAxis.at(k))
		s.answer.values = append(s.answer.values, a.voltageMV)
		s.reflected.values = append(s.reflected.values, complex(a.reflected, 0))
	}
	tuned := newCavityAnswer(s.Structure, pulseUs, 0)
	s.copperShare = tuned.copperUs / pulseUs
}

// settleLoops finds the set point of each loop: where its structures, taken
// together, rest a little off tune as people left them.
func (l *Linac) settleLoops() {
	sum, count := make([]float64, len(l.loops)), make([]float64, len(l.loops))
	for _, s := range l.structures {
		sum[s.loop] += s.hidden.tunedInDegC + s.hidden.restK
		count[s.loop]++
	}
	for i := range l.structures {
		s := &l.structures[i]
		s.restInlet = sum[s.loop] / count[s.loop]
	}
}

func (l *Linac) restDetuning(structure int) float64 {
	s := &l.structures[structure]
	return -s.hidden.kHzPerK * (s.restInlet - s.hidden.tunedInDegC)
}

// stationGain adds up what the structures of a station give for its normal
// power, MV, as a phasor against the klystron's wave.
func (l *Linac) stationGain(st *preparedStation, compressorKHz float64, detuningKHz func(structure int) float64) complex128 {
	var sum complex128
	for _, x := range st.structures {
		s := &l.structures[x]
		sum += s.voltage(st.normalMW*st.hidden.lossShare*s.PowerShare, compressorKHz, detuningKHz(x))
	}
	return sum
}

// voltage returns the gain of a structure, MV, that gets so much of the
// klystron's power.
func (s *preparedStructure) voltage(powerMW, compressorKHz, detuningKHz float64) complex128 {
	root := complex(math.Sqrt(max(powerMW, 0)), 0)
	if s.Kind == standingWave {
		return root * s.answer.at(detuningKHz)
	}
	return root * s.gain.at(compressorKHz, detuningKHz)
}

// tunedEnergyMeV is the beam's energy after a station where all is on tune.
func (m Machine) tunedEnergyMeV(after int) float64 {
	e := m.InjectionEnergyMeV
	for _, st := range m.Stations[:after+1] {
		if st.Spare {
			continue
		}
		p := newPulse(st, st.CompressorQ0, 0)
		power := prepareStation(st, m).normalMW * tenth(st.WaveguideLossDB)
		for _, s := range m.Structures {
			if s.Station != st.Name {
				continue
			}
			e += tunedGain(s, p) * math.Sqrt(power*s.PowerShare) * math.Cos(st.CrestOffsetDeg*math.Pi/180)
		}
	}
	return e
}

// tunedGain is the gain of a structure on tune, MV for the root of a megawatt.
func tunedGain(s Structure, p pulse) float64 {
	if s.standing() {
		return real(newCavityAnswer(s, p.endUs, 0).voltageMV)
	}
	g := newGuide(s)
	return real(overlap(g.arriving(p), g.turning(0)))
}

// tenth returns the share of power that is left after a loss in decibel.
func tenth(lossDB float64) float64 { return math.Pow(10, -lossDB/10) }
