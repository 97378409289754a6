package ingest

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"dawncrest/rf"
)

// unit is one way to write readings of a dimension:
// base = value*factor + offset, or base = factor * 10^(value/10) for a level.
type unit struct {
	symbol    string
	dimension rf.Dimension
	factor    float64
	offset    float64
	level     bool // decibel
}

// units is the one table of units; adding one is adding a line. The base of each
// dimension is the coherent SI unit, degC for temperatures, eV for energies, bar
// 1e5 Pa exactly.
//
// Source: SI Brochure, 9th edition, tables 5 to 8; Torr = 101325/760 Pa and
// degF = (9/5) degC + 32 from NIST SP 811, appendix B.
var units = []unit{
	{symbol: "W", dimension: rf.DimPower, factor: 1},
	{symbol: "mW", dimension: rf.DimPower, factor: 1e-3},
	{symbol: "uW", dimension: rf.DimPower, factor: 1e-6},
	{symbol: "kW", dimension: rf.DimPower, factor: 1e3},
	{symbol: "MW", dimension: rf.DimPower, factor: 1e6},
	{symbol: "GW", dimension: rf.DimPower, factor: 1e9},
	{symbol: "dBm", dimension: rf.DimPower, factor: 1e-3, level: true},
	{symbol: "dBW", dimension: rf.DimPower, factor: 1, level: true},
	{symbol: "mV", dimension: rf.DimVoltage, factor: 1e-3},
	{symbol: "V", dimension: rf.DimVoltage, factor: 1},
	{symbol: "kV", dimension: rf.DimVoltage, factor: 1e3},
	{symbol: "MV", dimension: rf.DimVoltage, factor: 1e6},
	{symbol: "GV", dimension: rf.DimVoltage, factor: 1e9},
	{symbol: "nA", dimension: rf.DimCurrent, factor: 1e-9},
	{symbol: "uA", dimension: rf.DimCurrent, factor: 1e-6},
	{symbol: "mA", dimension: rf.DimCurrent, factor: 1e-3},
	{symbol: "A", dimension: rf.DimCurrent, factor: 1},
	{symbol: "kA", dimension: rf.DimCurrent, factor: 1e3},
	{symbol: "deg", dimension: rf.DimAngle, factor: math.Pi / 180},
	{symbol: "rad", dimension: rf.DimAngle, factor: 1},
	{symbol: "mrad", dimension: rf.DimAngle, factor: 1e-3},
	{symbol: "degC", dimension: rf.DimTemperature, factor: 1},
	{symbol: "K", dimension: rf.DimTemperature, factor: 1, offset: -273.15},
	{symbol: "degF", dimension: rf.DimTemperature, factor: 5.0 / 9, offset: -160.0 / 9},
	{symbol: "Pa", dimension: rf.DimPressure, factor: 1},
	{symbol: "uPa", dimension: rf.DimPressure, factor: 1e-6},
	{symbol: "mPa", dimension: rf.DimPressure, factor: 1e-3},
	{symbol: "hPa", dimension: rf.DimPressure, factor: 100},
	{symbol: "kPa", dimension: rf.DimPressure, factor: 1e3},
	{symbol: "mbar", dimension: rf.DimPressure, factor: 100},
	{symbol: "bar", dimension: rf.DimPressure, factor: 1e5},
	{symbol: "Torr", dimension: rf.DimPressure, factor: 101325.0 / 760},
	{symbol: "mTorr", dimension: rf.DimPressure, factor: 101.325 / 760},
	{symbol: "L/min", dimension: rf.DimFlow, factor: 1e-3 / 60},
	{symbol: "L/h", dimension: rf.DimFlow, factor: 1e-3 / 3600},
	{symbol: "L/s", dimension: rf.DimFlow, factor: 1e-3},
	{symbol: "m3/h", dimension: rf.DimFlow, factor: 1.0 / 3600},
	{symbol: "ns", dimension: rf.DimTime, factor: 1e-9},
	{symbol: "us", dimension: rf.DimTime, factor: 1e-6},
	{symbol: "ms", dimension: rf.DimTime, factor: 1e-3},
	{symbol: "s", dimension: rf.DimTime, factor: 1},
	{symbol: "eV", dimension: rf.DimEnergy, factor: 1},
	{symbol: "keV", dimension: rf.DimEnergy, factor: 1e3},
	{symbol: "MeV", dimension: rf.DimEnergy, factor: 1e6},
	{symbol: "GeV", dimension: rf.DimEnergy, factor: 1e9},
	{symbol: "1", dimension: rf.DimRatio, factor: 1},
	{symbol: "%", dimension: rf.DimRatio, factor: 1e-2},
	{symbol: "ppm", dimension: rf.DimRatio, factor: 1e-6},
	{symbol: "Hz", dimension: rf.DimFrequency, factor: 1},
	{symbol: "kHz", dimension: rf.DimFrequency, factor: 1e3},
	{symbol: "MHz", dimension: rf.DimFrequency, factor: 1e6},
	{symbol: "GHz", dimension: rf.DimFrequency, factor: 1e9},
	{symbol: "pC", dimension: rf.DimCharge, factor: 1e-12},
	{symbol: "nC", dimension: rf.DimCharge, factor: 1e-9},
	{symbol: "uC", dimension: rf.DimCharge, factor: 1e-6},
	{symbol: "C", dimension: rf.DimCharge, factor: 1},
}

