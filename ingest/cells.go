package ingest

import (
	"errors"
	"fmt"
	"sort"
	"strings"
	"time"

	"dawncrest/rf/series"
)

// LayoutCells is a log whose readings were reduced before it was written: each row
// holds what a slice of time came to in one column of a raw log.
const LayoutCells = "cells"

// cellColumns are where the parts of a cell stand in a row.
type cellColumns struct{ count, mean, min, max, sd int }

// findCellColumns looks for the parts of a cell in a header. Letter case does not
// count. lacks names those that are not there.
func findCellColumns(header []string) (at cellColumns, lacks []string) {
	for _, part := range []struct {
		name string
		at   *int
	}{{"count", &at.count}, {"mean", &at.mean}, {"min", &at.min}, {"max", &at.max}, {"sd", &at.sd}} {
		*part.at = -1
		for c, name := range header {
			if *part.at < 0 && strings.EqualFold(strings.TrimSpace(name), part.name) {
				*part.at = c
			}
		}
		if *part.at < 0 {
			lacks = append(lacks, part.name)
		}
	}
	return at, lacks
}

// namesCells reports whether a header is that of a cells log. One that lacks a
// part still is: the part is asked for then.
func (d *dialect) namesCells() bool {
	at, _ := findCellColumns(d.header)
	column, named := d.parts()["column"]
	return named && d.wordy(column) && at.count >= 0 && at.mean >= 0
}

// layOutCells gives roles to the columns of a cells log.
func (s *schema) layOutCells() error {
	for c, name := range s.header {
		if s.columns[c].role == roleTime {
			continue
		}
		s.columns[c].role = roleNothing
		if partNames[strings.ToLower(name)] == "column" && s.column < 0 {
			s.column, s.columns[c].role = c, roleColumn
		}
	}
	at, lacks := findCellColumns(s.header)
	if s.column < 0 {
		lacks = append([]string{"column"}, lacks...)
	}
	if lacks != nil {
		return fmt.Errorf("a log of cells has the columns time, column, count, mean, min, max and sd; this one lacks %s", strings.Join(lacks, ", "))
	}
	for _, c := range []int{at.count, at.mean, at.min, at.max, at.sd} {
		s.columns[c].role = roleNumber
	}
	s.cells = &at
	return nil
}

// furtherColumns names the columns that a cells log has for others to read.
func (s *schema) furtherColumns() []string {
	var names []string
	for c, name := range s.header {
		if s.columns[c].role == roleNothing && name != "" {
			names = append(names, fmt.Sprintf("%q", shownWord(name)))
		}
	}
	return names
}

// cellsHead is how much of a cells log is looked at for how wide its cells are:
// two rows of one column stand far apart where there are many columns.
const cellsHead = 4 << 20

// readCellWidth finds how far apart the cells of a column begin, and tells what a
// log of cells leaves open.
func (s *source) readCellWidth(blocks *blockReader, f Force) error {
	if f.Sparse == SparseYes {
		return errors.New("a log of cells is not one of values written on change: leave one of the two out")
	}
	text, err := blocks.head(cellsHead)
	if err != nil {
		return err
	}
	s.dialect.sparse = false
	s.dialect.step = s.cellStep(text)
	width := "cells"
	if s.dialect.step > 0 {
		width = "cells of " + series.ShortSpan(s.dialect.step)
	}
	s.file.Notices = append(s.file.Notices, width+" reduced before they were written: trips and RF on and off are known to the cell and not to the second, trips of one cell are spread over it, and trip reasons are not there")
	if names := s.schema.furtherColumns(); names != nil {
		s.file.Notices = append(s.file.Notices, "columns that are no part of a cell, not used: "+strings.Join(names, ", "))
	}
	return nil
}

// cellStep returns the step between the cells of a column that cells of the busier
// columns show, 0 where no column stands there twice. Slower loggers leave cells
// out, so a small step counts and not the usual one; the very smallest may be a
// stray row.
func (s *source) cellStep(text []byte) time.Duration {
	last := map[string]int64{}
	var steps []int64
	for len(text) > 0 {
		end, state := rowEnd(text, s.dialect.separator, true)
		row := text[:end]
		text = text[end:]
		if row[end-1] != '\n' || state != rowWhole || isComment(row) {
			continue
		}
		fields := readFields(row, s.dialect.separator, len(s.schema.columns))
		if len(fields) <= s.schema.column {
			continue
		}
		var cells []string
		for _, field := range fields {
			cells = append(cells, string(trimBlanks(field)))
		}
		when, _ := s.dialect.timeOf(cells)
		at, bad := s.times.read([]byte(when))
		if bad != nil {
			continue
		}
		column := cells[s.schema.column]
		if before, known := last[column]; known && at.at > before {
			steps = append(steps, at.at-before)
		}
		last[column] = at.at
	}
	if steps == nil {
		return 0
	}
	sort.Slice(steps, func(i, j int) bool { return steps[i] < steps[j] })
	return time.Duration(steps[len(steps)/10])
}

// tellTwice tells of each cells log which readings of the same time another log has
// too: they count twice.
func (b *builder) tellTwice() {
	for i := range b.log.Files {
		cells := &b.log.Files[i]
		if cells.Layout != LayoutCells || cells.Err != nil {
			continue
		}
		for _, raw := range b.log.Files {
			together := !raw.Last.Before(cells.First) && !cells.Last.Before(raw.First)
			if raw.Layout == LayoutCells || raw.Err != nil || !together {
				continue
			}
			if twice := inBoth(raw.Columns, cells.Columns); twice > 0 {
				cells.Notices = append(cells.Notices, fmt.Sprintf("readings of the same time stand in %s too, of %s, and count twice: name only one of the two", raw.Name, counted(twice, "channel")))
				break
			}
		}
	}
}

// inBoth returns how many channels two files have readings of.
func inBoth(a, b []series.Column) int {
	has := map[channelName]bool{}
	for _, c := range a {
		has[channelName{c.Place, c.Quantity}] = c.Readings > 0 && c.Quantity != ""
	}
	n := 0
	for _, c := range b {
		if has[channelName{c.Place, c.Quantity}] && c.Readings > 0 {
			n++
		}
	}
	return n
}

// fitCells widens the cells of the night so that those of every cells log fit into
// them whole, where what would straddle two of them matters.
func (b *builder) fitCells(sources []*source, width time.Duration) time.Duration {
	const little = 10
	for _, s := range sources {
		step := s.dialect.step
		if s.dialect.layout != LayoutCells || step*little <= width {
			continue
		}
		width = (width + step - 1) / step * step
		if asked := b.options.CellWidth; asked > 0 && width != asked {
			s.file.Notices = append(s.file.Notices, fmt.Sprintf("cells of %s were asked for; those of this log are %s wide, so the night is kept in cells of %s", series.ShortSpan(asked), series.ShortSpan(step), series.ShortSpan(width)))
		}
	}
	return width
}
