package ingest

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strings"

	"github.com/gocarina/gocsv"
)

// A table of a plant beyond these is some other file.
const (
	tableRowLimit    = 5000
	tableColumnLimit = 200
)

// gocsv left to itself makes zeros of a missing column and takes the last of two
// equal headings, both in silence.
func init() {
	gocsv.FailIfUnmatchedStructTags = true
	gocsv.FailIfDoubleHeaderNames = true
}

// plantTable names a table of the plant folder and its columns in their usual
// order. Each column stands once more as a tag of the row type.
type plantTable struct {
	file     string
	optional bool
	about    string // what a missing table would have told
	columns  []entrySpec
}

// readTable reads a table into rows, whose entries know where they stand. The
// second result is false where rows may be missing from it, so that nobody can
// tell what is not in the table.
func readTable[Row any](p *plantReader, t *plantTable) ([]Row, bool) {
	data, ok := p.read(t.file, t.optional, t.about)
	if !ok || data == nil {
		return nil, ok
	}
	c := canonicalTable{p: p, table: t}
	whole := c.take(data)
	var rows []Row
	if err := gocsv.UnmarshalCSV(&c, &rows); err != nil {
		panic(fmt.Sprintf("row type of %s: %v", t.file, err))
	}
	for i := range rows {
		place(reflect.ValueOf(&rows[i]).Elem(), c.entries[i])
	}
	return rows, whole
}

// place tells each entry of a row where it stands.
func place(row reflect.Value, entries []entry) {
	for i := range row.NumField() {
		tag := row.Type().Field(i).Tag.Get("csv")
		for _, e := range entries {
			if e.spec.name == tag {
				e.text = row.Field(i).Interface().(entry).text
				row.Field(i).Set(reflect.ValueOf(e))
			}
		}
	}
}

// canonicalTable hands a table to gocsv with every known column exactly once, in
// the order of the specification, and every row as long as the heading.
type canonicalTable struct {
	p       *plantReader
	table   *plantTable
	width   int       // columns of the file
	from    []int     // column of the file that each known column is taken from; -1: none
	dead    []bool    // known columns that are missing or stand twice
	entries [][]entry // of each row, in the order of the specification
}

// Read is not used: the rows are few and stand ready.
func (c *canonicalTable) Read() ([]string, error) { return nil, io.EOF }

// ReadAll returns the heading and the rows.
func (c *canonicalTable) ReadAll() ([][]string, error) {
	heading := make([]string, len(c.table.columns))
	for i, spec := range c.table.columns {
		heading[i] = spec.name
	}
	all := [][]string{heading}
	for _, entries := range c.entries {
		row := make([]string, len(entries))
		for i, e := range entries {
			row[i] = e.text
		}
		all = append(all, row)
	}
	return all, nil
}

// take reads the file, and reports whether every row of it could be told.
func (c *canonicalTable) take(data []byte) bool {
	r := csv.NewReader(bytes.NewReader(data))
	r.FieldsPerRecord = -1
	heading, err := r.Read()
	if err == io.EOF {
		c.fault(0, "is empty", "its first line must be "+strings.Join(c.required(), ","))
		return false
	}
	if err != nil {
		c.unreadable(err)
		return false
	}
	headingLine, _ := r.FieldPos(0)
	if !c.takeHeading(heading, headingLine) {
		return false
	}
	for {
		record, err := r.Read()
		switch {
		case err == io.EOF:
			return true
		case err != nil:
			c.unreadable(err)
			return false
		case strings.Join(record, "") == "":
			continue // a row of commas, as spreadsheets leave below a table
		}
		line, _ := r.FieldPos(0)
		if len(c.entries) == tableRowLimit {
			c.fault(line, fmt.Sprintf("has more than %d rows", tableRowLimit), "is this a log? a plant table has one row for each thing it describes")
			return false
		}
		c.takeRow(record, line)
	}
}