// unitSpellings are other ways to write a symbol of the table.
var unitSpellings = map[string]string{
	"°": "deg", "degree": "deg", "degrees": "deg", "°C": "degC", "℃": "degC", "deg C": "degC",
	"celsius": "degC", "°F": "degF", "℉": "degF", "deg F": "degF", "fahrenheit": "degF", "kelvin": "K",
	"l/min": "L/min", "lpm": "L/min", "l/mn": "L/min", "l/h": "L/h", "l/s": "L/s", "m³/h": "m3/h", "m^3/h": "m3/h",
	"percent": "%", "pct": "%", "-": "1", "counts": "1", "sec": "s", "watt": "W", "volt": "V", "ampere": "A",
}

// unitLetters are signs that look alike.
var unitLetters = strings.NewReplacer("µ", "u", "μ", "u", "º", "°")

// unitNamed returns the unit of that spelling. Letters of either case are
// understood where that leaves no doubt: "mbar" and "MBAR", but not "mw", which
// may be a milliwatt or a megawatt.
func unitNamed(text string) (unit, bool) {
	text = unitLetters.Replace(strings.TrimSpace(text))
	if symbol, ok := unitSpellings[text]; ok {
		text = symbol
	} else if symbol, ok := unitSpellings[strings.ToLower(text)]; ok {
		text = symbol
	}
	var meant unit
	alike := 0
	for _, u := range units {
		if u.symbol == text {
			return u, true
		}
		if strings.EqualFold(u.symbol, text) {
			meant = u
			alike++
		}
	}
	return meant, alike == 1
}

// conversion brings readings to the native unit of their quantity:
// native = value*scale + offset, or scale * 10^(value/10) for a level.
type conversion struct {
	scale, offset float64
	level         bool
}

// plain reports whether readings are in the native unit already.
func (c conversion) plain() bool { return c.scale == 1 && c.offset == 0 && !c.level }

// of returns a reading in the native unit.
func (c conversion) of(v float64) float64 {
	if c.level {
		return c.scale * math.Pow(10, v/10)
	}
	return v*c.scale + c.offset
}

// words returns the conversion for people, empty where there is none.
func (c conversion) words(native string) string {
	switch {
	case c.plain():
		return ""
	case c.level:
		return fmt.Sprintf("10^(x/10) x %s to %s", significant(c.scale), native)
	case c.offset == 0:
		return fmt.Sprintf("x %s to %s", significant(c.scale), native)
	}
	sign, offset := "+", c.offset
	if offset < 0 {
		sign, offset = "-", -offset
	}
	return fmt.Sprintf("x %s %s %s to %s", significant(c.scale), sign, significant(offset), native)
}

func significant(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }

// convert returns how readings in u become readings in the native unit of a
// quantity; an error where u is of another kind.
func convert(u unit, info rf.Info) (conversion, error) {
	if u.dimension != info.Dimension {
		return conversion{}, fmt.Errorf("%s is a unit of %s, and %s is a %s: write one of %s",
			u.symbol, u.dimension, info.Name, info.Dimension, strings.Join(symbolsOf(info.Dimension), ", "))
	}
	native, ok := unitNamed(info.Unit)
	if !ok {
		native = unit{factor: 1}
	}
	return conversion{scale: u.factor / native.factor, offset: (u.offset - native.offset) / native.factor, level: u.level}, nil
}

func symbolsOf(d rf.Dimension) []string {
	var symbols []string
	for _, u := range units {
		if u.dimension == d {
			symbols = append(symbols, u.symbol)
		}
	}
	return symbols
}
