package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"os/signal"
	"slices"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"dawncrest/ingest"
	"dawncrest/rf"
	"dawncrest/rf/handover"
	"dawncrest/rf/review"
	"dawncrest/rf/series"
	"dawncrest/tui"
)

func (o *options) addFollow(cmd *cobra.Command) {
	f := cmd.Flags()
	f.BoolVar(&o.follow, "follow", false, "go on reading as the log grows, and as the next file appears where the logger starts one")
	f.DurationVar(&o.every, "every", ingest.FollowEvery, "with --follow: look at the log this often; a new row is told that much later at most")
}

// followable refuses what makes no sense of a log that goes on.
func (o *options) followable(cmd *cobra.Command, args []string) error {
	switch {
	case !o.follow && cmd.Flags().Changed("every"):
		return errors.New("--every without --follow: it says how often a log that is followed is looked at")
	case !o.follow:
		return nil
	case len(args) == 0:
		return errors.New("--follow without a log: name the file or the folder that the logger writes")
	case slices.Contains(args, "-"):
		return errors.New("--follow with -: standard input is read to its end as it is; name the file or the folder that the logger writes")
	case o.every < ingest.FollowLeast:
		return fmt.Errorf("--every %s: %s at least", o.every, ingest.FollowLeast)
	case o.format == "json":
		return errors.New("--follow with --format json: it prints lines as findings come and go; without --follow check writes the whole as JSON")
	case o.out != "":
		return errors.New("--follow with --out: it has no end to write; send standard output to a file instead")
	case o.rejects != "":
		return errors.New("--follow with --rejects: refused rows of a log that still grows are not final; run dawncrest columns --rejects on it afterwards")
	}
	return nil
}

// following is the review of a log that goes on.
type following struct {
	options *options
	night   *night
	logs    *ingest.Follower
	news    ingest.News
	plant   *rf.Plant
	judge   *review.Options // nil: nothing was reviewed yet
	report  *review.Report
}

// begin reads what is there and reviews it.
func (o *options) begin(ctx context.Context, n *night, progress func(ingest.Progress)) (*following, error) {
	read, err := o.readOptions(n, progress)
	if err != nil {
		return nil, err
	}
	logs, err := ingest.Follow(ctx, n.paths, read, o.every, time.Now)
	if err != nil {
		return nil, err
	}
	f := &following{options: o, night: n, logs: logs, plant: n.plant}
	if err := f.next(ctx); err != nil {
		logs.Close()
		return nil, err
	}
	return f, nil
}

// next waits for news and reviews the night again where rows came.
func (f *following) next(ctx context.Context) error {
	news, err := f.logs.Next(ctx)
	if err != nil {
		return err
	}
	same := f.report != nil && news.Night == f.news.Night
	f.news = news
	if same {
		return nil
	}
	if f.night.plant == nil {
		f.plant = ingest.BarePlant(news.Night)
	}
	if f.judge == nil {
		judge, err := f.options.judgeBy(ctx, f.night, f.plant, news.Night.Start)
		if err != nil {
			return err
		}
		f.judge = &judge
	}
	f.report = f.night.reviewed(f.plant, news.Night, *f.judge)
	return nil
}

// trouble tells what does not answer, in words.
func (f *following) trouble() []string {
	var words []string
	for _, s := range f.news.Stalled {
		words = append(words, fmt.Sprintf("%s does not answer since %s", s.Name, s.Since.In(f.zone()).Format("15:04")))
	}
	return words
}

func (f *following) zone() *time.Location {
	if f.plant != nil && f.plant.Zone != nil {
		return f.plant.Zone
	}
	return time.UTC
}

// followOnScreen lets a source of the screens go on with the log.
func (o *options) followOnScreen(n *night, source tui.Source) tui.Source {
	var f *following
	told := false
	source.Load = func(ctx context.Context, progress func(tui.Progress)) (*review.Report, error) {
		var err error
		if f, err = o.begin(ctx, n, shownProgress(progress)); err != nil {
			return nil, err
		}
		return f.report, nil
	}
	source.Follow = func(ctx context.Context) (*review.Report, tui.Following, error) {
		if told {
			if err := f.next(ctx); err != nil {
				return nil, tui.Following{}, err
			}
		}
		told = true
		return f.report, tui.Following{Every: f.logs.Every(), AsOf: f.news.At, LastRow: f.news.LastRow, QuietSince: f.news.QuietSince, Trouble: f.trouble()}, nil
	}
	return source
}

