package ingest

import (
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"hash/maphash"
	"io"
	"math"
	"runtime/debug"
	"sort"
	"strings"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

// Options tell how logs are to be read. The zero value detects everything.
type Options struct {
	Plant        *rf.Plant      // nil: places are taken as the log names them
	Columns      []ColumnRule   // of columns.csv
	From, To     time.Time      // rows outside are read over; zero: no bound
	Zone         *time.Location // of times that state none; nil: the plant's, else UTC
	CellWidth    time.Duration  // 0: about a minute, wider for longer logs
	Force        Force
	MissingWords []string      // more words, or numbers, that stand for no value
	HoldFor      time.Duration // of a value written only on change; 0: DefaultHold
	RejectsTo    io.Writer     // nil, or where the refused rows go, as CSV
	Parts        *Parts        // nil, or what is to remember where the rows stand
	Limits       Limits        // zero fields: DefaultLimits
	Progress     func(Progress)
}

// hold returns how long a value written on change holds.
func (o Options) hold() time.Duration {
	if o.HoldFor > 0 {
		return o.HoldFor
	}
	return DefaultHold
}

// Progress tells how far the reading is.
type Progress struct {
	File       string
	Bytes      int64 // of all inputs, as stored
	TotalBytes int64 // 0: not known
	Rows       int64
}

// Read reads logs into one night. What is wrong with one file stands in its
// account, and the others are read all the same; the error is for when nothing
// could be read.
func Read(ctx context.Context, inputs []Input, o Options) (*series.Night, error) {
	b := newBuilder(o)
	if err := b.readAll(ctx, b.probeAll(ctx, inputs)); err != nil {
		return nil, err
	}
	return b.finish()
}

// readAll reads files into the night in the order of their first rows.
func (b *builder) readAll(ctx context.Context, sources []*source) error {
	defer closeAll(sources)
	b.prepare(sources)
	for i, s := range sources {
		if err := ctx.Err(); err != nil {
			return err
		}
		if first, last, outside := b.outside(s); outside {
			b.leaveOut(s, first, last)
		} else {
			b.read(ctx, s)
		}
		sources[i] = nil // there may be many, and each holds what is known of its columns
	}
	return ctx.Err()
}

// closeAll closes what was left open of files that were not read.
func closeAll(sources []*source) {
	for _, s := range sources {
		if s != nil && s.opened != nil {
			s.opened.close()
		}
	}
}

// prepare decides what must be known of all files before the first is read, and
// sorts them.
func (b *builder) prepare(sources []*source) {
	b.openUnknown(sources)
	b.chooseWidth(sources)
	sort.SliceStable(sources, func(i, j int) bool { return sources[i].first < sources[j].first })
}

// builder makes one night of many files.
type builder struct {
	options    Options
	limits     Limits
	names      *headings
	grid       *grid
	events     *events
	holder     *holder
	histories  map[string]*history
	log        series.Log
	seed       maphash.Seed
	from, to   int64
	before     int64 // no row is known that is not later
	words      map[string]bool
	codes      []float64
	results    chan *result // to be used again
	rejected   *csv.Writer
	forked     bool // a copy of the night, made of what was followed so far
	understood bool // some column of some file
	buffers    chan []byte
	batches    chan batch
	laidOut    laidOut
	columns    map[series.ColumnName]*series.ColumnName
	heldOn     bool  // values that hold do so to the end of the span asked for
	asked      int64 // width of a cell, as asked for or first chosen
	progress   Progress
}

func newBuilder(o Options) *builder {
	b := &builder{options: o, limits: o.Limits.withDefaults(), names: newHeadings(o.Plant, o.Columns), events: newEvents(),
		histories: map[string]*history{}, columns: map[series.ColumnName]*series.ColumnName{}, seed: maphash.MakeSeed(), from: math.MinInt64, to: math.MaxInt64, before: minTime}
	b.grid = &grid{limit: b.limits.Cells, width: int64(time.Minute), lastAt: minTime, byName: map[channelName]int{}}
	b.words, b.codes, b.results = wordsForNothing(o.MissingWords), codesForNothing(o.MissingWords), make(chan *result, 16)
	b.buffers, b.batches = make(chan []byte, 16), make(chan batch, 8)
	b.rejected = rejectWriter(o.RejectsTo)
	b.holder = newHolder(b.grid, o.hold())
	if o.Parts != nil {
		o.Parts.begin(o)
	}
	if !o.From.IsZero() {
		b.from = o.From.UnixNano()
	}
	if !o.To.IsZero() {
		b.to = o.To.UnixNano()
	}
	return b
}

func (b *builder) newSignals() *signals {
	return &signals{groups: map[string]*group{}, names: b.names, limit: b.limits.Series, codes: b.codes, channelOf: func(s *signal) int {
		if s.info.Form == rf.Text {
			return -1
		}
		return b.grid.channel(s.place, s.quantity, s.info.Form == rf.Angle)
	}}
}

// history returns what is remembered of rows that carry these signals.
func (b *builder) history(of []*signal) *history {
	var names []string
	for _, sig := range of {
		name := sig.place + "\x00" + string(sig.quantity)
		if sig.quantity == "" {
			name = "\x00" + sig.text
		}
		names = append(names, name)
	}
	sort.Strings(names)
	name := strings.Join(names, "\x01")
	h := b.histories[name]
	if h == nil {
		h = &history{last: b.before}
		b.histories[name] = h
	}
	return h
}

// room returns how many rows each history may remember.
func (b *builder) room() int { return max(512, b.limits.RowsRemembered/max(1, len(b.histories))) }

// probeAll finds out how each input is written. Those that cannot be read are in
// the log's account at once.
func (b *builder) probeAll(ctx context.Context, inputs []Input) []*source {
	var sources []*source
	for _, in := range inputs {
		if in.Size > 0 {
			b.log.Bytes += in.Size
		}
		s, err := b.probeSafely(ctx, in)
		if err != nil {
			b.giveUp(&s.file, err)
			continue
		}
		sources = append(sources, s)
	}
	b.progress.TotalBytes = b.log.Bytes
	return sources
}

// probeSafely turns a panic on one file, and a file that does not answer, into an
// error of that file.
func (b *builder) probeSafely(ctx context.Context, in Input) (s *source, err error) {
	type answer struct {
		s   *source
		err error
	}
	answers := make(chan answer, 1)
	go func() {
		a := answer{s: &source{input: in, file: series.File{Name: in.Name}}}
		defer func() {
			if p := recover(); p != nil {
				a.err = faultOfOurs(p)
			}
			answers <- a
		}()
		a.s, a.err = b.probe(ctx, in)
	}()
	select {
	case a := <-answers:
		return a.s, a.err
	case <-ctx.Done():
		return &source{input: in, file: series.File{Name: in.Name}}, ctx.Err()
	}
}

// faultOfOurs is the error for a panic in the reader itself.
func faultOfOurs(p any) error {
	at := "unknown place"
	for _, line := range strings.Split(string(debug.Stack()), "\n") {
		if strings.Contains(line, "/ingest/") && !strings.Contains(line, "read.go") {
			at = strings.TrimSpace(line[strings.LastIndex(line, "/")+1:])
			break
		}
	}
	return fmt.Errorf("a fault of this program, not of the file: %v (%s)", p, at)
}

// giveUp books a file that cannot be read, with its name in front of the error.
func (b *builder) giveUp(file *series.File, err error) {
	file.Err = fmt.Errorf("%s: %w", file.Name, err)
	b.log.Files = append(b.log.Files, *file)
}

// openUnknown makes channels of the columns of numbers in logs of which nothing is
// understood, so that they can be seen, where there is no plant to ask.
func (b *builder) openUnknown(sources []*source) {
	if b.options.Plant != nil || b.understood {
		return
	}
	for _, s := range sources {
		if s.known {
			b.understood = true
			return
		}
	}
	for _, s := range sources {
		s.showUnknown()
	}
}

// chooseWidth takes cells of one minute, or as wide as the fastest file's rows lie
// apart where that is more.
func (b *builder) chooseWidth(sources []*source) {
	width := b.options.CellWidth
	if width <= 0 {
		step := time.Duration(math.MaxInt64)
		for _, s := range sources {
			if s.dialect.step > 0 && !s.dialect.sparse {
				step = min(step, s.dialect.step)
			}
		}
		width = time.Minute
		if step > width && step != math.MaxInt64 {
			width = wholeSteps(step)
		}
	}
	width = b.fitCells(sources, width)
	b.grid.width, b.asked = int64(width), int64(width)
}

// wholeSteps returns a step rounded up to half minutes, above an hour to hours; a
// step that is a little longer than such a width counts as being it.
func wholeSteps(step time.Duration) time.Duration {
	unit := 30 * time.Second
	if step > time.Hour+time.Hour/50 {
		unit = time.Hour
	}
	return max(1, (step-step/50+unit-1)/unit) * unit
}

// read reads one file into the night.
func (b *builder) read(ctx context.Context, s *source) {
	st := newStream(b, s)
	st.readSafely(ctx)
	b.log.Files = append(b.log.Files, st.account())
	b.progress.Rows += int64(st.file.RowsKept)
	b.progress.Bytes += max(0, s.input.Size)
}

// readSafely reads what the stream has; a panic becomes an error of the file.
func (s *stream) readSafely(ctx context.Context) {
	defer func() {
		if p := recover(); p != nil {
			s.failed = faultOfOurs(p)
		}
	}()
	if s.failed == nil {
		s.failed = s.read(ctx)
	}
}

// account completes the account of the file.
func (s *stream) account() series.File {
	s.finish()
	s.night.heldOn = s.night.heldOn || s.beyond && s.schema.sparse
	err := s.failed
	if err == nil && s.file.RowsKept == 0 && !s.held {
		err = s.nothingKept()
	}
	if err == nil && len(s.book.list) == 0 {
		err = fmt.Errorf("line %d: no value column beside the time", max(1, s.source.dialect.headerLine))
	} else if err == nil {
		err = s.nothingKnown()
	}
	if err != nil {
		s.file.Err = fmt.Errorf("%s: %w", s.file.Name, err)
	}
	return *s.file
}

// finish turns what was read into the night.
func (b *builder) finish() (*series.Night, error) {
	if !b.anyRead() {
		return nil, b.whyNothing()
	}
	end := int64(minTime)
	for i := range b.log.Files {
		f := &b.log.Files[i]
		if f.Outside {
			f.Err = nil // others have rows in the span
		}
		if !f.Last.IsZero() {
			end = max(end, f.Last.UnixNano())
		}
	}
	if b.heldOn {
		end = max(end, b.to)
	}
	b.holder.finish(end)
	b.tellAll()
	n := &series.Night{
		Width:    time.Duration(b.grid.width),
		Start:    utc(b.grid.start),
		Cells:    b.grid.used,
		Channels: b.grid.finish(),
		Events:   b.events.finish(),
		Log:      b.log,
	}
	return n, nil
}

func (b *builder) anyRead() bool {
	for _, f := range b.log.Files {
		if f.Err == nil {
			return true
		}
	}
	return false
}

// nothingReadError is the error of a call of which nothing could be read, with the
// account of each file.
type nothingReadError struct{ files []series.File }

func (e *nothingReadError) Error() string { return errors.Join(e.Unwrap()...).Error() }

// Unwrap returns the error of each file.
func (e *nothingReadError) Unwrap() []error {
	var errs []error
	for _, f := range e.files {
		errs = append(errs, f.Err)
	}
	return errs
}

// Accounted adds the files that an error of Read tells of to a log, so that what
// was found out about them can be shown; false where the error is of another kind.
func Accounted(err error, log *series.Log) bool {
	var nothing *nothingReadError
	if !errors.As(err, &nothing) {
		return false
	}
	log.Files = append(log.Files, nothing.files...)
	return true
}

func (b *builder) whyNothing() error {
	if len(b.log.Files) > 0 {
		return &nothingReadError{b.log.Files}
	}
	return errors.New("no log given: name files or folders, or - for standard input")
}
