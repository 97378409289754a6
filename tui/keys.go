package tui

import "github.com/charmbracelet/bubbles/key"

// keyMap is every key of the screens. Each means the same on every page.
type keyMap struct {
	up, down, pageUp, pageDown, first, last key.Binding
	enter, back, nextPage, previousPage     key.Binding
	nextPlace, previousPlace, worst, filter key.Binding
	earlier, later                          key.Binding
	narrower, wider, panBack, panOn, whole  key.Binding
	seen, other                             key.Binding
	note, drop, form, write                 key.Binding
	help, quit, suspend                     key.Binding
	pages                                   []key.Binding
}

func bind(help, does string, names ...string) key.Binding {
	return key.NewBinding(key.WithKeys(names...), key.WithHelp(help, does))
}

var keys = keyMap{
	up:       bind("up k", "row above", "up", "k"),
	down:     bind("down j", "row below", "down", "j"),
	pageUp:   bind("pgup", "ten rows up", "pgup", "ctrl+b"),
	pageDown: bind("pgdn", "ten rows down", "pgdown", "ctrl+f"),
	first:    bind("home g", "first row", "home", "g"),
	last:     bind("end G", "last row", "end", "G"),

	enter:         bind("enter", "look closer", "enter"),
	back:          bind("esc", "back", "esc", "backspace"),
	nextPage:      bind("tab", "next screen", "tab"),
	previousPage:  bind("shift+tab", "screen before", "shift+tab"),
	nextPlace:     bind("n", "next place", "n"),
	previousPlace: bind("p", "place before", "p"),
	worst:         bind("w", "next worst", "w"),
	filter:        bind("/", "filter rows", "/"),

	earlier:  bind("left h", "time cursor earlier", "left", "h"),
	later:    bind("right l", "time cursor later", "right", "l"),
	narrower: bind("+", "shorter time window, finer", "+", "="),
	wider:    bind("-", "longer time window", "-", "_"),
	panBack:  bind("[", "window earlier", "[", "shift+left"),
	panOn:    bind("]", "window later", "]", "shift+right"),
	whole:    bind("0", "whole night", "0"),

	seen:  bind("s", "mark as seen", "s"),
	other: bind("o", "other drawing", "o"),
	note:  bind("e", "write a note", "e"),
	drop:  bind("x", "drop the last note", "x"),
	form:  bind("f", "other form", "f"),
	write: bind("W", "write it", "W"),

	help:    bind("?", "keys", "?"),
	quit:    bind("q", "leave", "q", "ctrl+c"),
	suspend: bind("ctrl+z", "to the shell for a while", "ctrl+z"),
	pages: []key.Binding{
		bind("1", "morning", "1"), bind("2", "station", "2"), bind("3", "water", "3"), bind("4", "energy", "4"),
		bind("5", "compressors", "5"), bind("6", "trips", "6"), bind("7", "log", "7"), bind("8", "handover", "8"),
	},
}
