// Package tui shows a review on a terminal.
//
// [Run] loads the night of a [Source] and shows it until the person leaves. The
// screens answer one question each; the question and its answer stand in the
// first two lines. A screen reads the report and computes nothing: what it shows
// was worked out while loading.
//
// # Screens
//
// The morning screen comes first: the energy and its margin, what needs doing,
// every station along the linac. From there: one station from modulator to beam,
// one finding with its evidence, the structures against their water, the energy
// along the linac, the compressors, the trips, the log, the handover.
//
// # Reading without colour
//
// A mark carries each verdict by its shape: an arrow shows which way a drifting
// value moves, a solid triangle on which side of its limit an out-of-tolerance
// value lies. The row under the cursor begins with ">". Colours only repeat it.
//
// # Terminal
//
// Nothing is asked of the terminal, the mouse is left alone, and nothing is sent
// while nothing changes. Every way out restores it: leaving, a signal, a lost
// line, a fault of our own, which is then returned as an error to print.
package tui
