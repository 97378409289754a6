// Package series holds what a night of log was reduced to, and the statistics
// over it: cells of one channel, the night, and the account of how the log was
// read.
//
// A cell is a fixed slice of time holding count, mean, spread, minimum, maximum
// and last value of one channel. All channels of a night share one grid. Values
// are in the native unit of their quantity (see rf.Quantities). Events keep what
// a cell would blur: trips and the edges of RF on and off, to the second.
package series
