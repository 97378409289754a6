package review_test

import (
	"hash/fnv"
	"math"
	"math/rand/v2"
	"sort"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/review"
	"dawncrest/rf/series"
)

// bench is a small linac and one night of it, written down reading by reading: a
// level, its scatter, and what is laid over it. Nothing here calls a formula of
// the review; sizes of faults stand in the tests, from published physics.
type bench struct {
	plant    *rf.Plant
	start    time.Time
	hours    float64
	width    time.Duration
	seed     uint64
	readings []*reading
	stops    []stop
	events   []series.Event
}

// reading is one channel: level, scatter of a cell's mean, and what it does over
// the night, in its own unit.
type reading struct {
	place   string
	q       rf.Quantity
	level   float64
	scatter float64
	moves   []course
	silent  [][2]float64 // hours without readings
	still   [][2]float64 // hours in which it stands still
	step    float64      // resolution, 0: fine
	inCell  float64      // scatter of single readings within a cell; 0: three times scatter
}

// course is what a reading does over the hours of the night.
type course func(h float64) float64

type stop struct {
	station  string
	from, to float64 // hours
}

// The slip of phase advance per kelvin of the bench's structures: 360 deg times
// 16.6e-6/K times 2856 MHz times 0.83 us, worked out by hand.
const slipDegPerK = -14.17

// Levels of the bench, worked out by hand: 2.0 microperveance at 267 kV is 276 A,
// 73.7 MW of beam and 30 MW of RF at 40.7 %; the loss to the compressor is
// 0.2 dB, its peak power gain on tune 5.156 (pulse 3.5 us, flip at 2.67 us), and
// a structure lets exp(-2 x 0.57) = 0.32 of its power out again.
const (
	voltageKV    = 267.0
	currentA     = 275.93
	driveW       = 200.0
	forwardMW    = 30.0
	compressedMW = 147.72
	inputMW      = 73.86
	plainInputMW = 28.65
	throughTW    = 0.3198
	waterDegC    = 30.0
	phaseAdvance = 40.0
)

// newBench returns a linac of three stations and eight quiet hours of it. S1 and
// S2 compress their pulse and feed two structures each, S3 feeds one without.
func newBench() *bench {
	b := &bench{
		plant: benchPlant(),
		start: time.Date(2031, 3, 4, 20, 0, 0, 0, time.UTC),
		hours: 8, width: time.Minute, seed: 1,
	}
	for _, s := range b.plant.Stations {
		b.logStation(s)
	}
	for _, s := range b.plant.Structures {
		input := inputMW
		if s.Station == "S3" {
			input = plainInputMW
		}
		b.logStructure(s.Name, input)
	}
	return b
}

func benchPlant() *rf.Plant {
	p := &rf.Plant{
		Name: "bench", Frequency: 2856 * rf.Megahertz, RepetitionRate: 50, Zone: time.UTC,
		InjectionEnergy: 5 * rf.Megaelectronvolt, ExpansionPerK: rf.DefaultExpansionPerK,
		Stations:   []rf.Station{benchStation("S1"), benchStation("S2"), benchStation("S3")},
		Tolerances: rf.BuiltInTolerances(),
	}
	p.Stations[2].PhaseFlip = rf.Unknown[rf.Interval]()
	for _, name := range []string{"S1A", "S1B", "S2A", "S2B", "S3A"} {
		p.Structures = append(p.Structures, benchStructure(name))
	}
	p.Structures[4].PowerShare = 1
	return p
}

func benchStation(name string) rf.Station {
	return rf.Station{
		Name: name, RatedPower: 35 * rf.Megawatt, Microperveance: 2, Efficiency: 0.42, DriftLengthM: 0.6,
		RFPulse: 3.5 * rf.Microsecond, PhaseFlip: 2.67 * rf.Microsecond, CompressorQ0: 1e5, CompressorBeta: 5,
		CompressorTuned: rf.Celsius(45), WaveguideLossDB: 0.2,
		ConditionedPower: rf.Unknown[rf.Power](), DriveSaturation: rf.Unknown[rf.Power](),
		PhasePushingDegPerPercent: 6, TripsPerDay: math.NaN(),
	}
}

