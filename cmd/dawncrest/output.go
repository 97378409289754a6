package main

import (
	"bytes"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"dawncrest/rf/handover"
)

// writable reports before any work whether what --out names can be written.
func (o *options) writable() error {
	if o.out == "" {
		return nil
	}
	return handover.Writable(o.out, false)
}

// emit writes a result to standard output, or to the file that --out names, which
// then is there whole or not at all.
func (o *options) emit(cmd *cobra.Command, write func(io.Writer) error) error {
	var b bytes.Buffer
	if err := write(&b); err != nil {
		return err
	}
	if o.out != "" {
		return handover.WriteFile(o.out, b.Bytes(), false)
	}
	if _, err := cmd.OutOrStdout().Write(b.Bytes()); err != nil {
		return fmt.Errorf("write to standard output: %w", err)
	}
	return nil
}
