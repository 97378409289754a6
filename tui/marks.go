package tui

import (
	"math"

	"dawncrest/rf/review"
)

// marks are the signs that carry a meaning by their shape.
type marks struct {
	outAbove, outBelow, outSomehow string
	driftUp, driftDown, driftSome  string
	inTolerance, noData            string
	arrow, ellipsis, plusMinus     string
	more                           string // rows above or below
	rule                           string
}

var unicodeMarks = marks{
	outAbove: "▲", outBelow: "▼", outSomehow: "◆",
	driftUp: "↗", driftDown: "↘", driftSome: "~",
	inTolerance: "·", noData: "?",
	arrow: "→", ellipsis: "…", plusMinus: "±", more: "⋮", rule: "─",
}

var asciiMarks = marks{
	outAbove: "^", outBelow: "v", outSomehow: "#",
	driftUp: "/", driftDown: "\\", driftSome: "~",
	inTolerance: ".", noData: "?",
	arrow: ">", ellipsis: "~", plusMinus: "+-", more: ":", rule: "-",
}

// verdict returns the mark of a verdict whose value moved, or lies, in the
// direction of the sign of toward; NaN or 0 where it has none.
func (m marks) verdict(v review.Verdict, toward float64) string {
	pick := func(up, down, some string) string {
		switch {
		case toward > 0:
			return up
		case toward < 0:
			return down
		}
		return some
	}
	switch v {
	case review.OutOfTolerance:
		return pick(m.outAbove, m.outBelow, m.outSomehow)
	case review.Drifting:
		return pick(m.driftUp, m.driftDown, m.driftSome)
	case review.InTolerance:
		return m.inTolerance
	}
	return m.noData
}

// towardOf returns the direction that the mark of a trace shows: where it moves
// while it drifts, on which side it lies once it is out.
func towardOf(v review.Verdict, change, slope float64) float64 {
	if v == review.Drifting && slope != 0 && !math.IsNaN(slope) {
		return slope
	}
	return change
}
