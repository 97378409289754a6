package ingest

import (
	"math"
	"sort"
	"time"

	"dawncrest/rf/series"
)

// DefaultHold is how long a value written only on change is taken to hold.
const DefaultHold = 8 * time.Hour

// holder spreads values that hold until the next one over the cells of the grid.
// The count of such a cell is the seconds held in it, so that its mean is weighted
// by time.
type holder struct {
	grid    *grid
	age     int64
	last    map[int]sparseReading // by channel
	longest int64                 // silence between two readings of a channel
	silent  int                   // channel of the longest silence
	from    int64                 // start of that silence
	cutOff  int                   // silences longer than the age
}

func newHolder(g *grid, age time.Duration) *holder {
	return &holder{grid: g, age: int64(age), last: map[int]sparseReading{}}
}

// take ends the hold of the value before and starts that of a new one.
func (h *holder) take(channel int, r sparseReading) {
	h.grid.channels[channel].held = true
	last, known := h.last[channel]
	if known && r.at < last.at {
		return
	}
	if known {
		h.spread(channel, last, r.at)
	}
	h.last[channel] = r
}

// finish holds the last value of every channel up to the end of the log.
func (h *holder) finish(end int64) {
	channels := make([]int, 0, len(h.last))
	for channel := range h.last {
		channels = append(channels, channel)
	}
	sort.Ints(channels)
	for _, channel := range channels {
		last := h.last[channel]
		h.spread(channel, last, max(end, last.at))
		h.grid.store(channel, last.at, heldCell(last.value, 1))
	}
}

func (h *holder) spread(channel int, r sparseReading, until int64) {
	if silence := until - r.at; silence > h.longest {
		h.longest, h.silent, h.from = silence, channel, r.at
	}
	if until-r.at > h.age {
		h.cutOff++
		until = r.at + h.age
	}
	for at := r.at; at < until; {
		next := min(floorTo(at, h.grid.width)+h.grid.width, until)
		seconds := math.Round(float64(next-at) / 1e9)
		h.grid.store(channel, at, heldCell(r.value, uint32(max(1, seconds))))
		at = next
	}
}

func heldCell(v float64, count uint32) series.Cell {
	return series.Cell{Count: count, Mean: v, Min: v, Max: v, Last: v}
}

// looksSparse reports whether a file writes values only when they change: within
// each signal values hardly ever repeat, and the time between them is anything.
func (d *dialect) looksSparse(times []int64) bool {
	type past struct {
		at    []int64
		last  string
		count int
		same  int
	}
	signals := map[string]*past{}
	parts := d.parts()
	if d.layout != LayoutLong && !d.oftenEmpty(parts) {
		return false
	}
	for i, row := range d.sample {
		for c, cell := range row {
			if d.isTime(c) || d.layout == LayoutLong && c != parts["value"] || d.layout == LayoutTidy && c == parts["place"] {
				continue
			}
			if cell == "" {
				continue
			}
			name := d.signalName(row, c, parts)
			p := signals[name]
			if p == nil {
				p = &past{}
				signals[name] = p
			}
			if p.last == cell {
				p.same++
			}
			p.last = cell
			p.count++
			p.at = append(p.at, times[i])
		}
	}
	steps, uneven, same := 0, 0, 0
	for _, p := range signals {
		usual := int64(usualStep(p.at))
		for i := 1; i < len(p.at); i++ {
			steps++
			if step := p.at[i] - p.at[i-1]; step*2 > usual*3 || step*3 < usual*2 {
				uneven++
			}
		}
		same += p.same
	}
	return steps >= 5 && uneven*2 > steps && same*10 < steps
}

// oftenEmpty reports whether more than a quarter of the cells of the first rows
// hold nothing.
func (d *dialect) oftenEmpty(parts map[string]int) bool {
	empty, cells := 0, 0
	for _, row := range d.sample {
		for c, cell := range row {
			if d.isTime(c) || d.layout == LayoutTidy && c == parts["place"] {
				continue
			}
			cells++
			if cell == "" {
				empty++
			}
		}
	}
	return empty*4 > cells
}

// signalName names the signal that a cell of the sample belongs to.
func (d *dialect) signalName(row []string, c int, parts map[string]int) string {
	name := cellAt(d.header, c)
	if d.layout == LayoutWide {
		return name
	}
	for _, part := range []string{"place", "quantity", "column"} {
		if at, ok := parts[part]; ok {
			name += "\x00" + cellAt(row, at)
		}
	}
	return name
}
