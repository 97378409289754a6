// Package sampledata invents a linac and plays nights of it, with faults chosen
// beforehand and the truth written beside the log.
//
// It is deliberately a second opinion: it imports nothing of the rest of the
// program and integrates the physics numerically on its own (the compressor's
// cavities in time, the field of a structure along its length, the bodies in
// their water), so that what the program says about a night can be held against
// something that does not share its formulas.
//
// Signs are those of the trade as the log format states them: a phase is
// positive when it leads; detuning is resonant minus drive frequency, so a
// structure that is too warm is negative; a water change is what to add to the
// set point.
package sampledata
