package test

import (
	"math"
	"math/rand/v2"
	"strings"
	"time"

	"dawncrest/rf"
	"dawncrest/sampledata"
)

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
