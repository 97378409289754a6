package main

import (
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"dawncrest/sampledata"
)

func newDemo() *cobra.Command {
	s := sampledata.Scenario{}
	var faults []string
	var start string
	var quiet bool
	cmd := &cobra.Command{
		Use:   "demo DIR",
		Short: "write a demo plant and night, with chosen faults and their truth",
		Long: "demo writes a night of an invented linac: plant folder, log and truth.json.\n\nFaults, as KIND@PLACE=SIZE or KIND@PLACE=SIZE@hh:mm:\n\n" +
			faultList(),
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			at, err := parseTime("--start", start, nil)
			if err != nil {
				return err
			}
			s.Start = at
			for _, text := range faults {
				f, err := sampledata.ParseFault(text)
				if err != nil {
					return err
				}
				s.Faults = append(s.Faults, f)
			}
			if !quiet && faults == nil {
				s.Faults = sampledata.DemoFaults()
			}
			files, err := sampledata.WriteDemo(args[0], s)
			if err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "wrote %s\nlook at it: dawncrest review %s\n", strings.Join(files, ", "), files[0])
			return nil
		},
	}
	f := cmd.Flags()
	f.StringArrayVar(&faults, "fault", nil, "a fault to play; may be given several times (default: the demo's own)")
	f.BoolVar(&quiet, "quiet", false, "play no fault")
	f.Uint64Var(&s.Seed, "seed", 1, "same seed, same night")
	f.DurationVar(&s.Length, "length", 12*time.Hour, "of the night")
	f.DurationVar(&s.Interval, "interval", 10*time.Second, "between readings")
	f.StringVar(&start, "start", "2026-11-23T21:00:00Z", "of the night")
	return cmd
}

func faultList() string {
	var b strings.Builder
	for _, k := range sampledata.FaultKinds() {
		fmt.Fprintf(&b, "  %-20s %s (usually %g %s)\n", k.Name, k.About, k.Default, k.Unit)
	}
	return b.String()
}
