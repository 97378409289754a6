// Package ground says whether the terminal is dark or light, so that nobody has
// to ask it.
//
// Bubble Tea asks the terminal for its background colour while the program
// starts, in any command that is linked with it, and waits up to five seconds
// for an answer that many terminals never give. An answer that is known already
// is not asked for. This package gives one before Bubble Tea can ask: Go
// initialises ready packages in order of their import path, and this path sorts
// before that of Bubble Tea. It must import nothing that imports Bubble Tea.
package ground

import "github.com/charmbracelet/lipgloss"

// Ground is what the text stands on.
type Ground string

// The grounds. Dark is taken where nothing is said.
const (
	Dark  Ground = "dark"
	Light Ground = "light"
)

func init() { lipgloss.SetHasDarkBackground(true) }
