package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"dawncrest/rf/handover"
	"dawncrest/rf/review"
)

func newCheck() *cobra.Command {
	o := &options{}
	cmd := &cobra.Command{
		Use:   "check [LOG...]",
		Short: "one line per finding, for cron and scripts",
		Long: `check reviews logs and prints one line per finding.

Exit code 0: nothing flagged. 1: something is drifting or out of tolerance, or a
waypoint is short of energy. 2: could not review.`,
		RunE: func(cmd *cobra.Command, args []string) error { return runCheck(cmd, o, args) },
	}
	o.addShared(cmd)
	cmd.Flags().StringVar(&o.format, "format", "text", "text or json")
	o.addOut(cmd)
	return cmd
}

func runCheck(cmd *cobra.Command, o *options, args []string) error {
	if o.format != "text" && o.format != "json" {
		return fmt.Errorf("--format %s: check writes text or json", o.format)
	}
	n, err := o.open(args, cmd.InOrStdin())
	if err != nil {
		return err
	}
	report, err := o.review(cmd.Context(), n, nil)
	if err != nil {
		return err
	}
	out, err := o.output(cmd)
	if err != nil {
		return err
	}
	if o.format == "json" {
		err = handover.JSON(out, report)
	} else {
		err = handover.Lines(out, report, report.Findings)
	}
	if err := out.finish(err); err != nil {
		return err
	}
	if flagged(report) {
		return &exitError{code: exitFlagged}
	}
	return nil
}

// flagged reports whether anything asks for attention.
func flagged(r *review.Report) bool {
	for _, f := range r.Findings {
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
