package rf_test

import (
	"fmt"
	"math"

	"dawncrest/rf"
)

// The ten-foot section of the two-mile accelerator.
//
// Source: H. Wiedemann, Particle Accelerator Physics, eq. (18.107), after Neal
// (1968): 10.48 sqrt(P/MW) - 37.47 i/A in MeV.
func ExampleStructure_EnergyGain() {
	section := rf.Structure{
		Kind: rf.ConstantGradient, LengthM: 3.048,
		ShuntImpedanceOhmPerM: 53e6, Attenuation: 0.57,
	}
	fmt.Printf("%.2f MeV per square root of a megawatt\n", rf.In(section.NoLoadGain(rf.Megawatt), rf.Megaelectronvolt))
	fmt.Printf("%.1f MeV taken per ampere\n", rf.In(section.BeamLoading(rf.Ampere), rf.Megaelectronvolt))
	// Output:
	// 10.48 MeV per square root of a megawatt
	// 37.5 MeV taken per ampere
}

// A storage-ring klystron.
//
// Source: S. Park, SPEAR3 slides (2003): 82 kV, 23.5 A, 1.93 MW, 1.00 microperveance,
// 62 % at 1.2 MW.
func ExampleMicroperveanceOf() {
	voltage, current := 82*rf.Kilovolt, 23.5*rf.Ampere
	fmt.Printf("%.2f microperveance\n", rf.MicroperveanceOf(voltage, current))
	fmt.Printf("%.2f MW in the beam\n", rf.In(rf.BeamPower(voltage, current), rf.Megawatt))
	fmt.Printf("%.0f %% efficiency\n", 100*rf.EfficiencyOf(1.2*rf.Megawatt, voltage, current))
	// Output:
	// 1.00 microperveance
	// 1.93 MW in the beam
	// 62 % efficiency
}

// The check value of the release, printed to nine digits.
//
// Source: IAPWS SR6-08(2011), table 8, 298.15 K.
func ExampleWaterDensity() {
	fmt.Printf("%.6f kg/m3\n", rf.WaterDensity(298.15))
	fmt.Printf("%.5f J/(kg K)\n", rf.WaterHeatCapacity(298.15))
	// Output:
	// 997.047013 kg/m3
	// 4181.44618 J/(kg K)
}

// A 476 MHz cavity.
//
// Source: SLAC procedure PS-340-330-53: Q0 30000 and beta 3.6 make a loaded Q of 6522.
func ExampleStructure_LoadedQ() {
	ring := rf.Structure{Kind: rf.StandingWave, UnloadedQ: 30000, CouplingBeta: 3.6}
	fmt.Printf("%.0f\n", ring.LoadedQ())
	// Output: 6522
}

// A cavity of the Elettra ring: 650 kV at 65 kW. Its page gives V^2/(2 P), half of
// the shunt impedance meant here.
//
// Source: elettra.eu, radio frequency: 3.2 megohm, rounded down.
func ExampleStructure_NoLoadGain() {
	ring := rf.Structure{Kind: rf.StandingWave, CouplingBeta: 1, ShuntImpedanceOhm: 2 * 3.25e6}
	fmt.Printf("%.0f kV\n", float64(ring.NoLoadGain(65*rf.Kilowatt))/1e3)
	// Output: 650 kV
}

// A structure whose output lags by 14 degrees more than on tune is a kelvin too
// warm: take a kelvin out of its water.
func ExampleStructure_WaterChangeK() {
	section := rf.Structure{
		Kind: rf.ConstantGradient, Frequency: 2856 * rf.Megahertz,
		FillingTime: 0.83 * rf.Microsecond, HzPerK: math.NaN(),
	}
	detuning := section.DetuningFromSlip(-14.2 * rf.Degree)
	fmt.Printf("detuning %.1f kHz\n", rf.In(detuning, rf.Kilohertz))
	fmt.Printf("water change %.2f K\n", section.WaterChangeK(detuning, rf.DefaultExpansionPerK))
	// Output:
	// detuning -47.5 kHz
	// water change -1.00 K
}
