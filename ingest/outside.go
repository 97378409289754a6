package ingest

import (
	"bytes"
	"fmt"
	"io"
	"math"
)

// tailBytes is how much of a file's end is looked at before it is left out.
const tailBytes = 64 << 10

// outside reports whether a file lies before or behind the span asked for by its
// first and by its last rows, and when these are of, so that it need not be read. A
// file of which the end cannot be had without the rest is read.
func (b *builder) outside(s *source) (first, last int64, outside bool) {
	if b.from == math.MinInt64 && b.to == math.MaxInt64 || s.blocks != nil || s.dialect.form == formTimeOfDay || s.sample == noExtent {
		return 0, 0, false
	}
	from := b.readFrom(s.dialect.sparse)
	apart := func(e extent) (before, behind bool) { return e.last < from, e.first >= b.to }
	before, behind := apart(s.sample)
	if !before && !behind {
		return 0, 0, false
	}
	tail := s.tail(b)
	if tail == noExtent {
		return 0, 0, false
	}
	tailBefore, tailBehind := apart(tail)
	return s.sample.first, tail.last, before && tailBefore || behind && tailBehind
}

// tail returns the times of the last rows of a file as it is stored, none where
// they cannot be had at once.
func (s *source) tail(b *builder) extent {
	times := noExtent
	o, err := openText(s.input, b.limits, b.options.Force.Encoding)
	if err != nil {
		return times
	}
	defer o.close()
	file, ok := o.file.(io.Seeker)
	if !ok || o.plainAt < 0 || s.input.Size <= tailBytes {
		return times
	}
	if _, err := file.Seek(s.input.Size-tailBytes, io.SeekStart); err != nil {
		return times
	}
	text, err := io.ReadAll(io.LimitReader(o.stored, tailBytes))
	if err != nil {
		return times
	}
	reader := s.times
	reader.lastText = nil
	rows := bytes.SplitAfter(text, []byte("\n"))
	for _, row := range rows[1:max(1, len(rows)-1)] {
		if when, bad := reader.read(s.dialect.timeText(row)); bad == nil && when.at > sinceResets {
			times.take(when.at)
		}
	}
	return times
}

// leaveOut accounts for a file that is not read.
func (b *builder) leaveOut(s *source, first, last int64) {
	s.file.Outside, s.file.Step = true, s.dialect.step
	s.file.Notices = append(s.file.Notices, fmt.Sprintf("not read: by its first and last rows it is of %s to %s, outside the span asked for", utc(first).Format(shownTime), utc(last).Format(shownTime)))
	b.giveUp(&s.file, fmt.Errorf("none of its rows lies in the span asked for, by the first and last ones"))
	b.progress.Bytes += max(0, s.input.Size)
}
