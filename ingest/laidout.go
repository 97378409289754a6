package ingest

import "slices"

// laidOut is what the header of a file came to, for the next file that is written
// alike: there may be one for each hour of a year.
type laidOut struct {
	dialect    dialect
	header     []string
	schema     schema
	list       []*signal
	treatments []treatment
	bounds     []bounds
}

// fits reports whether a file is written alike.
func (l *laidOut) fits(s *source) bool {
	a, b := &l.dialect, &s.dialect
	return l.header != nil && !s.show && b.layout == LayoutWide && a.separator == b.separator && a.decimal == b.decimal && a.sparse == b.sparse &&
		slices.Equal(l.header, s.header) && slices.Equal(a.header, b.header) && slices.Equal(a.units, b.units) && slices.Equal(a.times, b.times) &&
		slices.Equal(a.marks, b.marks) && slices.Equal(a.grouped, b.grouped)
}

// again returns the schema and the book for another file. Both share what stays as
// it is; more signals are booked in each for itself.
func (l *laidOut) again(b *builder) (*signals, *schema) {
	book, schema := b.newSignals(), l.schema
	book.list, book.treatments, book.bounds = slices.Clip(l.list), slices.Clip(l.treatments), slices.Clip(l.bounds)
	return book, &schema
}
