package ingest

import "slices"

// layOut makes the schema of a file and books its signals: for a look at its start,
// and again when it is read, because many files may wait for that.
func (s *source) layOut(b *builder) (err error) {
	if b.laidOut.fits(s) {
		s.book, s.schema = b.laidOut.again(b)
		return nil
	}
	s.book = b.newSignals()
	if s.schema, err = newSchema(&s.dialect, s.header, s.dialect.units, s.dialect.times, s.book); err != nil {
		return err
	}
	for _, name := range s.groups {
		s.book.group(name, func(g *group) { s.schema.createGroup(s.book, g, s.schema.partsNamed(name)) })
	}
	if s.show {
		for number, sig := range s.book.list {
			if sig.column < 0 || s.dialect.numeric[sig.column] {
				sig.open()
				s.book.rebook(number)
			}
		}
		s.book.open = true
	}
	if s.schema.layout == LayoutWide && !s.show {
		b.laidOut = laidOut{dialect: s.dialect, header: s.header, schema: *s.schema, list: s.book.list, treatments: s.book.treatments, bounds: s.book.bounds}
		b.laidOut.dialect.sample = nil
	}
	return nil
}

// sameHeader lets a file share the header of the last one that was laid out.
func (b *builder) sameHeader(s *source) {
	if !slices.Equal(b.laidOut.header, s.header) {
		return
	}
	s.header = b.laidOut.header
	if s.dialect.header != nil {
		s.dialect.header = s.header
	}
}

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
