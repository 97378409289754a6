package ingest

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"regexp"
	"slices"
	"sort"
	"strings"
	"time"

	"dawncrest/rf/series"
)

// headSize is how much of a file is looked at before it is read.
const headSize = 256 << 10

// source is one input whose way of writing is known, ready to be read.
type source struct {
	input   Input
	file    series.File
	dialect dialect
	opened  *opened // of an input that can be opened only once
	blocks  *blockReader
	header  []string // of the file, or invented
	groups  []string // that its first rows carry, in the tidy and long layouts
	known   bool     // some column is understood
	show    bool     // columns that are not understood are shown too
	book    *signals // nil: not laid out now
	schema  *schema
	times   timeReader
	first   int64  // of the sample; the reference for what times can be right
	sample  extent // of all times in it that can be right
	day     int64  // date of the first row, where rows carry a time of day only
}

// probe opens an input and finds out how it is written. Its error is the whole
// story for a person, without the name of the file.
func (b *builder) probe(ctx context.Context, in Input) (*source, error) {
	s := &source{input: in, file: series.File{Name: in.Name}}
	f := b.options.Force
	o, err := openText(in, b.limits, f.Encoding)
	if err != nil {
		return s, err
	}
	keep := false
	defer func() {
		if !keep {
			o.close()
		}
	}()
	blocks := b.newBlocks(o.text, f.Separator)
	blocks.grows = in.grows
	defer func() {
		if !keep {
			blocks.release()
		}
	}()
	head, err := blocks.head(headSize)
	if err != nil {
		return s, err
	}
	if err := ctx.Err(); err != nil {
		return s, err
	}
	if in.grows {
		head = head[:blocks.wholeRows(bytes.IndexByte(head, '"') >= 0)]
	}
	if len(strings.TrimSpace(strings.Trim(string(head[:min(len(head), 4096)]), "\x00"))) == 0 && blocks.atEnd {
		return s, errEmpty
	}
	s.dialect = readDialect(head, blocks.atEnd, f, b.limits.Columns)
	d := &s.dialect
	s.file.Encoding = o.encoding
	if o.encoding == UTF8 {
		s.file.Encoding = d.encoding
	}
	s.file.Separator, s.file.Decimal, s.file.Layout = string(d.separator), string(d.decimal), d.layout
	s.file.Notices = append(append(s.file.Notices, o.notices...), d.notices...)
	s.file.TimeForm = d.timeName
	blocks.separator = d.separator
	if len(d.header) > b.limits.Columns {
		return s, &limitError{"Columns", int64(b.limits.Columns), fmt.Sprintf("line %d has %d columns", d.headerLine, len(d.header))}
	}
	if d.times == nil {
		s.countWithoutTime(b, blocks)
		return s, d.noTime()
	}
	if err := b.provenOrder(ctx, s, in); err != nil {
		return s, err
	}
	b.setTimes(s)
	if err := s.setDate(f); err != nil {
		return s, err
	}
	s.sampleTimes(f)
	if s.header = d.header; s.header == nil {
		s.header = inventedHeader(d)
		s.file.Notices = append(s.file.Notices, "no header line: columns are named by their number")
	}
	b.sameHeader(s)
	if err := s.layOut(b); err != nil {
		return s, fmt.Errorf("line %d: %w", max(1, d.headerLine), err)
	}
	if d.layout == LayoutCells {
		if err := s.readCellWidth(blocks, f); err != nil {
			return s, err
		}
	}
	s.bookSample()
	s.known = slices.ContainsFunc(s.book.list, func(sig *signal) bool { return sig.quantity != "" })
	s.book, s.schema = nil, nil
	d.forgetSample()
	if in.once || in.grows {
		s.opened, s.blocks, keep = o, blocks, true
	}
	return s, nil
}

// noTime says why a file without times cannot be read.
func (d *dialect) noTime() error {
	names := make([]string, 0, len(d.header))
	for _, name := range d.header {
		names = append(names, fmt.Sprintf("%q", shownWord(name)))
	}
	for _, row := range d.sample {
		if len(row) != len(d.header) {
			return errors.New("not a table: no line names a time column, and the lines do not have the same number of cells")
		}
	}
	if !d.plausibleHeader() {
		return errors.New("not a log: no line names a time column, and no column holds times")
	}
	if len(names) > 8 {
		names = append(names[:8], "...")
	}
	return fmt.Errorf("line %d: no time column among %s: call one time, or date and time", max(1, d.headerLine), strings.Join(names, ", "))
}

