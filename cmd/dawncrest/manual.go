package main

import (
	"fmt"
	"os"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
)

func newManual() *cobra.Command {
	return &cobra.Command{
		Use:   "manual DIR",
		Short: "write the manual pages of all commands into a folder",
		Args:  cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := os.MkdirAll(args[0], 0o777); err != nil {
				return fmt.Errorf("manual: %w", err)
			}
			root := cmd.Root()
			root.DisableAutoGenTag = true // the same commands make the same pages
			if err := doc.GenManTree(root, &doc.GenManHeader{Section: "1", Source: "dawncrest", Manual: "dawncrest"}, args[0]); err != nil {
				return fmt.Errorf("manual: %w", err)
			}
			fmt.Fprintf(cmd.OutOrStdout(), "wrote %s/dawncrest.1 and a page for each command\n", args[0])
			return nil
		},
	}
}
