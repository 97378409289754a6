//go:build !unix

package tui

import tea "github.com/charmbracelet/bubbletea"

// suspend does nothing where there is no shell to give the terminal back to.
func suspend() tea.Cmd { return nil }