func benchStructure(name string) rf.Structure {
	return rf.Structure{
		Name: name, Station: name[:2], Kind: rf.ConstantGradient, LengthM: 3.048, ShuntImpedanceOhmPerM: 53e6,
		Attenuation: 0.57, FillingTime: 0.83 * rf.Microsecond, PowerShare: 0.5,
		TunedWater: rf.Unknown[rf.Temperature](), TunedPhase: rf.Unknown[rf.Phase](), HeatingKPerKW: 0.7,
		ThermalTime: rf.Unknown[rf.Interval](), HzPerK: math.NaN(), TunedPhaseError: 2 * rf.Degree,
		Frequency: 2856 * rf.Megahertz,
	}
}

func (b *bench) logStation(s rf.Station) {
	b.log(s.Name, rf.BeamVoltage, voltageKV, 0.03)
	b.log(s.Name, rf.BeamCurrent, currentA, 0.05)
	b.log(s.Name, rf.DrivePower, driveW, 0.4)
	b.log(s.Name, rf.DrivePhase, 77, 0.05)
	b.log(s.Name, rf.ForwardPower, forwardMW, 0.02)
	b.log(s.Name, rf.ForwardPhase, 12, 0.05)
	b.log(s.Name, rf.ReflectedPower, 0.3, 0.003)
	b.log(s.Name, rf.VacuumPressure, 2e-8, 2e-10)
	if s.HasCompressor() {
		b.log(s.Name, rf.CompressedPower, compressedMW, 0.1)
		b.log(s.Name, rf.CompressorTemperature, 45, 0.004)
	}
	b.log(s.Name, rf.RFOn, 1, 0)
}

func (b *bench) logStructure(name string, input float64) {
	b.log(name, rf.InputPower, input, input*1e-3)
	b.log(name, rf.InputPhase, -25, 0.05)
	b.log(name, rf.OutputPower, input*throughTW, input*throughTW*1e-3)
	b.log(name, rf.OutputPhase, -25+phaseAdvance, 0.05)
	b.log(name, rf.WaterTemperature, waterDegC, 0.004)
	b.log(name, rf.ReturnTemperature, waterDegC+1, 0.005)
	b.log(name, rf.BodyTemperature, waterDegC+1.2, 0.005)
	b.log(name, rf.WaterFlow, 15, 0.02)
}

// log adds a channel.
func (b *bench) log(place string, q rf.Quantity, level, scatter float64) *reading {
	r := &reading{place: place, q: q, level: level, scatter: scatter}
	b.readings = append(b.readings, r)
	return r
}

// at returns a channel that is logged.
func (b *bench) at(place string, q rf.Quantity) *reading {
	for _, r := range b.readings {
		if r.place == place && r.q == q {
			return r
		}
	}
	panic("the bench does not log " + place + " " + string(q))
}

// drop leaves readings out of the log: at one place, or everywhere.
func (b *bench) drop(place string, qs ...rf.Quantity) {
	var kept []*reading
	for _, r := range b.readings {
		gone := false
		for _, q := range qs {
			gone = gone || r.q == q && (place == "" || r.place == place)
		}
		if !gone {
			kept = append(kept, r)
		}
	}
	b.readings = kept
}

// move lays a course over a reading, in its own unit.
func (b *bench) move(place string, q rf.Quantity, c course) {
	r := b.at(place, q)
	r.moves = append(r.moves, c)
}

// shift is by how much one reading moves: in percent where it ends in Percent of
// its level, else in its own unit.
type shift struct {
	place   string
	q       rf.Quantity
	amount  float64
	percent bool
}

func by(place string, q rf.Quantity, amount float64) shift { return shift{place, q, amount, false} }

func byPercent(place string, q rf.Quantity, amount float64) shift {
	return shift{place, q, amount, true}
}

// play lets readings move together: a course from 0 to 1, times their amounts.
func (b *bench) play(c course, shifts ...shift) {
	for _, s := range shifts {
		amount := s.amount
		if s.percent {
			amount *= b.at(s.place, s.q).level / 100
		}
		b.move(s.place, s.q, func(h float64) float64 { return amount * c(h) })
	}
}

// ramp rises from 0 to 1 between two hours of the night, and stays.
func ramp(from, to float64) course {
	return func(h float64) float64 { return min(max((h-from)/(to-from), 0), 1) }
}

// stepAt rises from 0 to 1 at an hour.
func stepAt(at float64) course {
	return func(h float64) float64 {
		if h < at {
			return 0
		}
		return 1
	}
}

// stop turns a station's RF off between two hours.
func (b *bench) stop(station string, from, to float64) {
	b.stops = append(b.stops, stop{station, from, to})
}

