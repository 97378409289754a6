// Package chart draws numbers in a box of terminal cells.
//
// [Plot] draws one or two series over time, [Scatter] draws points against a
// fitted line, [Spark] draws one line of a table. Each returns exactly as many
// lines as its height and no line wider than its width, whatever the data.
//
// # How a plot is read
//
// A column of dots runs from the smallest to the largest mean that falls into
// it, and on to any extreme that stands out from the usual scatter: the line
// stays calm, and a spike of one reading survives any zoom. Where readings are
// missing nothing is drawn, and the time axis below is broken there; it is heavy
// where the reference was taken. A value
// beyond the scale stands as an arrow on the edge that it left through. Limits
// run across the box behind the dots, named at the right edge.
//
// The cursor stands on the time axis alone: moving it changes two lines of the
// box and no more, which is what a slow line can bear.
//
// Numbers are plain float64, NaN for missing; infinities are taken as missing.
package chart
