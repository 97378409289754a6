package main

import (
	"fmt"
	"io"
	"slices"

	"github.com/spf13/cobra"

	"dawncrest/rf/handover"
	"dawncrest/rf/review"
	"dawncrest/rf/series"
)

func newCheck() *cobra.Command {
	o := &options{}
	cmd := &cobra.Command{
		Use:   "check [LOG...]",
		Short: "one line per finding, for cron and scripts",
		Long: `check reviews logs and prints one line per finding on standard output, and the
energy and its margin on standard error.

Exit code 0: nothing flagged. 1: something is drifting or out of tolerance, or a
waypoint is short of energy. 2: could not review.

With --follow it goes on reading as the log grows, prints a line when a finding
appears, changes its verdict or clears, and ends at ctrl-c or SIGTERM: with 1 if
anything was ever flagged, else 0.`,
		RunE: func(cmd *cobra.Command, args []string) error { return runCheck(cmd, o, args) },
	}
	o.addShared(cmd)
	cmd.Flags().StringVar(&o.format, "format", "text", "text or json")
	o.addOut(cmd)
	o.addFollow(cmd)
	o.addBook(cmd, "shift book: tell only what it has not told yet")
	return cmd
}

func runCheck(cmd *cobra.Command, o *options, args []string) error {
	if o.format != "text" && o.format != "json" {
		return fmt.Errorf("--format %s: check writes text or json", o.format)
	}
	if err := o.followable(cmd, args); err != nil {
		return err
	}
	if err := o.writable(); err != nil {
		return err
	}
	n, err := o.open(args, cmd.InOrStdin())
	if err != nil {
		return err
	}
	if o.follow {
		return o.checkOn(cmd, n)
	}
	report, err := o.review(cmd.Context(), n, nil)
	if err != nil {
		return err
	}
	findings := n.fresh(report)
	err = o.emit(cmd, func(w io.Writer) error {
		if o.format == "json" {
			return handover.JSON(w, report)
		}
		return handover.Lines(w, report, findings)
	})
	if err != nil {
		return err
	}
	for _, notice := range slices.Concat(report.Notices, n.bookNotices(), lost(report.Log)) {
		fmt.Fprintln(cmd.ErrOrStderr(), notice)
	}
	if err := handover.Headline(cmd.ErrOrStderr(), report); err != nil {
		return err
	}
	if flagged(report, findings) {
		return &exitError{code: exitFlagged}
	}
	return nil
}

// lostMost is how many logs that could not be read are told one by one.
const lostMost = 5

// lost tells what of the logs is not in the review: those that could not be read,
// and rows that were refused.
func lost(log series.Log) []string {
	var words []string
	unread := 0
	for _, f := range log.Files {
		if f.Err == nil {
			continue
		}
		if unread++; unread <= lostMost {
			words = append(words, "not read: "+f.Err.Error())
		}
	}
	if more := unread - lostMost; more > 0 {
		words = append(words, fmt.Sprintf("not read: %d more logs; dawncrest columns tells of each", more))
	}
	if n := log.RowsRejected(); n > 0 {
		words = append(words, fmt.Sprintf("refused: %d of %d rows; dawncrest columns tells which and why", n, n+log.Rows()))
	}
	return words
}

// newOnes are the findings that the shift book has not told before.
func newOnes(r *review.Report, h handover.History) []review.Finding {
	var fresh []review.Finding
	for i, f := range r.Findings {
		if h.Told[i].Age == 0 {
			fresh = append(fresh, f)
		}
	}
	return fresh
}

// flagged reports whether any of the findings, or a waypoint, asks for attention.
func flagged(r *review.Report, findings []review.Finding) bool {
	for _, f := range findings {
		if f.Verdict.Flagged() {
			return true
		}
	}
	for _, w := range r.Waypoints {
		if w.Verdict.Flagged() {
			return true
		}
	}
	return false
}
