// Package review judges a night: plant and readings in, a [Report] out.
//
// The order of work is: reference and settled cells, one [Trace] for every
// channel and derived quantity with its change and verdict, then the findings
// (root causes with their symptoms as evidence), the retune advice, the energy
// budget. It reads no file and no clock.
//
// Values are in the native unit of their quantity (see rf.Quantities); NaN
// means not known, and a zero time means never.
package review
