package tui

import (
	"context"
	"time"

	"github.com/muesli/termenv"

	"dawncrest/rf/handover"
	"dawncrest/rf/review"
	"dawncrest/tui/ground"
)

// Source is where the night comes from and where a handover goes to.
type Source struct {
	Title string // what is read, in words: file names or the demo night
	Demo  bool   // demo data, and every screen says so

	// Load reads and reviews the night. It calls progress as often as it likes,
	// and returns early with the context's error once that is cancelled.
	Load func(ctx context.Context, progress func(Progress)) (*review.Report, error)

	// Follow waits for news of a log that is still written and returns the review of
	// it, the same one where no row came. It is called again after each return, the
	// first time after Load. nil: the log is not followed.
	Follow func(ctx context.Context) (*review.Report, Following, error)

	// CloseUp reads the rows from one time to another again, into about so many cells,
	// wider ones where the readings lie farther apart. nil: it cannot be done.
	CloseUp func(ctx context.Context, from, to time.Time, cells int) (CloseUp, error)

	// Preview returns the handover as text, Write writes it in one of Forms and
	// returns where to. Both fill what the screens cannot know (version, hour).
	// Where Write is nil, WriteHint says how a handover is written instead.
	Preview   func(r *review.Report, m handover.Meta) string
	Write     func(form string, r *review.Report, m handover.Meta) (path string, err error)
	WriteHint string
	Forms     []string // the first is the usual one

	// History is what the shift book knows of the report: what is new, the marks
	// handed on, what creeps from night to night. nil: there is no book.
	History func(r *review.Report) handover.History
}

// Progress is how far reading has come.
type Progress struct {
	File       string
	Bytes      int64
	TotalBytes int64 // 0: not known
	Rows       int64
	Stage      string // what is being done, in words; empty: reading
}

// Options are how the screens look and who sits before them.
type Options struct {
	ASCII    bool // no letter beyond ASCII is drawn
	NoColor  bool
	Ground   ground.Ground
	Initials string         // of the reader, for marks and the handover
	Zone     *time.Location // of all times; nil: the plant's
	Now      func() time.Time

	profile termenv.Profile
}