// plausibleHeader reports whether the first row names the columns of numbers that
// stand below it.
func (d *dialect) plausibleHeader() bool {
	numbers := 0
	for _, row := range d.sample {
		for c, cell := range row {
			if _, ok := slowNumber([]byte(cell), d.marks[c], d.grouped[c]); ok {
				numbers++
			}
		}
	}
	return numbers > 0 && allWords(d.header)
}

// countWithoutTime counts the rows of a file that has no time column as refused.
func (s *source) countWithoutTime(b *builder, blocks *blockReader) {
	if !s.dialect.plausibleHeader() {
		return
	}
	for _, row := range s.dialect.sample {
		if len(row) != len(s.dialect.header) {
			return
		}
	}
	r := &rejects{file: &s.file, counts: map[string]int{}, writer: b.rejected}
	for {
		block, err := blocks.next()
		if err != nil {
			r.flush()
			return
		}
		line := block.line
		for _, row := range bytes.SplitAfter(block.data, []byte("\n")) {
			if len(row) > 0 && line > s.dialect.headerLine && !blankRow(row, s.dialect.separator) {
				r.add(line, &rowError{reason: "no time"}, row)
			}
			line++
		}
	}
}

// provenOrder looks through the whole file for the order of day and month, where
// its start leaves it open and the file can be opened again.
func (b *builder) provenOrder(ctx context.Context, s *source, in Input) error {
	d := &s.dialect
	if d.ordered {
		return nil
	}
	if !in.once {
		o, err := openText(in, b.limits, b.options.Force.Encoding)
		if err != nil {
			return err
		}
		defer o.close()
		if err := d.proveOrder(ctx, b.newBlocks(o.text, d.separator)); err != nil {
			return err
		}
	}
	if !d.ordered {
		s.file.Notices = append(s.file.Notices, "nothing in the file tells whether day or month comes first in its dates: read as month first; force the order if that is wrong")
	}
	d.nameTime()
	s.file.TimeForm = d.timeName
	return nil
}

func (d *dialect) proveOrder(ctx context.Context, blocks *blockReader) error {
	var proof orderProof
	for ctx.Err() == nil {
		block, err := blocks.next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return err
		}
		for at := 0; at < len(block.data); {
			end, state := rowEnd(block.data[at:], d.separator, true)
			if state == rowWhole {
				proof.take(d.timeText(block.data[at : at+end]))
			}
			at += end
		}
		blocks.recycle(block)
		if proof.day || proof.month {
			break
		}
	}
	d.order, d.ordered = proof.order()
	return ctx.Err()
}

// timeText returns what stands in the time columns of a row.
func (d *dialect) timeText(row []byte) []byte {
	fields := readFields(row, d.separator, slices.Max(d.times)+1)
	var parts [][]byte
	for _, c := range d.times {
		if c < len(fields) {
			parts = append(parts, trimBlanks(fields[c]))
		}
	}
	return bytes.Join(parts, []byte(" "))
}

// setTimes prepares the reading of times in the zone that holds for the file.
func (b *builder) setTimes(s *source) {
	d := &s.dialect
	zone, why := b.zone()
	if named := zoneOfHeader(d); named != nil && b.options.Zone == nil {
		zone, why = named, "as the heading of the time column says"
	}
	s.times = timeReader{form: d.form, order: d.order, local: localClock{zone: zone}}
	s.file.Zone = "stated in each time"
	if d.form == formEpoch {
		s.file.Zone = "UTC"
	} else if !d.hasZone {
		s.file.Zone = zone.String()
		s.file.Notices = append(s.file.Notices, fmt.Sprintf("times state no zone: read as %s, %s", zone, why))
	}
}

func (b *builder) zone() (*time.Location, string) {
	switch {
	case b.options.Zone != nil:
		return b.options.Zone, "as asked for"
	case b.options.Plant != nil && b.options.Plant.Zone != nil:
		return b.options.Plant.Zone, "the zone of the plant"
	}
	return time.UTC, "as nothing says otherwise (an option sets the zone)"
}

// zoneOfHeader returns UTC where the heading of the time column says so.
func zoneOfHeader(d *dialect) *time.Location {
	for _, c := range d.times {
		name, inBrackets := splitUnit(cellAt(d.header, c))
		words := strings.FieldsFunc(strings.ToLower(name+" "+inBrackets), func(r rune) bool { return r == ' ' || r == '_' })
		for _, word := range words {
			if word == "utc" || word == "gmt" {
				return time.UTC
			}
		}
	}
	return nil
}

