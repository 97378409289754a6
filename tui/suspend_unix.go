//go:build unix

package tui

import (
	"io"
	"os"
	"os/signal"
	"syscall"
	"time"

	tea "github.com/charmbracelet/bubbletea"
)

// suspend gives the terminal back to the shell until the program is called to
// the foreground again.
func suspend() tea.Cmd {
	return tea.Exec(stopped{}, func(error) tea.Msg { return nil })
}

// stopped stops the whole job, as the shell expects of ctrl+z.
type stopped struct{}

// noShell is how long to wait for the stop where there is no shell that could
// continue the job: the system then ignores it, and so do we.
const noShell = 300 * time.Millisecond

// Run stops the job and returns when it goes on.
func (stopped) Run() error {
	continued := make(chan os.Signal, 1)
	signal.Notify(continued, syscall.SIGCONT)
	defer signal.Stop(continued)
	if err := syscall.Kill(0, syscall.SIGTSTP); err != nil {
		return err
	}
	select {
	case <-continued:
	case <-time.After(noShell):
	}
	return nil
}

// SetStdin, SetStdout and SetStderr have nothing to set.
func (stopped) SetStdin(io.Reader)  {}
func (stopped) SetStdout(io.Writer) {}
func (stopped) SetStderr(io.Writer) {}
