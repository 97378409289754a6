// Dawncrest reviews a night of an electron linac's RF logs: whether the linac
// makes its energy, what drifts and why, which water to change, what to hand over.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime/debug"
	"strings"

	// First: it keeps the screens' libraries from asking the terminal questions
	// before anything is known of it.
	_ "dawncrest/tui/ground"

	"dawncrest/tui"
)

// Exit codes.
const (
	exitQuiet   = 0   // reviewed, nothing flagged
	exitFlagged = 1   // reviewed, something flagged (check only)
	exitFailed  = 2   // could not do what was asked
	signalBase  = 128 // and the signal's number, as shells have it
)

// exitError ends the program with a code and, where it has words, a message.
type exitError struct {
	code int
	err  error
}

func (e *exitError) Error() string {
	if e.err == nil {
		return ""
	}
	return e.err.Error()
}

func (e *exitError) Unwrap() error { return e.err }

// collectAt makes the garbage collector run when the heap has grown by a quarter:
// what a night leaves in memory is small and reading makes little garbage, so the
// low peak costs no time that was measured. GOGC overrides it.
const collectAt = 25

func main() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(collectAt)
	}
	os.Exit(run(context.Background(), os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

// run is the whole program but for the process around it.
func run(ctx context.Context, args []string, in io.Reader, out, errs io.Writer) int {
	answer := &plainWriter{w: out}
	out, errs = answer, &plainWriter{w: errs}
	root := newRoot(in, out, errs)
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	if err == nil && answer.err != nil {
		err = fmt.Errorf("write to standard output: %w", answer.err)
	}
	if err == nil {
		return exitQuiet
	}
	code := exitFailed
	if exit := (*exitError)(nil); errors.As(err, &exit) {
		code = exit.code
	}
	if signal := (*tui.SignalError)(nil); errors.As(err, &signal) {
		code = signalBase + int(signal.Signal)
	}
	if errors.Is(err, tui.ErrTerminalLost) {
		return code // nobody is left to read a word
	}
	if crash := (*tui.CrashError)(nil); errors.As(err, &crash) {
		fmt.Fprintf(errs, "%s\n", crash.Stack)
	}
	switch text := strings.TrimSpace(err.Error()); {
	case strings.Contains(text, "\n"):
		fmt.Fprintf(errs, "dawncrest: %d faults\n%s\n", strings.Count(text, "\n")+1, text)
	case text != "":
		fmt.Fprintln(errs, "dawncrest: "+text)
	}
	return code
}
