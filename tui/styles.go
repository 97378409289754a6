package tui

import (
	"strings"

	"github.com/charmbracelet/lipgloss"
	"github.com/muesli/termenv"

	"dawncrest/rf/review"
	"dawncrest/tui/chart"
	"dawncrest/tui/ground"
)

// styles are the looks of the screens by role.
type styles struct {
	question       lipgloss.Style
	answer         lipgloss.Style
	outOfTolerance lipgloss.Style
	drifting       lipgloss.Style
	inTolerance    lipgloss.Style
	noData         lipgloss.Style
	heading        lipgloss.Style
	faint          lipgloss.Style
	cursor         lipgloss.Style
	plain          lipgloss.Style
	chart          chart.Styles
}

// tint is one colour at the three depths that terminals have.
type tint struct{ full, of256, of16 string }

// The colours of Okabe and Ito that keep apart for every kind of colour sight,
// with their nearest neighbours on poorer terminals.
//
// Source: M. Okabe and K. Ito, Color Universal Design, 2008, from memory.
var (
	vermillion    = tint{"#D55E00", "166", "5"}
	skyBlue       = tint{"#56B4E9", "74", "6"}
	deepBlue      = tint{"#0072B2", "25", "4"}
	orange        = tint{"#E69F00", "178", "3"}
	reddishPurple = tint{"#CC79A7", "175", "13"}
	bluishGreen   = tint{"#009E73", "36", "2"}
	greyOnDark    = tint{"#9A9A9A", "247", "7"}
	greyOnLight   = tint{"#5F5F5F", "240", "8"}
)

func newStyles(o Options) styles {
	r := lipgloss.NewRenderer(nil)
	r.SetHasDarkBackground(o.Ground != ground.Light)
	r.SetColorProfile(o.profile)
	dark := o.Ground != ground.Light
	fore := func(onDark, onLight tint) lipgloss.Style {
		t := onLight
		if dark {
			t = onDark
		}
		return r.NewStyle().Foreground(lipgloss.CompleteColor{TrueColor: t.full, ANSI256: t.of256, ANSI: t.of16})
	}
	drift, grey := fore(skyBlue, deepBlue), fore(greyOnDark, greyOnLight)
	return styles{
		question:       grey,
		answer:         r.NewStyle().Bold(true),
		outOfTolerance: fore(vermillion, vermillion).Bold(true),
		drifting:       drift,
		inTolerance:    r.NewStyle(),
		noData:         grey,
		heading:        r.NewStyle().Bold(true),
		faint:          grey,
		cursor:         r.NewStyle().Bold(true),
		plain:          r.NewStyle(),
		chart: chart.Styles{
			Trace:      r.NewStyle(),
			Second:     fore(reddishPurple, reddishPurple),
			DriftLimit: drift,
			ActLimit:   fore(vermillion, vermillion),
			Reference:  fore(orange, bluishGreen),
			Axis:       grey,
			Cursor:     r.NewStyle().Bold(true),
		},
	}
}

// verdict returns the look of a verdict.
func (s styles) verdict(v review.Verdict) lipgloss.Style {
	switch v {
	case review.OutOfTolerance:
		return s.outOfTolerance
	case review.Drifting:
		return s.drifting
	case review.NoData:
		return s.noData
	}
	return s.inTolerance
}

// onlyPlainLetters reports whether a terminal shows ASCII alone, by what its
// environment says of it: the locale, and where that says nothing the kind of
// terminal. The text console of Linux has no braille, whatever its locale.
func onlyPlainLetters(env func(string) string) bool {
	term := env("TERM")
	if term == "linux" || strings.HasPrefix(term, "vt") {
		return true
	}
	for _, name := range []string{"LC_ALL", "LC_CTYPE", "LANG"} {
		if locale := strings.ToLower(env(name)); locale != "" {
			return !strings.Contains(locale, "utf-8") && !strings.Contains(locale, "utf8")
		}
	}
	return env("TMUX") != "" // which then shows ASCII alone too
}

// profileOf returns how many colours a terminal shows, by what its environment
// says of it. The terminal itself is not asked.
func profileOf(env func(string) string) termenv.Profile {
	term := env("TERM")
	if env("NO_COLOR") != "" || env("CLICOLOR") == "0" || term == "" || term == "dumb" || strings.HasPrefix(term, "vt") {
		return termenv.Ascii
	}
	depth := strings.ToLower(env("COLORTERM"))
	multiplexed := strings.HasPrefix(term, "screen") && env("TERM_PROGRAM") != "tmux"
	switch {
	case (depth == "truecolor" || depth == "24bit") && !multiplexed, strings.HasSuffix(term, "-direct"):
		return termenv.TrueColor
	case depth != "", strings.Contains(term, "256color"):
		return termenv.ANSI256
	}
	return termenv.ANSI
}
