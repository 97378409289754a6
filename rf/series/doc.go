// Package series holds what a night of log was reduced to, and the statistics
// over it: cells of one channel, the night, and the account of how the log was
// read.
//
// A cell is a fixed slice of time holding count, mean, spread, minimum, maximum
// and last value of one channel. All channels of a night share one grid. Values
// are in the native unit of their quantity (see rf.Quantities). Events keep what
// a cell would blur: trips and the edges of RF on and off, to the second.
//
// # Statistics
//
// Readings of a night remember one another: water cycles, cables follow the
// gallery, pick-ups wander. So no interval here takes them for independent unless
// it says so; where it matters the departures are white noise plus a wander of
// unknown memory, and the interval is averaged over all memories that the readings
// leave possible. NaN is left out everywhere and what was used is counted; too few
// values give NaN, never a confident answer; a constant has no slope and no
// spread. Times are in hours from an origin near the data.
package series
