package test

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"slices"
	"sort"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"dawncrest/ingest"
	"dawncrest/rf"
	"dawncrest/rf/review"
	"dawncrest/rf/series"
	"dawncrest/sampledata"
)

// The long run: go test ./test -run TestScore -score.faults 300 -score.quiet 400 -timeout 0 -v
var (
	scoreFaults = flag.Int("score.faults", 3, "faults of each cause to play")
	scoreQuiet  = flag.Int("score.quiet", 6, "quiet nights to play")
	scoreSeed   = flag.Uint64("score.seed", 1, "of the nights")
	scoreDelay  = flag.Bool("score.delay", false, "measure the delay from onset to verdict too")
	scoreTell   = flag.Bool("score.tell", false, "print every night that was not told right")
	scoreSigma  = flag.Bool("score.sigma", false, "print every detuning against the truth")
	scoreOnly   = flag.String("score.only", "", "play faults of this cause alone")
)

// limitSize is the size of each fault at which its main witness meets its drift
// limit, from the built-in tolerances and the sensitivities of an S-band station
// (13 degrees and 47 kHz per kelvin, 6 degrees per percent of voltage).
var limitSize = map[string]float64{
	"water_detuning": 0.23, "regulating_sensor": 0.23, "cooling_flow": 8, "heat_load": 8,
	"temperature_sensor": 0.2, "compressor_detuning": 0.27, "modulator_voltage": 0.5, "cathode_emission": 1.5,
	"drive_power": 5, "phase_drift": 3, "waveguide_loss": 3, "reflected_power": 1.5, "set_point": 0.5,
	"trips": 6, "vacuum": 3, "stuck_reading": 1, "data_gap": 10, "headroom": 92,
	"common_water": 0.2, "common_phase": 3, "common_voltage": 0.5, "common_trip": 40,
}

// doubtLimit is the same for a doubted reading, by quantity.
var doubtLimit = map[string]float64{
	"beam_voltage": 0.5, "beam_current": 1, "forward_power": 2, "compressed_power": 3, "input_power": 3, "output_power": 3,
	"forward_phase": 3, "input_phase": 4, "output_phase": 3, "water_flow": 5, "drive_power": 5,
}

type machine struct {
	sampledata.Machine
	linac *sampledata.Linac
	plant *rf.Plant
}

func newMachine(t testing.TB, stations int, seed uint64) machine {
	m := sampledata.Build(stations, seed)
	files := fstest.MapFS{}
	for name, text := range m.PlantFiles() {
		files[name] = &fstest.MapFile{Data: []byte(text)}
	}
	folder, err := ingest.OpenPlantFS(files, "built")
	if err != nil {
		t.Fatal(err)
	}
	return machine{m, sampledata.Prepare(m), folder.Plant}
}

// game is one night to judge: what is played and what was told.
type game struct {
	machine  machine
	scenario sampledata.Scenario
	quiet    bool
	truth    sampledata.Truth
	night    *series.Night
	report   *review.Report
	err      error
}

func (g *game) play() {
	sink := newCellSink(g.scenario.Start, g.scenario.Length)
	if g.truth, g.err = g.machine.linac.Play(g.scenario, sink); g.err != nil {
		return
	}
	g.night = &sink.night
	g.report = review.Review(g.machine.plant, g.night, review.Options{})
}

// tally counts what became of the faults of one cause.
type tally struct {
	played, found, right, likely, wrong, twice, missed int
	small, smallFound                                  int
	delays                                             []float64 // h
}

// family names the stations that a place belongs to, and so what may be told of a
// fault there.
func family(p *rf.Plant, place string) map[string]bool {
	f := map[string]bool{place: true}
	for _, s := range p.Structures {
		if s.Name == place || s.WaterLoop == place && place != "" || s.Station == place {
			f[s.Name], f[s.Station] = true, true
			if s.WaterLoop != "" {
				f[s.WaterLoop] = true
			}
		}
	}
	for _, s := range p.Stations {
		if s.WaterLoop != "" && s.WaterLoop == place {
			f[s.Name] = true
			for _, fed := range p.StructuresOf(s.Name) {
				f[fed.Name] = true
			}
		}
	}
	return f
}

type score struct {
	mu          sync.Mutex
	byCause     map[string]*tally
	quietNights int
	stationDays int // places in quiet nights: stations, machine, loops
	falseQuiet  map[string]int
	waterError  []float64 // K, advised minus true, of retunes
	waterIn     int
	wrongWay    int
	inAbsolute  [2]int // intervals that contain the truth, all
	inRelative  [2]int
	told        []string
}

