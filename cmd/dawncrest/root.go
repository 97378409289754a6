package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"
)

const about = `dawncrest reads a night of an electron linac's RF station logs and answers
what a person must know before the day's beam: does the linac make its energy
and with what margin, what drifts, since when and why, which cooling water to
change by how many kelvin, what if a station is lost, what to hand over.

It reads logs. It controls nothing.

Without a command it reviews a built-in demo night of an invented linac.`

func newRoot(in io.Reader, out, errs io.Writer) *cobra.Command {
	o := &options{}
	root := &cobra.Command{
		Use:           "dawncrest",
		Short:         "review a night of a linac's RF logs",
		Long:          about,
		Version:       version(),
		Args:          noLogs,
		SilenceUsage:  true,
		SilenceErrors: true,
		RunE: func(cmd *cobra.Command, args []string) error {
			return runReview(cmd, o, nil)
		},
	}
	root.SetVersionTemplate("dawncrest {{.Version}}\n")
	root.SetIn(in)
	root.SetOut(out)
	root.SetErr(errs)
	o.addShared(root)
	o.addScreen(root)
	o.addBook(root, "shift book: marks and notes go on, and the handover is written into it")
	root.AddCommand(newReview(), newCheck(), newHandover(), newColumns(), newPlant(), newDemo(), newVersion(), newManual())
	return root
}

// noLogs refuses arguments of the bare command with the way out: a log needs a
// command, so that a mistyped command is not taken for a file.
func noLogs(_ *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	if strings.Contains(args[0], ".") || strings.Contains(args[0], "/") {
		return fmt.Errorf("%q is no command; to review that log: dawncrest review %s", args[0], args[0])
	}
	return fmt.Errorf("%q is no command; dawncrest --help lists them", args[0])
}
