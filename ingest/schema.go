package ingest

import (
	"bytes"
	"fmt"
	"math"
	"strings"

	"dawncrest/rf"
)

// role is what a column of a file is for.
type role uint8

const (
	roleNumber role = iota // readings, understood or not
	roleReason             // words: why a station tripped
	roleNothing
	roleTime
	rolePlace
	roleQuantity
	roleUnit
	roleColumn
)

// fileColumn is one column as the parser sees it.
type fileColumn struct {
	role    role
	mark    byte // decimal
	grouped bool // thousands are grouped
}

// schema is what one header makes of the rows below it.
type schema struct {
	separator byte
	layout    string
	header    []string
	units     []string
	columns   []fileColumn
	marks     []byte // decimal mark of each column of numbers, 0 for the others
	spoken    []int  // columns that may hold trip reasons
	times     []int
	place     int // columns of the tidy and long layouts; -1: none
	quantity  int
	unit      int
	column    int
	cells     *cellColumns // of the cells layout, else nil
	sparse    bool
	whole     *group // all signals of a row, in the wide layout
	rows      int    // kept under this header, in the wide layout
	mark      []byte // tells its groups from those of other headers of the file; empty for the first
}

// newSchema lays out the columns of a header. Signals of the wide layout are
// booked at once; a column that an earlier header of the file had keeps its own.
func newSchema(d *dialect, header, units []string, times []int, book *signals) (*schema, error) {
	s := &schema{separator: d.separator, layout: d.layout, header: header, units: units, times: times, sparse: d.sparse,
		place: -1, quantity: -1, unit: -1, column: -1}
	s.columns = make([]fileColumn, len(header))
	for c := range s.columns {
		s.columns[c].mark, s.columns[c].grouped = d.markFor(header, c)
	}
	for _, c := range times {
		s.columns[c].role = roleTime
	}
	var err error
	switch d.layout {
	case LayoutWide:
		book.mu.Lock()
		defer book.mu.Unlock()
		err = s.layOutWide(book)
	case LayoutCells:
		err = s.layOutCells()
	default:
		s.layOutParts(partsOf(header, times))
	}
	s.marks = make([]byte, len(s.columns))
	for c, column := range s.columns {
		if column.role == roleNumber {
			s.marks[c] = column.mark
		}
		if column.role == roleReason || column.role == roleNumber && s.layout == LayoutLong {
			s.spoken = append(s.spoken, c)
		}
	}
	return s, err
}

// layOutParts gives roles to the columns of the tidy and long layouts.
func (s *schema) layOutParts(at map[string]int) {
	for part, c := range at {
		switch {
		case part == "place":
			s.place, s.columns[c].role = c, rolePlace
		case s.layout == LayoutTidy:
		case part == "quantity":
			s.quantity, s.columns[c].role = c, roleQuantity
		case part == "unit":
			s.unit, s.columns[c].role = c, roleUnit
		case part == "column":
			s.column, s.columns[c].role = c, roleColumn
		}
	}
	if s.layout == LayoutLong {
		for c := range s.columns {
			if s.columns[c].role == roleNumber && c != at["value"] {
				s.columns[c].role = roleNothing
			}
		}
	}
	for c, name := range s.header {
		switch q, known := loggedQuantity(firstPart(splitUnit(name))); {
		case s.columns[c].role != roleNumber:
		case name == "":
			s.columns[c].role = roleNothing
		case known && s.layout == LayoutTidy:
			s.columns[c].role = roleOf(q)
		}
	}
}

func (s *schema) layOutWide(book *signals) error {
	s.whole = &group{signals: make([]int32, len(s.header))}
	booked := map[string]int32{}
	taken := map[string]string{} // heading by place and quantity
	for i, old := range book.list {
		booked[old.text] = int32(i)
	}
	var wrong []string
	for c, name := range s.header {
		s.whole.signals[c] = -1
		if s.columns[c].role == roleTime {
			continue
		}
		if name == "" {
			s.columns[c].role = roleNothing
			continue
		}
		read := book.names.read(name, cellAt(s.units, c))
		if read.err != nil {
			wrong = append(wrong, fmt.Sprintf("column %d %q: %v", c+1, shownWord(name), read.err))
			read.quantity = ""
		}
		target := read.place + "\x00" + string(read.quantity)
		if first, twice := taken[target]; twice && read.quantity != "" {
			read.guess = fmt.Sprintf("the same reading as %q, which is taken", first)
			read.quantity = ""
		} else if read.quantity != "" {
			taken[target] = name
		}
		number, again := booked[name]
		if !again || book.list[number].quantity != read.quantity {
			number = book.add(&signal{heading: read, column: c})
		}
		s.whole.signals[c] = number
		s.columns[c].role = roleOf(book.list[number].quantity)
	}
	if wrong != nil {
		return fmt.Errorf("%s", strings.Join(wrong, "; "))
	}
	return nil
}

// roleOf returns the role of a column of that quantity.
func roleOf(q rf.Quantity) role {
	if info, ok := q.Info(); ok && info.Form == rf.Text {
		return roleReason
	}
	return roleNumber
}

func firstPart(name, _ string) string { return name }

func cellAt(cells []string, c int) string {
	if c < len(cells) {
		return cells[c]
	}
	return ""
}

// named returns the columns that name what a row of the tidy or long layout carries;
// -1: there is none.
func (s *schema) named() [4]int { return [...]int{s.place, s.quantity, s.unit, s.column} }

// partsNamed returns the fields of a row that names a group, as the parser joins
// them in its name.
func (s *schema) partsNamed(name string) [][]byte {
	parts := make([][]byte, len(s.columns))
	for i, text := range bytes.SplitN([]byte(name), []byte{0}, 4) {
		if c := s.named()[i]; c >= 0 {
			parts[c] = bytes.TrimSuffix(text, []byte{0})
		}
	}
	return parts
}

// createGroup books the signals of a row of the tidy or long layout, by the text
// in the columns that name them.
func (s *schema) createGroup(book *signals, g *group, parts [][]byte) {
	text := func(c int) string {
		if c < 0 {
			return ""
		}
		return cleanText(string(parts[c]))
	}
	g.signals = make([]int32, len(s.columns))
	for c := range s.columns {
		g.signals[c] = -1
		if s.columns[c].role != roleNumber || s.cells != nil && c != s.cells.mean {
			continue
		}
		var read heading
		switch {
		case s.layout == LayoutTidy:
			name, unitText := splitUnit(s.header[c])
			if unitText == "" {
				unitText = cellAt(s.units, c)
			}
			read = book.names.readParts(text(s.place), name, unitText)
		case s.column >= 0:
			read = book.names.read(text(s.column), text(s.unit))
		default:
			read = book.names.readParts(text(s.place), text(s.quantity), text(s.unit))
		}
		if read.err != nil {
			read.guess, read.quantity = read.err.Error(), ""
		}
		if g.signals[c] = book.under(read, len(s.mark) > 0); g.signals[c] < 0 {
			g.signals[c] = book.add(&signal{heading: read, column: -1})
		}
	}
}

// isHeader reports whether the fields of a row name the columns rather than give
// their values: the time column holds the name of a time.
func (s *schema) isHeader(fields [][]byte) bool {
	for c := range fields {
		name := strings.ToLower(cleanText(string(bytes.TrimPrefix(fields[c], []byte("\ufeff")))))
		name, _ = splitUnit(name)
		if timeNames[name] || name == "date" {
			return true
		}
	}
	return false
}

// missing stands for a reading that is not there.
var missing = math.NaN()
