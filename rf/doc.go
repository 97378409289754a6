// Package rf holds the nouns of an electron linac's radio-frequency plant and
// the formulas that connect them: travelling-wave and standing-wave structures,
// pulse compressors, klystrons, and the energy they add up to.
//
// It is data in, data out: it opens no file, reads no clock and prints nothing.
// Plant data is checked once, when it is loaded, so the formulas take no error.
// A missing reading is NaN and stays NaN through every formula.
//
// # Units
//
// The few quantities that cross package borders have a defined type in coherent
// SI ([Power] in watt, [Frequency] in hertz, [Phase] in radian; [Energy] in
// electronvolt is the one exception). Everything else is a float64 whose name
// ends in its unit. Inside a formula the letters are those of the textbook.
//
// # Signs
//
// A phase is positive when it leads, for field phasors exp(+i w t). Detuning is
// resonant frequency minus drive frequency: a structure that is too warm is
// negative. Phase advance is output phase minus input phase; a warm structure
// lags more, so its phase slip is negative too. A water change is what to add to
// the cooling-water set point: a structure that is too warm needs a negative one.
//
// # Sources
//
//	[Wiedemann] H. Wiedemann, Particle Accelerator Physics, Springer, chapter 18.
//	[Neal]      R. B. Neal (ed.), The Stanford Two-Mile Accelerator, Benjamin, 1968,
//	            as quoted by [Wiedemann].
//	[IAPWS]     International Association for the Properties of Water and Steam,
//	            release SR6-08(2011), liquid water at 0.1 MPa.
package rf
