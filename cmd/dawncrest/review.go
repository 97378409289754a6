package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"time"

	"github.com/spf13/cobra"

	"dawncrest/ingest"
	"dawncrest/rf/handover"
	"dawncrest/rf/review"
	"dawncrest/tui"
	"dawncrest/tui/ground"
)

func newReview() *cobra.Command {
	o := &options{}
	cmd := &cobra.Command{
		Use:   "review [LOG...]",
		Short: "the screens",
		Long: `review opens logs, folders of logs or standard input (-) on screens:
energy and margin, what needs doing, every station and structure with its night.

Without a log it opens the built-in demo night. Where there is no terminal the
review is printed as text.

With --follow it goes on reading as the log grows.`,
		RunE: func(cmd *cobra.Command, args []string) error { return runReview(cmd, o, args) },
	}
	o.addShared(cmd)
	o.addScreen(cmd)
	o.addFollow(cmd)
	o.addBook(cmd, "shift book: marks and notes go on, and the handover is written into it")
	return cmd
}

// runReview shows the screens, or prints the review where there can be none.
func runReview(cmd *cobra.Command, o *options, args []string) error {
	if err := o.followable(cmd, args); err != nil {
		return err
	}
	n, err := o.open(args, cmd.InOrStdin())
	if err != nil {
		return err
	}
	n.parts = &ingest.Parts{}
	source := tui.Source{
		Title: n.title,
		Demo:  n.demo,
		Load: func(ctx context.Context, progress func(tui.Progress)) (*review.Report, error) {
			return o.review(ctx, n, shownProgress(progress))
		},
		CloseUp: n.closeUp,
		Preview: func(r *review.Report, m handover.Meta) string { return o.preview(n, r, m) },
		Write: func(form string, r *review.Report, m handover.Meta) (string, error) {
			return o.writeFromScreen(n, form, r, m)
		},
		Forms:   handoverForms,
		History: n.book.Since,
	}
	if o.follow {
		source = o.followOnScreen(n, source)
	}
	err = tui.Run(cmd.Context(), source, o.screen())
	var none *tui.NoScreenError
	switch {
	case errors.As(err, &none) && o.follow:
		return fmt.Errorf("%w: dawncrest check --follow prints a line when a finding comes or goes", none)
	case errors.As(err, &none):
		fmt.Fprintln(cmd.ErrOrStderr(), "dawncrest: "+none.Error()+": the review as text follows (dawncrest check gives one line per finding)")
		return o.printText(cmd, n)
	}
	return err
}

// closeUp reads a short span of a night's logs again.
func (n *night) closeUp(ctx context.Context, from, to time.Time, cells int) (tui.CloseUp, error) {
	data, err := n.parts.Night(ctx, from, to, cells)
	if err != nil {
		return tui.CloseUp{}, err
	}
	plant := n.plant
	if plant == nil {
		plant = ingest.BarePlant(data)
	}
	return tui.CloseUp{Start: data.Start, Width: data.Width, Cells: data.Cells, Traces: review.Traces(plant, data)}, nil
}

// shownProgress passes progress on to the screens.
func shownProgress(show func(tui.Progress)) func(ingest.Progress) {
	return func(p ingest.Progress) {
		show(tui.Progress{File: p.File, Bytes: p.Bytes, TotalBytes: p.TotalBytes, Rows: p.Rows})
	}
}

func (o *options) screen() tui.Options {
	look := tui.Options{ASCII: o.ascii, NoColor: o.noColor || os.Getenv("NO_COLOR") != "", Ground: ground.Dark, Initials: o.initials, Now: time.Now}
	if o.light {
		look.Ground = ground.Light
	}
	return look
}

// printText prints the review in words.
func (o *options) printText(cmd *cobra.Command, n *night) error {
	report, err := o.review(cmd.Context(), n, nil)
	if err != nil {
		return err
	}
	return handover.Text(cmd.OutOrStdout(), report, o.meta(n, handover.Meta{}), n.book.Since(report))
}
