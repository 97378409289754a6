package ingest

import (
	"fmt"
	"sort"
)

// history remembers which times of one kind of row were read, and what the rows
// held, to tell repeats from new rows.
type history struct {
	last     int64
	lastHash uint32
	times    []int64 // ascending
	hashes   []uint32
	late     map[int64]uint32 // rows that came after later ones
	full     bool             // times below the first one were forgotten
}

// push notes a row later than all before it; room is how many are remembered.
func (h *history) push(at int64, hash uint32, room int) {
	if len(h.times) >= room {
		half := len(h.times) / 2
		h.times = h.times[:copy(h.times, h.times[half:])]
		h.hashes = h.hashes[:copy(h.hashes, h.hashes[half:])]
		h.full = true
	}
	h.times = append(h.times, at)
	h.hashes = append(h.hashes, hash)
	h.last, h.lastHash = at, hash
}

// find returns what the row of that time held; forgotten says that it cannot be
// told any more.
func (h *history) find(at int64) (hash uint32, found, forgotten bool) {
	if at == h.last {
		return h.lastHash, true, false
	}
	if hash, found = h.late[at]; found {
		return hash, true, false
	}
	i := sort.Search(len(h.times), func(i int) bool { return h.times[i] >= at })
	if i < len(h.times) && h.times[i] == at {
		return h.hashes[i], true, false
	}
	return 0, false, i == 0 && h.full
}

// rowVerdict is what becomes of a row whose time was read.
type rowVerdict uint8

const (
	rowKept rowVerdict = iota
	rowNotUsed
	rowRefused
)

// judge decides about the rows of one file in the order they stand: which repeat
// others, which came late, which times cannot be right.
type judge struct {
	histories func(key int) *history
	room      func() int
	near      int64         // a time that rows are believed to be close to
	fileLast  map[int]int64 // by key: the last row of this file

	day       int64 // of a form without date, from 1970
	timeOfDay int64

	oddities    int // rows that no worker could have judged
	merged      int
	repeated    lines // same time, other values
	late        lines
	jumps       []jump
	jumpCount   int
	resolved    lines // taken as the second pass of the hour that runs twice
	unitChanges lines
	unit        string
}

// lines counts rows and remembers the first and the last.
type lines struct{ count, first, last int }

func (l *lines) add(line int) {
	if l.count == 0 {
		l.first = line
	}
	l.count++
	l.last = line
}

func (l lines) String() string {
	switch l.count {
	case 1:
		return fmt.Sprintf("1 row (line %d)", l.first)
	}
	return fmt.Sprintf("%d rows (lines %d to %d)", l.count, l.first, l.last)
}

// jump is a step of the clock backwards.
type jump struct {
	line     int
	from, to int64
}

// row decides about one row and settles its instant.
func (j *judge) row(key int, at *int64, when reading, hash uint32, line int) (rowVerdict, *rowError) {
	h := j.histories(key)
	if when.tod || when.second != 0 || when.unit != j.unit || *at <= h.last {
		j.oddities++
	}
	if when.tod {
		*at = j.date(when.at)
	}
	if when.second != 0 && *at <= h.last && !(*at == h.last && hash == h.lastHash) {
		*at = when.second
		j.resolved.add(line)
	}
	if when.unit != j.unit {
		j.unitChanges.add(line)
		j.unit = when.unit
	}
	if *at-j.near > clockReach || j.near-*at > clockReach {
		return rowRefused, &rowError{reason: "a time that cannot be right: years from the rows around it",
			detail: fmt.Sprintf("%s is years from the rows around it: the clock was reset", utc(*at).Format("2006-01-02T15:04:05Z"))}
	}
	verdict, why := j.place(h, *at, hash, line)
	if verdict != rowRefused {
		j.near = *at
		if last, known := j.fileLast[key]; known && *at < last {
			j.stepBack(last, *at, line)
		}
		j.fileLast[key] = *at
	}
	return verdict, why
}

// place tells a new row from a repeat.
func (j *judge) place(h *history, at int64, hash uint32, line int) (rowVerdict, *rowError) {
	if at > h.last {
		h.push(at, hash, j.room())
		return rowKept, nil
	}
	old, found, forgotten := h.find(at)
	switch {
	case found && old == hash:
		j.merged++
		return rowNotUsed, nil
	case found:
		j.repeated.add(line)
		return rowNotUsed, nil
	case forgotten, len(h.late) >= j.room():
		return rowRefused, &rowError{reason: "too far out of order to tell from a repeat (over the limit RowsRemembered; --limit RowsRemembered=NUMBER raises it)"}
	}
	if h.late == nil {
		h.late = map[int64]uint32{}
	}
	h.late[at] = hash
	j.late.add(line)
	return rowKept, nil
}

// jumpsKept bounds how many backward steps of a clock are told one by one.
const jumpsKept = 5

func (j *judge) stepBack(from, to int64, line int) {
	j.jumpCount++
	if len(j.jumps) < jumpsKept {
		j.jumps = append(j.jumps, jump{line, from, to})
	}
}

// date adds the date to a time of day: the day moves on when the time of day falls
// by more than half a day, and a row from before midnight may come late.
func (j *judge) date(timeOfDay int64) int64 {
	const day, half = 86400 * int64(1e9), 43200 * int64(1e9)
	switch {
	case timeOfDay < j.timeOfDay-half:
		j.day++
	case timeOfDay > j.timeOfDay+half && j.timeOfDay > 0:
		return (j.day-1)*day + timeOfDay
	}
	j.timeOfDay = timeOfDay
	return j.day*day + timeOfDay
}