func (s *score) at(cause string) *tally {
	if s.byCause[cause] == nil {
		s.byCause[cause] = &tally{}
	}
	return s.byCause[cause]
}

// judge holds a report against the truth.
func (s *score) judge(g *game) {
	s.mu.Lock()
	defer s.mu.Unlock()
	taken := make([]bool, len(g.report.Findings))
	for _, f := range g.truth.Faults {
		if f.ByOperator {
			continue
		}
		s.fault(g, f, taken)
	}
	if g.quiet {
		s.quietNights++
		s.stationDays += len(g.machine.plant.Stations) + 1 + len(g.report.Loops)
	}
	for i, f := range g.report.Findings {
		if !taken[i] && f.Verdict.Flagged() && !ordinary(g, f) {
			if g.quiet {
				s.falseQuiet[string(f.Cause)]++
			}
			s.say(g, "FALSE %s@%s %s", f.Cause, f.Place, f.Message)
		}
	}
	s.structures(g)
}

// ordinary reports whether a finding tells a nuisance as it should be told.
func ordinary(g *game, f review.Finding) bool {
	return f.Cause == review.CommonTrip && g.scenario.With&sampledata.MainsDip != 0
}

func (s *score) say(g *game, format string, args ...any) {
	var faults []string
	for _, f := range g.truth.Faults {
		faults = append(faults, fmt.Sprintf("%s:%s@%s=%.3g/%s", f.Kind, f.Quantity, f.Place, f.Size, time.Duration(f.RampMin*float64(time.Minute)).Round(time.Minute)))
	}
	s.told = append(s.told, fmt.Sprintf("machine %d night %d leave %d [%s] ", g.machine.Seed, g.scenario.Seed, len(g.scenario.Leave), strings.Join(faults, " "))+fmt.Sprintf(format, args...))
}

func (s *score) fault(g *game, f sampledata.FaultTruth, taken []bool) {
	t := s.at(f.Kind)
	own := family(g.machine.plant, f.Place)
	right, others := 0, 0
	likely := false
	for i, told := range g.report.Findings {
		if taken[i] || !own[told.Place] || ordinary(g, told) {
			continue
		}
		switch {
		case string(told.Cause) == f.Kind && (told.Place == f.Place || sameArm(g.machine.plant, told.Place, f.Place) || f.Kind == "data_gap" || f.Kind == "stuck_reading"):
			taken[i] = true
			right++
			likely = likely || told.Likely
		case told.Verdict.Flagged() || told.Cause == review.DataGap || told.Cause == review.StuckReading:
			taken[i] = true
			others++
		}
	}
	if !beyond(f) {
		t.small++
		if right > 0 {
			t.smallFound++
		}
		if others > 0 {
			t.wrong += others
			s.say(g, "SMALL WRONG %s@%s=%.3g: %s", f.Kind, f.Place, f.Size, tellAll(g, own))
		}
		return
	}
	t.played++
	switch {
	case right > 0:
		t.found++
		t.right++
		if likely {
			t.likely++
		}
		if right+others > 1 {
			t.twice++
			s.say(g, "TWICE %s@%s=%.3g: %s", f.Kind, f.Place, f.Size, tellAll(g, own))
		}
	case others > 0:
		t.found++
		t.wrong++
		s.say(g, "WRONG %s@%s=%.3g: %s", f.Kind, f.Place, f.Size, tellAll(g, own))
	default:
		t.missed++
		s.say(g, "MISSED %s@%s=%.3g", f.Kind, f.Place, f.Size)
	}
	if *scoreDelay && right > 0 {
		t.delays = append(t.delays, delay(g, f))
	}
}

// sameArm reports whether one place is a station and the other the only structure
// that it feeds.
func sameArm(p *rf.Plant, a, b string) bool {
	for _, s := range p.Stations {
		if fed := p.StructuresOf(s.Name); len(fed) == 1 && (s.Name == a && fed[0].Name == b || s.Name == b && fed[0].Name == a) {
			return true
		}
	}
	return false
}

func tellAll(g *game, own map[string]bool) string {
	var all []string
	for _, f := range g.report.Findings {
		if own[f.Place] {
			all = append(all, fmt.Sprintf("%s@%s(%s)", f.Cause, f.Place, f.Message))
		}
	}
	return strings.Join(all, " | ")
}

