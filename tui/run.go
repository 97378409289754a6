package tui

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"syscall"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/term"
)

// NoScreenError says why there can be no screens: the caller prints the review
// as text instead.
type NoScreenError struct{ Why string }

func (e *NoScreenError) Error() string { return "no screens: " + e.Why }

// SignalError says that a signal ended the screens.
type SignalError struct{ Signal syscall.Signal }

func (e *SignalError) Error() string { return "ended by signal: " + e.Signal.String() }

// ErrTerminalLost says that the terminal could no longer be read or written.
var ErrTerminalLost = errors.New("terminal lost")

// ErrStopped says that the person stopped the reading.
var ErrStopped = errors.New("reading stopped")

// goneWithin is how long the screens may take to end once the terminal is lost.
const goneWithin = 1500 * time.Millisecond

// framesPerSecond bounds what a held key sends over a slow line.
const framesPerSecond = 60

// Run shows the screens until the person leaves. It returns nil where a person
// left, and else why it ended: what Load returned, a [NoScreenError] before
// anything was sent to the terminal, [ErrStopped], a [SignalError],
// [ErrTerminalLost], or a [CrashError]. The terminal is as it was in every case.
func Run(ctx context.Context, source Source, o Options) error {
	o.profile = profileOf(os.Getenv)
	o.ASCII = o.ASCII || onlyPlainLetters(os.Getenv)
	return run(ctx, New(source, o))
}

func run(ctx context.Context, model Model) error {
	input, err := openScreen()
	if err != nil {
		return err
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	model.loading = newLoading(ctx)
	if width, height, err := term.GetSize(os.Stdout.Fd()); err == nil {
		// The first frame need not wait for the library to ask.
		model = model.resized(tea.WindowSizeMsg{Width: width, Height: height})
	}

	before, err := term.GetState(os.Stdout.Fd())
	if err != nil {
		return fmt.Errorf("read terminal modes: %w", err)
	}
	lost := make(chan struct{}, 1)
	guarded := &guard{model: model}
	program := tea.NewProgram(guarded, tea.WithAltScreen(), tea.WithoutSignalHandler(), tea.WithFPS(framesPerSecond),
		tea.WithInput(watchedInput{input, lost}), tea.WithOutput(watchedOutput{os.Stdout, lost}))
	guarded.end = program.Kill

	ended := make(chan error, 1)
	go func() {
		defer func() {
			if fault := recover(); fault != nil {
				ended <- crashed(fault)
			}
		}()
		_, err := program.Run()
		ended <- err
	}()
	return wait(program, guarded, ended, lost, before)
}

// wait returns once the program has ended, and ends it on signals and when the
// terminal is lost.
func wait(program *tea.Program, g *guard, ended <-chan error, lost <-chan struct{}, before *term.State) error {
	signals := make(chan os.Signal, 1)
	signal.Notify(signals, syscall.SIGINT, syscall.SIGTERM, syscall.SIGHUP)
	defer signal.Stop(signals)
	var overdue <-chan time.Time
	var why error
	for {
		select {
		case err := <-ended:
			return g.reason(why, err)
		case <-overdue:
			_ = term.Restore(os.Stdout.Fd(), before)
			dieOf(why)
			return why
		case s := <-signals:
			why = &SignalError{s.(syscall.Signal)}
		case <-lost:
			if why == nil {
				why = ErrTerminalLost
			}
		}
		overdue = time.After(goneWithin)
		program.Kill()
	}
}

// dieOf has the signal that ended the screens end the program too. A terminal
// that takes nothing any more, as on a line that hangs, would else keep it for as
// long as its last words wait to be sent.
func dieOf(why error) {
	if s := (*SignalError)(nil); errors.As(why, &s) {
		signal.Reset(s.Signal)
		if self, err := os.FindProcess(os.Getpid()); err == nil {
			_ = self.Signal(s.Signal)
		}
	}
}

// openScreen returns the terminal to read keys from. The log may come through
// standard input; the keys then come from the controlling terminal.
func openScreen() (*os.File, error) {
	name := os.Getenv("TERM")
	switch {
	case name == "" || name == "dumb":
		return nil, &NoScreenError{fmt.Sprintf("the terminal cannot move its cursor (TERM=%q)", name)}
	case !term.IsTerminal(os.Stdout.Fd()):
		return nil, &NoScreenError{"standard output is not a terminal"}
	case term.IsTerminal(os.Stdin.Fd()):
		return os.Stdin, nil
	}
	tty, err := os.Open("/dev/tty")
	if err != nil {
		return nil, &NoScreenError{"there is no terminal to read keys from"}
	}
	return tty, nil
}

// watchedInput tells when the terminal can no longer be read.
type watchedInput struct {
	*os.File
	lost chan<- struct{}
}

func (w watchedInput) Read(p []byte) (int, error) {
	n, err := w.File.Read(p)
	if err != nil {
		report(w.lost)
	}
	return n, err
}

// watchedOutput tells when the terminal can no longer be written.
type watchedOutput struct {
	*os.File
	lost chan<- struct{}
}

func (w watchedOutput) Write(p []byte) (int, error) {
	n, err := w.File.Write(p)
	if err != nil {
		report(w.lost)
	}
	return n, err
}

// WriteString hides the file's own, which would not be watched.
func (w watchedOutput) WriteString(s string) (int, error) { return w.Write([]byte(s)) }

func report(lost chan<- struct{}) {
	select {
	case lost <- struct{}{}:
	default:
	}
}