// trip stops a station for two minutes, with its event.
func (b *bench) trip(station string, at float64) {
	b.stop(station, at, at+2.0/60)
	b.events = append(b.events, series.Event{At: b.hour(at), Kind: series.Trip, Place: station, Count: 1})
}

// hour returns a time of the night.
func (b *bench) hour(h float64) time.Time {
	return b.start.Add(time.Duration(math.Round(h*3600)) * time.Second)
}

func (b *bench) stationOf(place string) string {
	if s, ok := b.plant.Structure(place); ok {
		return s.Station
	}
	return place
}

// off reports whether a station's RF was off at an hour.
func (b *bench) off(station string, h float64) bool {
	for _, s := range b.stops {
		if s.station == station && h >= s.from && h < s.to {
			return true
		}
	}
	return false
}

func (b *bench) night() *series.Night {
	n := &series.Night{Start: b.start, Width: b.width, Cells: int(math.Round(b.hours / b.width.Hours())), Events: b.events}
	for _, r := range b.readings {
		ch := series.Channel{Place: r.place, Quantity: r.q, Cells: make([]series.Cell, n.Cells)}
		random := rand.New(rand.NewPCG(b.seed, nameOf(r)))
		still := math.NaN()
		for i := range ch.Cells {
			h := (float64(i) + 0.5) * b.width.Hours()
			noise := random.NormFloat64() // drawn in every cell, so that a silence moves no other
			lost := 360 * (random.Float64() - 0.5)
			switch {
			case inside(r.silent, h):
				continue
			case inside(r.still, h):
				if math.IsNaN(still) {
					still = r.value(h)
				}
				ch.Cells[i] = cellOf(still, 0)
				continue
			case b.off(b.stationOf(r.place), h) && dies(r.q):
				ch.Cells[i] = cellOf(0, 0)
				continue
			case b.off(b.stationOf(r.place), h) && turns(r.q):
				ch.Cells[i] = cellOf(lost, 100)
				continue
			}
			v := r.value(h) + r.scatter*noise
			within := r.inCell
			if within == 0 {
				within = 3 * r.scatter
			}
			if r.step > 0 {
				v, within = r.step*math.Round(v/r.step), 0
			}
			ch.Cells[i] = cellOf(v, within)
		}
		n.Channels = append(n.Channels, ch)
	}
	return n
}

// dies tells the readings that are zero without RF, turns those that then read
// any phase.
func dies(q rf.Quantity) bool {
	switch q {
	case rf.RFOn, rf.ForwardPower, rf.ReflectedPower, rf.CompressedPower, rf.InputPower, rf.OutputPower,
		rf.BeamVoltage, rf.BeamCurrent, rf.CavityVoltage:
		return true
	}
	return false
}

func turns(q rf.Quantity) bool {
	return q == rf.ForwardPhase || q == rf.InputPhase || q == rf.OutputPhase || q == rf.CavityPhase
}

func (r *reading) value(h float64) float64 {
	v := r.level
	for _, c := range r.moves {
		v += c(h)
	}
	return v
}

// cellOf is a cell of sixty readings of a mean and a spread.
func cellOf(mean, sigma float64) series.Cell {
	return series.Cell{Count: 60, Mean: mean, M2: 59 * sigma * sigma, Min: mean - 2.5*sigma, Max: mean + 2.5*sigma, Last: mean}
}

func inside(spans [][2]float64, h float64) bool {
	for _, s := range spans {
		if h >= s[0] && h < s[1] {
			return true
		}
	}
	return false
}

func nameOf(r *reading) uint64 {
	f := fnv.New64a()
	f.Write([]byte(r.place + " " + string(r.q)))
	return f.Sum64()
}

func (b *bench) review() *review.Report { return b.reviewWith(review.Options{}) }

func (b *bench) reviewWith(o review.Options) *review.Report {
	return review.Review(b.plant, b.night(), o)
}

// only takes everything out of the log but some quantities.
func (b *bench) only(qs ...rf.Quantity) {
	var kept []*reading
	for _, r := range b.readings {
		for _, q := range qs {
			if r.q == q {
				kept = append(kept, r)
			}
		}
	}
	b.readings = kept
}

// sortEvents brings the events into the order of time, as the reader leaves them.
func (b *bench) sortEvents() {
	sort.SliceStable(b.events, func(i, j int) bool { return b.events[i].At.Before(b.events[j].At) })
}
