package rf

import "math"

// The quantities that cross package borders, each in the unit that follows.
type (
	Power       float64 // W
	Voltage     float64 // V
	Current     float64 // A
	Frequency   float64 // Hz
	Phase       float64 // rad
	Energy      float64 // eV
	Temperature float64 // K, absolute
	Interval    float64 // s
)

// Scales: multiply to enter (20*Megawatt), use In to leave.
const (
	Watt     Power = 1
	Kilowatt Power = 1e3
	Megawatt Power = 1e6

	Volt     Voltage = 1
	Kilovolt Voltage = 1e3
	Megavolt Voltage = 1e6

	Ampere      Current = 1
	Milliampere Current = 1e-3

	Hertz     Frequency = 1
	Kilohertz Frequency = 1e3
	Megahertz Frequency = 1e6

	Radian Phase = 1
	Degree Phase = math.Pi / 180

	Electronvolt     Energy = 1
	Megaelectronvolt Energy = 1e6

	Second      Interval = 1
	Minute      Interval = 60
	Microsecond Interval = 1e-6
	Picosecond  Interval = 1e-12
)

// In returns v as a plain number of the given unit: In(p, Megawatt).
func In[T ~float64](v, unit T) float64 { return float64(v / unit) }

const zeroCelsiusK = 273.15

// Celsius returns the absolute temperature of a Celsius reading.
func Celsius(degC float64) Temperature { return Temperature(degC + zeroCelsiusK) }

// Celsius returns the temperature as a Celsius reading.
func (t Temperature) Celsius() float64 { return float64(t) - zeroCelsiusK }

// Above returns by how many kelvin t is warmer than base.
func (t Temperature) Above(base Temperature) float64 { return float64(t - base) }

// DBm returns the power of a level in decibel over one milliwatt.
func DBm(level float64) Power { return Power(1e-3 * math.Pow(10, level/10)) }

// Known reports whether v is a number: a missing reading is NaN.
func Known[T ~float64](v T) bool { return !math.IsNaN(float64(v)) }

// Unknown returns the value that stands for a missing reading.
func Unknown[T ~float64]() T { return T(math.NaN()) }