// beyond reports whether a fault moves its main witness beyond 1.5 times its
// drift limit.
func beyond(f sampledata.FaultTruth) bool {
	limit := limitSize[f.Kind]
	if f.Kind == "reading_doubted" {
		limit = doubtLimit[f.Quantity]
	}
	if f.Kind == "stuck_reading" || f.Kind == "headroom" || f.Kind == "common_trip" || f.Kind == "data_gap" {
		return math.Abs(f.Size) >= limit || f.Size == 0
	}
	if f.Kind == "set_point" && f.Quantity == "drive_phase" {
		limit = 3
	}
	if f.Kind == "set_point" && f.Quantity == "drive_power" {
		limit = 5
	}
	return math.Abs(f.Size) >= 1.5*limit
}

// delay finds how long after its start a fault is told, by ever shorter nights.
func delay(g *game, f sampledata.FaultTruth) float64 {
	low, high := 0.0, g.night.End().Sub(f.Start).Hours()
	for high-low > 0.25 {
		mid := (low + high) / 2
		if toldBy(g, f, f.Start.Add(time.Duration(mid*float64(time.Hour)))) {
			high = mid
		} else {
			low = mid
		}
	}
	return high
}

func toldBy(g *game, f sampledata.FaultTruth, end time.Time) bool {
	short := *g.night
	short.Cells = min(short.Cells, short.Index(end))
	short.Channels = slices.Clone(short.Channels)
	for i := range short.Channels {
		short.Channels[i].Cells = short.Channels[i].Cells[:short.Cells]
	}
	short.Events = nil
	for _, e := range g.night.Events {
		if e.At.Before(end) {
			short.Events = append(short.Events, e)
		}
	}
	for _, told := range review.Review(g.machine.plant, &short, review.Options{}).Findings {
		if string(told.Cause) == f.Kind && told.Place == f.Place {
			return true
		}
	}
	return false
}

// structures holds intervals and advice against the truth.
func (s *score) structures(g *game) {
	truth := map[string]sampledata.StructureTruth{}
	for _, t := range g.truth.Structures {
		truth[t.Structure] = t
	}
	for _, r := range g.report.Structures {
		t := truth[r.Structure]
		if t.LastDetuning == nil || t.FirstDetuning == nil || t.WaterChangeK == nil || !rf.Known(r.Detuning) || doubted(g, r.Structure) {
			continue
		}
		isKHz, isK := *t.LastDetuning, *t.WaterChangeK
		if r.Relative {
			isK *= (isKHz - *t.FirstDetuning) / isKHz
			isKHz -= *t.FirstDetuning
		}
		count := &s.inAbsolute
		if r.Relative {
			count = &s.inRelative
		}
		count[1]++
		if *scoreSigma {
			sigma := rf.In(r.DetuningHigh-r.DetuningLow, rf.Kilohertz) / 2 / 1.96
			fmt.Printf("SIGMA rel=%v %s err %.2f sigma %.2f true %.2f faults %d\n", r.Relative, r.Structure, rf.In(r.Detuning, rf.Kilohertz)-isKHz, sigma, isKHz, len(g.truth.Faults))
		}
		if low, high := rf.In(r.DetuningLow, rf.Kilohertz), rf.In(r.DetuningHigh, rf.Kilohertz); isKHz >= low && isKHz <= high {
			count[0]++
		}
		if r.Advice != review.Retune {
			continue
		}
		s.waterError = append(s.waterError, r.WaterChangeK-isK)
		if isK >= r.WaterChangeLow && isK <= r.WaterChangeUp {
			s.waterIn++
		}
		if r.WaterChangeK*isK < 0 {
			s.wrongWay++
			s.say(g, "WRONG WAY %s advised %.3f true %.3f", r.Structure, r.WaterChangeK, isK)
		}
	}
}

// doubted reports whether a fault of the scenario falsifies the phases of a
// structure: its detuning then is withheld, not measured.
func doubted(g *game, structure string) bool {
	for _, f := range g.truth.Faults {
		if f.Place == structure && (f.Quantity == "output_phase" || f.Quantity == "input_phase") {
			return true
		}
	}
	return false
}

// random nights -------------------------------------------------------------

func (m machine) scenario(r *rand.Rand, seed uint64) sampledata.Scenario {
	s := sampledata.Scenario{
		Seed: seed, Start: time.Date(2026, 3, 2, 20, 0, 0, 0, time.UTC).Add(time.Duration(r.IntN(200*24)) * time.Hour),
		Length: 12 * time.Hour, Interval: 30 * time.Second,
	}
	for _, rare := range []sampledata.Nuisance{sampledata.SetPointChange, sampledata.StationStandby, sampledata.WarmUpStart, sampledata.MainsDip} {
		if r.Float64() < 0.15 {
			s.With |= rare
		}
	}
	if r.Float64() < 0.2 {
		s.Leave = sampledata.BareLog()
	}
	return s
}

