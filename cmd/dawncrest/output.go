package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"
)

// output is where a command writes: standard output, or a file that appears
// whole under its name or not at all.
type output struct {
	io.Writer
	file *os.File
	name string
}

// output opens what --out names. An existing file is not replaced.
func (o *options) output(cmd *cobra.Command) (*output, error) {
	if o.out == "" {
		return &output{Writer: cmd.OutOrStdout()}, nil
	}
	if _, err := os.Lstat(o.out); err == nil {
		return nil, fmt.Errorf("--out %s: it exists already; name another file or remove it", o.out)
	}
	return newFileOutput(o.out)
}

func newFileOutput(name string) (*output, error) {
	file, err := os.OpenFile(filepath.Join(filepath.Dir(name), "."+filepath.Base(name)+".part"), os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o666)
	if err != nil {
		return nil, fmt.Errorf("write %s: %w; name a folder that can be written", name, err)
	}
	return &output{Writer: file, file: file, name: name}, nil
}

// finish ends the writing: with an error nothing is left behind.
func (w *output) finish(err error) error {
	if w.file == nil {
		if err != nil {
			return fmt.Errorf("write: %w", err)
		}
		return nil
	}
	err = errors.Join(err, w.file.Sync(), w.file.Close())
	if err == nil {
		err = os.Link(w.file.Name(), w.name) // fails where the name was taken meanwhile
	}
	os.Remove(w.file.Name())
	if err != nil {
		return fmt.Errorf("write %s: %w", w.name, err)
	}
	return nil
}

func exists(name string) bool {
	_, err := os.Lstat(name)
	return err == nil
}