// takeHeading checks the headings, and reports whether rows can be told by them.
func (c *canonicalTable) takeHeading(heading []string, line int) bool {
	heading = withoutEmptyEnd(heading, 0)
	if len(heading) > tableColumnLimit {
		c.fault(line, fmt.Sprintf("has %d columns", len(heading)), "is this a log? its first line must be "+strings.Join(c.required(), ","))
		return false
	}
	if len(heading) == 1 {
		if i := strings.IndexAny(heading[0], ";\t|"); i >= 0 {
			c.fault(line, fmt.Sprintf("is separated by %q", heading[0][i]), "save it separated by commas, with decimal points")
			return false
		}
	}
	c.width = len(heading)
	c.from = make([]int, len(c.table.columns))
	c.dead = make([]bool, len(c.table.columns))
	names := c.names()
	if !slices.ContainsFunc(heading, func(name string) bool { return slices.Contains(names, strings.TrimSpace(name)) }) {
		c.fault(line, "has none of the headings of this table", "its first line must be "+strings.Join(c.required(), ","))
		return false
	}
	for i := range c.from {
		c.from[i] = -1
	}
	for j, name := range heading {
		name = strings.TrimSpace(name)
		i := slices.Index(names, name)
		switch {
		case name == "":
			c.fault(line, fmt.Sprintf("column %d has no heading", j+1), "give it one of "+strings.Join(names, ", ")+", or take it away")
		case i < 0:
			c.p.faultAt(c.table.file, line, shownText(name), "is not a column of this table", didYouMean(name, names, "take it away, or write one of "+strings.Join(names, ", ")))
		case c.from[i] >= 0:
			c.dead[i] = true
			c.p.faultAt(c.table.file, line, name, "stands twice in the heading", "keep one of the two columns")
		default:
			c.from[i] = j
		}
	}
	for i, spec := range c.table.columns {
		if c.from[i] < 0 && !spec.optional {
			c.dead[i] = true
			c.p.faultAt(c.table.file, line, spec.name, "column is missing", "add it: "+spec.about)
		}
	}
	return true
}

// takeRow keeps one row. Where it is longer or shorter than the heading, only its
// first cell is certain to stand under its own heading.
func (c *canonicalTable) takeRow(record []string, line int) {
	record = withoutEmptyEnd(record, c.width)
	torn := len(record) != c.width
	if torn {
		c.fault(line, fmt.Sprintf("has %d cells where the heading has %d", len(record), c.width), "write one cell for each heading, with decimal points, and quotes around a cell that holds a comma")
	}
	entries := make([]entry, len(c.table.columns))
	for i := range entries {
		e := entry{file: c.table.file, line: line, spec: &c.table.columns[i], dead: c.dead[i]}
		if j := c.from[i]; j >= 0 && j < len(record) {
			e.text = record[j]
		}
		e.dead = e.dead || torn && c.from[i] != 0
		entries[i] = e
	}
	c.entries = append(c.entries, entries)
}

// withoutEmptyEnd takes away the empty cells that spreadsheets leave at the end of
// a line, but keeps the first few whatever they hold.
func withoutEmptyEnd(cells []string, few int) []string {
	for len(cells) > few && strings.TrimSpace(cells[len(cells)-1]) == "" {
		cells = cells[:len(cells)-1]
	}
	return cells
}

// unreadable notes where the file stops being a table.
func (c *canonicalTable) unreadable(err error) {
	var parse *csv.ParseError
	if !errors.As(err, &parse) {
		c.fault(0, err.Error(), "")
		return
	}
	right := "put the whole cell in quotes and double each quote inside it"
	c.fault(parse.StartLine, "has a quote out of place: what follows cannot be told into cells", right)
}

func (c *canonicalTable) fault(line int, wrong, right string) {
	c.p.faultAt(c.table.file, line, "", wrong, right)
}

func (c *canonicalTable) names() []string {
	var names []string
	for _, spec := range c.table.columns {
		names = append(names, spec.name)
	}
	return names
}

func (c *canonicalTable) required() []string {
	var names []string
	for _, spec := range c.table.columns {
		if !spec.optional {
			names = append(names, spec.name)
		}
	}
	return names
}