// place chooses a place that a kind of fault can be at, and its reading.
func (m machine) place(r *rand.Rand, kind string) (place, quantity string) {
	stations := m.plant.Stations[:len(m.plant.Stations)-1] // the last one is the spare
	station := stations[r.IntN(len(stations))]
	structure := m.plant.Structures[r.IntN(len(m.plant.Structures)-1)]
	switch kind {
	case "water_detuning", "regulating_sensor":
		return structure.Loop(), ""
	case "cooling_flow", "heat_load":
		return structure.Name, ""
	case "temperature_sensor":
		return structure.Name, []string{"water_temperature", "body_temperature"}[r.IntN(2)]
	case "reading_doubted":
		if r.IntN(2) == 0 && structure.TravellingWave() {
			return structure.Name, []string{"input_power", "output_power", "water_flow", "output_phase", "input_phase"}[r.IntN(5)]
		}
		return station.Name, []string{"beam_voltage", "beam_current", "forward_power", "drive_power"}[r.IntN(4)]
	case "set_point":
		return station.Name, []string{"beam_voltage", "drive_phase"}[r.IntN(2)]
	case "waveguide_loss":
		if r.IntN(2) == 0 {
			return structure.Name, ""
		}
	case "stuck_reading":
		return station.Name, []string{"forward_power", "beam_current", "forward_phase"}[r.IntN(3)]
	case "compressor_detuning":
		for !station.HasCompressor() || station.WaterLoop != "" {
			station = stations[r.IntN(len(stations))]
		}
	case "headroom":
		for _, l := range m.plant.Structures {
			if l.WaterLoop != "" && r.IntN(6) == 0 {
				return l.WaterLoop, ""
			}
		}
	case "common_water", "common_phase", "common_voltage", "common_trip":
		return rf.MachinePlace, ""
	}
	return station.Name, ""
}

// fault draws a fault of a kind, from half its drift limit to far beyond it.
func (m machine) fault(r *rand.Rand, kind string, start time.Time) sampledata.Fault {
	f := sampledata.Fault{Kind: kind, Start: start.Add(time.Duration((2.5 + 5*r.Float64()) * float64(time.Hour)))}
	f.Place, f.Quantity = m.place(r, kind)
	limit := limitSize[kind]
	if kind == "reading_doubted" {
		limit = doubtLimit[f.Quantity]
	}
	if kind == "set_point" && f.Quantity == "drive_phase" {
		limit = 3
	}
	f.Size = limit * math.Exp(math.Log(0.5)+r.Float64()*math.Log(12))
	f.Ramp = time.Duration(4 * r.Float64() * float64(time.Hour))
	switch kind {
	case "heat_load":
		f.Size = math.Min(f.Size, 40) // less power is a waveguide loss
	case "cooling_flow", "drive_power":
		f.Size = -math.Min(f.Size, 60)
	case "waveguide_loss", "reflected_power":
		f.Size = math.Min(f.Size, 30)
	case "cathode_emission":
		f.Size = -f.Size
	case "trips":
		f.Size = math.Round(f.Size)
	case "vacuum":
		f.Size = math.Max(f.Size, 1.5)
	case "stuck_reading":
		f.Size = 0
	case "data_gap":
		f.Size = 12 + 60*r.Float64()
	case "headroom":
		f.Size = 93 + 6*r.Float64()
	case "common_trip":
		f.Size = 45 + 50*r.Float64()
	default:
		if r.IntN(2) == 0 {
			f.Size = -f.Size
		}
	}
	if f.Quantity == "drive_power" { // upwards, near saturation, it is headroom
		f.Size = -math.Min(math.Abs(f.Size), 60)
	}
	switch kind {
	case "compressor_detuning", "modulator_voltage", "common_voltage", "set_point":
		f.Size = math.Copysign(math.Min(math.Abs(f.Size), 6*limit), f.Size)
	}
	return f
}

func alone(kind string) bool {
	return strings.HasPrefix(kind, "common_")
}

