package ingest

import (
	"math"
	"slices"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

// Cells per channel: a night of minutes fits for the largest plants, and few
// channels are given more, up to three days of minutes.
const (
	cellsLeast = 96
	cellsMost  = 4320
)

// grid holds the cells of all channels while files are read. It has room for a
// fixed number of cells; when a log grows longer, neighbours are joined and cells
// become twice as wide, so memory does not grow with the length of the log.
type grid struct {
	limit    int   // cells over all channels
	width    int64 // nanoseconds
	start    int64 // of cell 0; a whole multiple of the width
	capacity int   // cells of each channel; 0: nothing was stored yet
	used     int   // cells in use: indices below it
	channels []*gridChannel
	lastAt   int64 // what index was last asked for, and its answer
	last     int
	byName   map[channelName]int
}

type channelName struct {
	place    string
	quantity rf.Quantity
}

type gridChannel struct {
	channelName
	angle  bool
	held   bool // values hold until the next one: counts are seconds
	cells  []series.Cell
	newest int // highest index stored to
}

// channel returns the number of a channel, made where it is new.
func (g *grid) channel(place string, quantity rf.Quantity, angle bool) int {
	name := channelName{place, quantity}
	if n, ok := g.byName[name]; ok {
		return n
	}
	c := &gridChannel{channelName: name, angle: angle, newest: -1}
	g.channels = append(g.channels, c)
	g.byName[name] = len(g.channels) - 1
	if g.capacity > cellsLeast && g.capacity*len(g.channels) > 2*g.limit {
		g.shrink()
	}
	return len(g.channels) - 1
}

// shrink makes room for twice as many channels.
func (g *grid) shrink() {
	for g.used > g.capacity/2 {
		g.coarsen()
	}
	g.capacity /= 2
	for _, c := range g.channels {
		if c.cells != nil {
			c.cells = slices.Clone(c.cells[:g.capacity])
		}
	}
}

// index returns the cell that holds an instant, after making room for it.
func (g *grid) index(at int64) int {
	if at == g.lastAt && g.last < g.used {
		return g.last
	}
	g.last = g.find(at)
	g.lastAt = at
	return g.last
}

func (g *grid) find(at int64) int {
	if g.capacity == 0 {
		g.capacity = min(max(g.limit/max(1, len(g.channels)), cellsLeast), cellsMost)
		g.start = floorTo(at, g.width)
	}
	for {
		i := floorTo(at, g.width) - g.start
		i /= g.width
		switch {
		case i >= int64(g.capacity):
			g.coarsen()
		case i < 0 && g.used-int(max(i, -int64(g.capacity)-1)) > g.capacity:
			g.coarsen()
		case i < 0:
			g.shift(int(-i))
		default:
			g.used = max(g.used, int(i)+1)
			return int(i)
		}
	}
}

// coarsen joins neighbouring cells.
func (g *grid) coarsen() {
	g.lastAt = minTime
	start := floorTo(g.start, 2*g.width)
	odd := int((g.start - start) / g.width)
	for _, c := range g.channels {
		if c.cells == nil {
			continue
		}
		for i := 0; i < g.used; i++ {
			cell := c.cells[i]
			c.cells[i] = series.Cell{}
			c.merge((i+odd)/2, cell, true)
		}
		if c.newest >= 0 {
			c.newest = (c.newest + odd) / 2
		}
	}
	g.used = (g.used + odd + 1) / 2
	g.start, g.width = start, 2*g.width
}

// shift moves all cells up to make room for earlier ones.
func (g *grid) shift(by int) {
	g.lastAt = minTime
	for _, c := range g.channels {
		if c.cells == nil {
			continue
		}
		copy(c.cells[by:], c.cells[:g.used])
		clear(c.cells[:by])
		if c.newest >= 0 {
			c.newest += by
		}
	}
	g.start -= int64(by) * g.width
	g.used += by
}

// store merges a cell of a channel that begins at an instant.
func (g *grid) store(channel int, at int64, cell series.Cell) {
	i := g.index(at)
	c := g.channels[channel]
	if c.cells == nil {
		c.cells = make([]series.Cell, g.capacity)
	}
	c.merge(i, cell, i >= c.newest)
	c.newest = max(c.newest, i)
}

// merge takes a cell into cell i; its last value counts where it is the later one.
func (c *gridChannel) merge(i int, cell series.Cell, later bool) {
	to := &c.cells[i]
	if to.Count == 0 {
		*to = cell
		return
	}
	if c.angle {
		turn := onto(cell.Mean, to.Mean) - cell.Mean
		cell = turned(cell, turn)
	}
	last := to.Last
	to.Merge(cell)
	if !later {
		to.Last = last
	}
}

// turned returns a cell of angles with a turn added to every reading.
func turned(c series.Cell, turn float64) series.Cell {
	c.Mean += turn
	c.Min += turn
	c.Max += turn
	c.Last += turn
	return c
}

// finish returns the channels that hold readings, angles unwrapped over the cells
// that are there.
func (g *grid) finish() []series.Channel {
	var out []series.Channel
	for _, c := range g.channels {
		if c.cells == nil {
			continue
		}
		c.cells = c.cells[:g.used]
		if c.angle {
			unwrap(c.cells)
		}
		out = append(out, series.Channel{Place: c.place, Quantity: c.quantity, Cells: c.cells, Held: c.held})
	}
	return out
}

// unwrap adds whole turns to each cell so that it lies within half a turn of the
// one before that holds readings.
func unwrap(cells []series.Cell) {
	near := math.NaN()
	for i, c := range cells {
		if c.Count == 0 {
			continue
		}
		if near == near {
			cells[i] = turned(c, onto(c.Mean, near)-c.Mean)
		}
		near = cells[i].Mean
	}
}

// mean returns the mean over all cells of a channel, weighted by their counts.
func (g *grid) mean(channel int) float64 {
	var all series.Cell
	for _, c := range g.channels[channel].cells {
		all.Merge(c)
	}
	return all.Value()
}
