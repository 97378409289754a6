package ingest

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"dawncrest/rf/series"
)

// Bounds of following.
const (
	FollowEvery = 5 * time.Second        // between two looks, where nothing else is asked for
	FollowLeast = 100 * time.Millisecond // between two looks

	liveFiles  = 32              // files that are held open; those that grew longest ago are let go
	youngFiles = 8               // small files that are read anew at each look
	stillLooks = 3               // without growth until a file that lost its name is let go
	catchUp    = 64              // pieces of a file that are read before a night is made of them
	quietLeast = 2 * time.Minute // without a row until that is news
	quietSteps = 5               // usual steps between rows without one
	patience   = 2 * time.Second // for an answer of the disk
)

// Follower reads logs on as they grow. It looks at their size every so often, which
// works on network mounts too. Its methods are for one goroutine at a time.
type Follower struct {
	every    time.Duration
	now      func() time.Time
	patience time.Duration
	disk     disk
	base     *builder
	roots    []*root
	tails    []*tail
	closed   []*closedFile
	news     News
	told     bool
	grewAt   time.Time
}

// News is what following has come to.
type News struct {
	Night      *series.Night // the one before where no row came
	At         time.Time     // of the look that found it
	LastRow    time.Time     // in the log
	QuietSince time.Time     // no row came since then; zero: they come
	Stalled    []Stall
}

// Stall is a file or folder that does not answer.
type Stall struct {
	Name  string
	Since time.Time
}

// Follow reads logs as Read does and goes on reading as they grow, as the next file
// appears in a folder, as one is renamed, cut or replaced. Only whole rows are
// taken. Packed logs are read once. The clock is for what is told.
func Follow(ctx context.Context, paths []string, o Options, every time.Duration, now func() time.Time) (*Follower, error) {
	if slices.Contains(paths, "-") {
		return nil, errors.New("standard input cannot be followed: it is read to its end as it is; name the file or the folder that the logger writes")
	}
	if every < FollowLeast {
		return nil, fmt.Errorf("looking every %s is too often: %s at least", every, FollowLeast)
	}
	inputs, lost, err := Inputs(paths, nil, o.Limits)
	if err != nil {
		return nil, err
	}
	f := &Follower{every: every, now: now, patience: patience, disk: realDisk(o.Limits), base: newBuilder(o), grewAt: now()}
	for _, path := range paths {
		f.roots = append(f.roots, &root{path: path})
	}
	f.roots[0].lost = lost
	if err := f.start(ctx, inputs); err != nil {
		f.Close()
		return nil, err
	}
	f.base.options.Progress = nil
	if f.news.Night, err = f.snapshot(ctx); err != nil {
		f.Close()
		return nil, err
	}
	f.refresh(true)
	return f, nil
}

// Every returns how often the follower looks.
func (f *Follower) Every() time.Duration { return f.every }

// Next waits for news and returns them: at once the first time, then when rows
// came, when none come any more, or when a file stopped answering or answers again.
// Its error is that of the context, or that nothing can be read any more.
func (f *Follower) Next(ctx context.Context) (News, error) {
	if !f.told {
		f.told = true
		return f.news, ctx.Err()
	}
	for {
		select {
		case <-ctx.Done():
			return News{}, ctx.Err()
		case <-time.After(f.every):
		}
		grown, err := f.look(ctx)
		if err != nil {
			return News{}, err
		}
		if grown {
			if f.news.Night, err = f.snapshot(ctx); err != nil {
				return News{}, err
			}
		}
		if f.refresh(grown) || grown {
			return f.news, nil
		}
	}
}

// Close closes all files.
func (f *Follower) Close() {
	for _, t := range f.tails {
		t.close()
	}
}

// look looks at everything, more than once where there is more to read than one
// piece, and reports whether the night has changed.
func (f *Follower) look(ctx context.Context) (grown bool, err error) {
	for range catchUp {
		news, more := f.round(ctx)
		if ctx.Err() != nil {
			return false, ctx.Err()
		}
		grown = grown || news
		if !more {
			break
		}
	}
	return grown, nil
}

// round asks the disk once about everything. What does not answer in time is asked
// nothing more until it does, and the others go on.
func (f *Follower) round(ctx context.Context) (grown, more bool) {
	late, cancel := context.WithTimeout(ctx, f.patience)
	defer cancel()
	now := f.now()
	for _, r := range f.roots {
		path := r.path
		r.ask(now, func() listing { return f.disk.list(path) })
	}
	for _, t := range f.tails {
		from := t.look()
		t.ask(now, func() sight { return f.disk.see(from) })
	}
	for _, t := range slices.Clone(f.tails) {
		if s, answered := t.take(late); answered {
			news, rest := f.seen(ctx, t, s)
			grown, more = grown || news, more || rest
		}
	}
	for _, r := range f.roots {
		if l, answered := r.take(late); answered {
			news, rest := f.listed(r, l)
			grown, more = grown || news, more || rest
		}
	}
	f.settleYoung(ctx)
	f.letGo(ctx)
	return grown, more
}

// refresh brings what is told beside the night up to date and reports whether it
// has changed.
func (f *Follower) refresh(grown bool) bool {
	now, n := f.now(), f.news
	if grown {
		f.grewAt, n.At, n.LastRow = now, now, time.Time{}
		for _, file := range n.Night.Log.Files {
			if file.Last.After(n.LastRow) {
				n.LastRow = file.Last
			}
		}
	}
	n.QuietSince = time.Time{}
	if now.Sub(f.grewAt) >= quietAfter(n.Night) {
		n.QuietSince = f.grewAt
	}
	n.Stalled = f.stalled()
	changed := !n.QuietSince.Equal(f.news.QuietSince) || !slices.Equal(n.Stalled, f.news.Stalled)
	if changed {
		n.At = now
	}
	f.news = n
	return changed
}

// quietAfter returns how long no row may come before that is news.
func quietAfter(n *series.Night) time.Duration {
	step := time.Duration(0)
	for _, file := range n.Log.Files {
		if file.Step > 0 && (step == 0 || file.Step < step) {
			step = file.Step
		}
	}
	return max(quietLeast, quietSteps*step)
}

func (f *Follower) stalled() []Stall {
	var out []Stall
	for _, r := range f.roots {
		if r.overdue {
			out = append(out, Stall{cleanText(r.path), r.since})
		}
	}
	for _, t := range f.tails {
		if t.overdue {
			out = append(out, Stall{t.name, t.since})
		}
	}
	return out
}