// deal plays faults of every cause, alone and several at once, and quiet nights.
func deal(machines []machine, perCause, quiet int, seed uint64, only string) []*game {
	r := rand.New(rand.NewPCG(seed, 99))
	var games []*game
	fresh := func() *game {
		m := machines[r.IntN(len(machines))]
		return &game{machine: m, scenario: m.scenario(r, r.Uint64()>>33)}
	}
	var queue []string
	for _, k := range sampledata.FaultKinds() {
		if only != "" && k.Name != only {
			continue
		}
		for range perCause {
			queue = append(queue, k.Name)
		}
	}
	r.Shuffle(len(queue), func(i, j int) { queue[i], queue[j] = queue[j], queue[i] })
	var open *game
	used := map[string]bool{}
	most := 0
	for _, kind := range queue {
		if alone(kind) {
			g := fresh()
			g.scenario.With &^= sampledata.MainsDip
			g.scenario.Faults = []sampledata.Fault{g.machine.fault(r, kind, g.scenario.Start)}
			games = append(games, g)
			continue
		}
		if open == nil || len(open.scenario.Faults) >= most {
			open, used, most = fresh(), map[string]bool{}, 1+r.IntN(4)
			open.scenario.With &^= sampledata.SetPointChange | sampledata.StationStandby
			games = append(games, open)
		}
	draw:
		for {
			f := open.machine.fault(r, kind, open.scenario.Start)
			own := family(open.machine.plant, f.Place)
			for place := range own {
				if used[place] {
					continue draw
				}
			}
			for place := range own {
				used[place] = true
			}
			open.scenario.Faults = append(open.scenario.Faults, f)
			if kind == "headroom" || kind == "reading_doubted" || kind == "cooling_flow" {
				open.scenario.Leave = nil // its witness must be logged
			}
			break
		}
	}
	for range quiet {
		g := fresh()
		g.quiet = true
		games = append(games, g)
	}
	return games
}

func run(t testing.TB, games []*game) *score {
	s := &score{byCause: map[string]*tally{}, falseQuiet: map[string]int{}}
	work := make(chan *game)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for g := range work {
				g.play()
				if g.err == nil {
					s.judge(g)
				} else {
					t.Errorf("%v: %v", g.scenario.Faults, g.err)
				}
				g.night, g.report = nil, nil
			}
		})
	}
	for _, g := range games {
		work <- g
	}
	close(work)
	wg.Wait()
	return s
}

func (s *score) print() {
	fmt.Printf("%-20s %6s %6s %6s %6s %6s %6s %6s | %6s %6s | %s\n", "cause", "played", "found", "right", "likely", "wrong", "twice", "missed", "small", "found", "delay h (median)")
	var causes []string
	for c := range s.byCause {
		causes = append(causes, c)
	}
	sort.Strings(causes)
	for _, c := range causes {
		t := s.byCause[c]
		delay := "-"
		if len(t.delays) > 0 {
			delay = fmt.Sprintf("%.2f", series.Median(t.delays))
		}
		fmt.Printf("%-20s %6d %6d %6d %6d %6d %6d %6d | %6d %6d | %s\n", c, t.played, t.found, t.right, t.likely, t.wrong, t.twice, t.missed, t.small, t.smallFound, delay)
	}
	total := 0
	for _, n := range s.falseQuiet {
		total += n
	}
	if s.stationDays > 0 {
		fmt.Printf("quiet nights %d, places %d, false flags %d = %.2f per 1000 %v\n", s.quietNights, s.stationDays, total, 1000*float64(total)/float64(s.stationDays), s.falseQuiet)
	}
	fmt.Printf("retunes %d, water change rms %.3f K, within its interval %.1f %%, wrong way %d\n", len(s.waterError), rms(s.waterError), percent(s.waterIn, len(s.waterError)), s.wrongWay)
	fmt.Printf("95 %% intervals of detuning hold the truth: absolute %.1f %% of %d, relative %.1f %% of %d\n",
		percent(s.inAbsolute[0], s.inAbsolute[1]), s.inAbsolute[1], percent(s.inRelative[0], s.inRelative[1]), s.inRelative[1])
}

func percent(n, of int) float64 { return 100 * float64(n) / float64(of) }

func rms(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x * x
	}
	return math.Sqrt(sum / float64(len(v)))
}

// TestScore plays nights with known faults and holds the review against the
// truth. The short run asserts what the long one is held to.
func TestScore(t *testing.T) {
	machines := []machine{newMachine(t, 24, 7), newMachine(t, 16, 8), newMachine(t, 12, 9)}
	s := run(t, deal(machines, *scoreFaults, *scoreQuiet, *scoreSeed, *scoreOnly))
	s.print()
	if *scoreTell {
		sort.Strings(s.told)
		fmt.Fprintln(os.Stdout, strings.Join(s.told, "\n"))
	}
}
