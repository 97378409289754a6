package series

import "slices"

const (
	stuckCells  = 10  // least length of a run that can be called stuck
	stuckFactor = 5   // times the longest other run of the channel
	mostStuck   = 3   // runs that one channel can be stuck in
	livingCells = 20  // outside the runs, to know a live channel by
	liveShare   = 0.4 // of moves by more than one count, for a live channel
)

// Stuck returns the runs in which a live channel stands still far longer than it
// does otherwise: the few longest runs, where each of them is several times as
// long as the longest that is left.
//
// A channel is live when it moves by more than one count of its resolution now
// and then, over enough cells outside those runs: one that only toggles between
// neighbouring counts may stand still by right, and so may one that never moves
// and a set value. Cells in which a reading stands still by right (power while
// the RF is off) are to be given empty.
func Stuck(cells []Cell) []Run {
	runs := standings(cells)
	byLength := slices.Clone(runs)
	slices.SortStableFunc(byLength, func(a, b Run) int { return (b.To - b.From) - (a.To - a.From) })
	stuck := 0
	for k := 1; k <= min(mostStuck, len(byLength)); k++ {
		usual := 1
		if k < len(byLength) {
			usual = byLength[k].To - byLength[k].From
		}
		if shortest := byLength[k-1].To - byLength[k-1].From; shortest >= stuckCells && shortest > stuckFactor*usual {
			stuck = k
		}
	}
	found := byLength[:stuck]
	moving := filled(cells)
	for _, r := range found {
		moving -= filled(cells[r.From:r.To])
	}
	if moving < livingCells || !live(cells) {
		return nil
	}
	slices.SortFunc(found, func(a, b Run) int { return a.From - b.From })
	return found
}

// filled returns how many of the cells hold readings.
func filled(cells []Cell) int {
	n := 0
	for _, c := range cells {
		if c.Count > 0 {
			n++
		}
	}
	return n
}

// standings returns the runs of cells that all read one value. Empty cells
// within a run belong to it.
func standings(cells []Cell) []Run {
	var runs []Run
	open := false
	var value float64
	for i, c := range cells {
		if c.Count == 0 {
			continue
		}
		if c.Min != c.Max {
			open = false
			continue
		}
		if open && c.Min == value {
			runs[len(runs)-1].To = i + 1
			continue
		}
		runs = append(runs, Run{i, i + 1})
		open, value = true, c.Min
	}
	return runs
}

// live reports whether moves by more than one count are usual.
func live(cells []Cell) bool {
	var values []float64
	for _, c := range cells {
		if c.Count > 0 {
			values = append(values, c.Last)
		}
	}
	count := Resolution(values)
	moves, wide := 0, 0
	for i := 1; i < len(values); i++ {
		d := values[i] - values[i-1]
		if d < 0 {
			d = -d
		}
		if d > 0 {
			moves++
		}
		if d > 1.5*count {
			wide++
		}
	}
	return float64(wide) > liveShare*float64(moves)
}