// checkOn prints a line when a finding appears, changes its verdict or clears, until
// it is told to stop.
func (o *options) checkOn(cmd *cobra.Command, n *night) error {
	ctx, stop := signal.NotifyContext(cmd.Context(), syscall.SIGINT, syscall.SIGTERM)
	defer stop()
	f, err := o.begin(ctx, n, nil)
	if err != nil {
		return err
	}
	defer f.logs.Close()
	out, errs := cmd.OutOrStdout(), cmd.ErrOrStderr()
	fmt.Fprintf(errs, "following, a look every %s; ctrl-c ends it\n", series.ShortSpan(o.every))
	told := changes{out: out, zone: f.zone(), told: map[string]review.Finding{}}
	spoken := ""
	for {
		if err := told.tell(f.news.At, f.report, f.night.fresh(f.report)); err != nil {
			return fmt.Errorf("write to standard output: %w", err)
		}
		if words := f.state(); words != spoken {
			spoken = words
			fmt.Fprintln(errs, f.news.At.In(f.zone()).Format(lineTime)+"  "+words)
		}
		err := f.next(ctx)
		switch {
		case ctx.Err() != nil && told.flagged:
			return &exitError{code: exitFlagged}
		case ctx.Err() != nil:
			return nil
		case err != nil:
			return err
		}
	}
}

// state tells whether rows come.
func (f *following) state() string {
	words := "rows come"
	if !f.news.QuietSince.IsZero() {
		words = "no new row since " + f.news.QuietSince.In(f.zone()).Format(lineTime) + "; the last is of " + f.news.LastRow.In(f.zone()).Format(lineTime)
	}
	return strings.Join(slices.Concat([]string{words}, f.trouble(), lost(f.report.Log)), "; ")
}

// lineTime is the time in front of a line that is printed while a log goes on.
const lineTime = "2006-01-02 15:04:05 -07:00"

// changes are the findings that were told.
type changes struct {
	out     io.Writer
	zone    *time.Location
	told    map[string]review.Finding
	short   map[string]bool // waypoints told as short of energy
	flagged bool            // something was, ever
}

// tell prints what has changed since the last report.
func (c *changes) tell(at time.Time, r *review.Report, findings []review.Finding) error {
	c.flagged = c.flagged || flagged(r, findings)
	now := map[string]review.Finding{}
	for _, f := range findings {
		key := handover.FindingKey(f)
		now[key] = f
		before, known := c.told[key]
		word := "new"
		switch {
		case known && before.Verdict == f.Verdict:
			continue
		case known:
			word = "was " + before.Verdict.Words()
		}
		if err := c.line(at, word, r, f); err != nil {
			return err
		}
	}
	for _, key := range slices.Sorted(maps.Keys(c.told)) {
		if _, still := now[key]; !still {
			if err := c.line(at, "cleared", r, c.told[key]); err != nil {
				return err
			}
		}
	}
	c.told = now
	return c.tellWaypoints(at, r)
}

func (c *changes) line(at time.Time, word string, r *review.Report, f review.Finding) error {
	if _, err := fmt.Fprintf(c.out, "%s  %-20s  ", at.In(c.zone).Format(lineTime), word); err != nil {
		return err
	}
	return handover.Lines(c.out, r, []review.Finding{f})
}

// tellWaypoints prints a line when a waypoint becomes short of energy, or no longer
// is.
func (c *changes) tellWaypoints(at time.Time, r *review.Report) error {
	short := map[string]bool{}
	for _, w := range r.Waypoints {
		short[w.Waypoint] = w.Verdict.Flagged()
		if short[w.Waypoint] == c.short[w.Waypoint] {
			continue
		}
		margin := ""
		if !math.IsNaN(w.MarginPercent) {
			margin = fmt.Sprintf(", margin %+.2f %%", w.MarginPercent)
		}
		if _, err := fmt.Fprintf(c.out, "%s  %-20s  waypoint %s: %s%s\n", at.In(c.zone).Format(lineTime), "energy", w.Waypoint, w.Verdict.Words(), margin); err != nil {
			return err
		}
	}
	c.short = short
	return nil
}
