package review

import (
	"math"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

// settleTimes is how many thermal time constants must pass after RF came on
// before readings count for drift: 5 % of a disturbance is left then.
const settleTimes = 3

// shortGap is the longest silence after which a station is taken to have stayed
// as it was.
const shortGap = 5 * time.Minute

// wideCell is the width from which a trip and the settling after it are a small
// part of a cell: what it holds is then told by the share of time with RF alone.
const wideCell = time.Hour

// activity tells, cell by cell, what a station was doing.
type activity struct {
	on      []bool    // RF on through the whole cell
	share   []float64 // of the cell with RF, 0 to 1
	logged  []bool    // something tells whether it was on
	planned []bool    // a planned stop covers the cell
	restart []bool    // RF was off, or a set value moved, in the cell
}

// activityOf reads the activity of a station from rf_on where it is logged,
// else from its forward power, and from its trip events.
func (a *analysis) activityOf(station string) activity {
	n := a.night.Cells
	act := activity{
		planned: make([]bool, n), restart: make([]bool, n),
	}
	act.on, act.share, act.logged = a.powered(station)
	for _, e := range a.night.Events {
		if i := a.night.Index(e.At); e.Place == station && i >= 0 && i < n && a.night.Width < wideCell {
			act.restart[i] = true
		}
	}
	for _, p := range a.setPoints[station] {
		act.restart[p.cell] = true
	}
	for i := range act.on {
		act.planned[i] = isPlanned(a.plant, station, a.night.At(i), a.night.At(i+1))
		act.restart[i] = act.restart[i] || (act.logged[i] && !act.on[i]) || act.planned[i]
	}
	return act
}

// powered tells in which cells a station's RF was on all the time, for what share
// of each, and in which anything tells. Where the state is not logged the power,
// against that of the good hours, stands for the share.
func (a *analysis) powered(station string) (on []bool, share []float64, logged []bool) {
	n := a.night.Cells
	on, share, logged = make([]bool, n), make([]float64, n), make([]bool, n)
	if flag := a.channel(station, rf.RFOn); flag != nil {
		for i, c := range flag.Cells {
			logged[i] = c.Count > 0
			on[i], share[i] = c.Count > 0 && c.Mean > 0.999, c.Mean
		}
	} else if power := a.channel(station, rf.ForwardPower); power != nil {
		usual := usualPower(power)
		for i, c := range power.Cells {
			logged[i] = c.Count > 0
			if on[i] = c.Count > 0 && c.Min > usual/2; on[i] {
				share[i] = 1
			} else {
				share[i] = min(max(c.Mean/usual, 0), 1)
			}
		}
	} else {
		for i := range on {
			on[i], share[i] = true, 1
		}
	}
	return on, share, logged
}

// usualPower is the power of a station's good hours.
func usualPower(power *series.Channel) float64 { return series.Quantile(means(power.Cells), 0.9) }

// poweredAtEnd reports whether a station has RF at the log's end. A wide cell may
// hold a trip and end with RF all the same: its last reading tells.
func (a *analysis) poweredAtEnd(station string) bool {
	act := a.activity[station]
	n := len(act.on)
	if n == 0 || act.on[n-1] || a.night.Width <= shortGap {
		return n == 0 || act.on[n-1]
	}
	if flag := a.channel(station, rf.RFOn); flag != nil {
		return lastReading(flag.Cells) > 0.5
	}
	power := a.channel(station, rf.ForwardPower)
	return power != nil && lastReading(power.Cells) > usualPower(power)/2
}

// settled returns the cells in which a body of the given thermal time has come
// to rest. The start of the log counts as a start.
func (a activity) settled(night *series.Night, thermal rf.Interval) []bool {
	wait := time.Duration(settleTimes * float64(thermal) * float64(time.Second))
	settled := make([]bool, len(a.on))
	since := time.Duration(0)
	silent := time.Duration(0)
	for i := range settled {
		switch {
		case a.restart[i]:
			since, silent = 0, 0
			continue
		case !a.on[i]: // nothing logged
			if silent += night.Width; silent > shortGap {
				since = 0
			} else {
				since += night.Width
			}
			continue
		}
		silent = 0
		settled[i] = since >= wait
		since += night.Width
	}
	return settled
}

// onPercent returns the share of the time outside planned stops in which RF was
// on, NaN where nothing tells.
func (a activity) onPercent() float64 {
	on, all := 0.0, 0.0
	for i := range a.on {
		if !a.logged[i] || a.planned[i] {
			continue
		}
		all++
		on += a.share[i]
	}
	if all == 0 {
		return math.NaN()
	}
	return 100 * on / all
}

func isPlanned(plant *rf.Plant, place string, from, to time.Time) bool {
	for _, p := range plant.Planned {
		if (p.Place == "" || p.Place == place || p.Place == rf.MachinePlace) && from.Before(p.To) && to.After(p.From) {
			return true
		}
	}
	return false
}

func anyReading(ch *series.Channel) bool {
	if ch == nil {
		return false
	}
	for _, c := range ch.Cells {
		if c.Count > 0 {
			return true
		}
	}
	return false
}

// lastReading returns the last reading of all, NaN where there is none.
func lastReading(cells []series.Cell) float64 {
	for i := len(cells) - 1; i >= 0; i-- {
		if cells[i].Count > 0 {
			return cells[i].Last
		}
	}
	return math.NaN()
}

func means(cells []series.Cell) []float64 {
	v := make([]float64, len(cells))
	for i, c := range cells {
		v[i] = c.Value()
	}
	return v
}
