package tui

import (
	"fmt"
	"runtime/debug"
	"sync"

	tea "github.com/charmbracelet/bubbletea"
)

// CrashError is a fault of our own. The terminal was restored before it was
// returned; Stack is for the report that a person may send.
type CrashError struct {
	Fault any
	Stack []byte
}

func (e *CrashError) Error() string { return fmt.Sprintf("internal fault: %v", e.Fault) }

func crashed(fault any) *CrashError { return &CrashError{fault, debug.Stack()} }

// guarded returns a command that turns a fault into a message: in the goroutine
// of a command nobody else would catch it before the terminal is restored.
func guarded(command func() tea.Msg) tea.Cmd {
	return func() (msg tea.Msg) {
		defer func() {
			if fault := recover(); fault != nil {
				msg = leftMsg{crashed(fault)}
			}
		}()
		return command()
	}
}

// guard is the model that the library runs: ours, with its faults caught.
type guard struct {
	model Model
	end   func() // stops the program; the terminal is restored on the way

	mu    sync.Mutex
	crash error
}

// Init starts the model.
func (g *guard) Init() tea.Cmd { return g.model.Init() }

// Update hands the message to the model.
func (g *guard) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	defer g.catch()
	next, cmd := g.model.Update(msg)
	g.model = next.(Model)
	return g, cmd
}

// View draws the model.
func (g *guard) View() string {
	defer g.catch()
	return g.model.View()
}

func (g *guard) catch() {
	if fault := recover(); fault != nil {
		g.mu.Lock()
		g.crash = crashed(fault)
		g.mu.Unlock()
		g.end()
	}
}

// reason returns why the program ended: a fault before all else, then what ended
// it from outside, then what the model says.
func (g *guard) reason(outside, err error) error {
	g.mu.Lock()
	defer g.mu.Unlock()
	switch {
	case g.crash != nil:
		return g.crash
	case outside != nil:
		return outside
	case g.model.err != nil:
		return g.model.err
	}
	return err
}
