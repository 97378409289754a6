package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"dawncrest/ingest"
	"dawncrest/rf/handover"
	"dawncrest/rf/series"
)

func newColumns() *cobra.Command {
	o := &options{}
	cmd := &cobra.Command{
		Use:   "columns LOG...",
		Short: "what the reader makes of the files",
		Long: `columns shows how a log is read before anyone trusts it: dialect, layout,
times and zone, what each column was taken for, and every row that was refused.`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error { return runColumns(cmd, o, args) },
	}
	o.addShared(cmd)
	cmd.Flags().StringVar(&o.format, "format", "text", "text or json")
	o.addOut(cmd)
	return cmd
}

func runColumns(cmd *cobra.Command, o *options, args []string) error {
	if o.format != "text" && o.format != "json" {
		return fmt.Errorf("--format %s: columns writes text or json", o.format)
	}
	if err := o.writable(); err != nil {
		return err
	}
	n, err := o.open(args, cmd.InOrStdin())
	if err != nil {
		return err
	}
	data, err := o.read(cmd.Context(), n, nil)
	log := series.Log{Files: n.lost}
	if data != nil {
		log = data.Log
	}
	if err != nil && !ingest.Accounted(err, &log) {
		return err
	}
	err = o.emit(cmd, func(w io.Writer) error {
		if o.format == "json" {
			return handover.ColumnsJSON(w, log)
		}
		return handover.ColumnsText(w, log)
	})
	if err != nil {
		return err
	}
	for _, f := range log.Files {
		if f.Err != nil {
			return &exitError{code: exitFailed}
		}
	}
	return nil
}
