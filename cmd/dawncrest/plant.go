package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"dawncrest/ingest"
	"dawncrest/rf/series"
)

func newPlant() *cobra.Command {
	o := &options{}
	var fresh bool
	var from []string
	cmd := &cobra.Command{
		Use:   "plant DIR",
		Short: "check a plant folder, or draft one with --new",
		Args:  cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if fresh {
				return draftPlant(cmd, o, args[0], from)
			}
			if from != nil {
				return errors.New("--from goes with --new: a draft is made from a log's headers")
			}
			return checkPlant(cmd, args[0])
		},
	}
	cmd.Flags().BoolVar(&fresh, "new", false, "write a plant folder to start from")
	o.reading.add(cmd)
	cmd.Flags().StringArrayVar(&from, "from", nil, "with --new: a log whose headers name the places")
	return cmd
}

func checkPlant(cmd *cobra.Command, dir string) error {
	folder, err := ingest.OpenPlant(dir)
	if err != nil {
		return err
	}
	p := folder.Plant
	out := cmd.OutOrStdout()
	fmt.Fprintf(out, "%s: %d stations, %d structures, %d waypoints, %d tolerances: no fault found\n",
		p.Name, len(p.Stations), len(p.Structures), len(p.Waypoints), len(p.Tolerances))
	for _, notice := range folder.Notices {
		fmt.Fprintln(out, "notice: "+notice)
	}
	return nil
}

func draftPlant(cmd *cobra.Command, o *options, dir string, from []string) error {
	var log *series.Log
	if from != nil {
		limits, err := o.reading.raised()
		if err != nil {
			return err
		}
		inputs, _, err := ingest.Inputs(from, cmd.InOrStdin(), limits)
		if err != nil {
			return err
		}
		data, err := o.read(cmd.Context(), &night{inputs: inputs}, nil)
		if err != nil {
			return err
		}
		log = &data.Log
	}
	if err := ingest.DraftPlant(dir, log); err != nil {
		return err
	}
	fmt.Fprintf(cmd.OutOrStdout(), "wrote a draft to %s: fill in every cell marked ?, then: dawncrest plant %s\n", dir, dir)
	return nil
}