var dateInName = regexp.MustCompile(`(?:^|[^0-9])(20[0-9][0-9])[-_.]?([01][0-9])[-_.]?([0-3][0-9])(?:[^0-9]|$)`)

// setDate finds the date of the first row where rows carry a time of day only.
func (s *source) setDate(f Force) error {
	if s.dialect.form != formTimeOfDay {
		return nil
	}
	date := f.Date
	if date.IsZero() {
		if m := dateInName.FindStringSubmatch(s.input.Name[strings.LastIndexAny(s.input.Name, `/\`)+1:]); m != nil {
			date, _ = time.Parse("2006-01-02", m[1]+"-"+m[2]+"-"+m[3])
		}
	}
	if date.IsZero() {
		return fmt.Errorf("line %d: times of day without a date, and none in the name of the file: give the date of the first row", max(1, s.dialect.headerLine))
	}
	s.day = daysFromCivil(int64(date.Year()), int64(date.Month()), int64(date.Day()))
	s.file.Notices = append(s.file.Notices, fmt.Sprintf("times of day without a date: the first row is taken to be of %s, and each midnight that is passed as the next day", date.Format("2006-01-02")))
	return nil
}

// sampleTimes finds the usual step, whether the log is sparse, and about which
// time its rows lie.
func (s *source) sampleTimes(f Force) {
	d := &s.dialect
	var times, likely []int64
	j := judge{day: s.day}
	for _, row := range d.sample {
		text, _ := d.timeOf(row)
		when, bad := s.times.read([]byte(text))
		if bad != nil {
			when.at = 0
		}
		if when.tod {
			when.at = j.date(when.at)
		}
		times = append(times, when.at)
		if when.at > sinceResets {
			likely = append(likely, when.at)
		}
	}
	if likely == nil {
		likely = append(likely, times...)
	}
	s.sample = noExtent
	for _, at := range likely {
		s.sample.take(at)
	}
	d.step = usualStep(likely)
	sort.Slice(likely, func(i, j int) bool { return likely[i] < likely[j] })
	if len(likely) > 0 {
		s.first = likely[len(likely)/2]
	}
	d.sparse = d.looksSparse(times)
	if f.Sparse != "" {
		d.sparse = f.Sparse == SparseYes
	}
}

// sinceResets is later than the times that clocks fall back to when they lose
// power: 1970, 1980, 2000.
const sinceResets = 978_400_000 * int64(1e9) // 2001-01-02

// bookSample books the signals that the first rows of the tidy and long layouts
// carry.
func (s *source) bookSample() {
	if s.schema.whole != nil {
		return
	}
	p := parser{schema: s.schema, book: s.book, groups: map[string]*group{}, out: &result{}}
	p.grow()
	for _, row := range s.dialect.sample {
		for c := range p.text {
			p.text[c] = []byte(cellAt(row, c))
		}
		p.group()
	}
	s.groups = slices.SortedFunc(maps.Keys(s.book.groups), func(a, b string) int { return cmp.Compare(s.book.groups[a].key, s.book.groups[b].key) })
}

// showUnknown has columns that are not understood shown as they stand.
func (s *source) showUnknown() {
	s.show = true
	s.file.Notices = append(s.file.Notices, "no column is understood and there is no plant folder: all columns of numbers are shown as they stand")
}

// forgetSample keeps of the rows looked at only which columns hold numbers: at
// least half of the cells that are not empty. Many files wait to be read at a time.
func (d *dialect) forgetSample() {
	numbers, cells := make([]int, len(d.marks)), make([]int, len(d.marks))
	for _, row := range d.sample {
		for c, cell := range row {
			if cell == "" {
				continue
			}
			cells[c]++
			if _, ok := slowNumber([]byte(cell), d.marks[c], d.grouped[c]); ok {
				numbers[c]++
			}
		}
	}
	d.numeric = make([]bool, len(d.marks))
	for c, n := range numbers {
		d.numeric[c] = n > 0 && n*2 >= cells[c]
	}
	d.sample = nil
}

// inventedHeader names the columns of a file that has no header.
func inventedHeader(d *dialect) []string {
	header := make([]string, len(d.columns()))
	for c := range header {
		header[c] = fmt.Sprintf("column %d", c+1)
	}
	for _, c := range d.times {
		header[c] = "time"
	}
	return header
}
