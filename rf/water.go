package rf

import "math"

// Liquid water at 0.1 MPa after [IAPWS]: powers of alpha = Tr/(Ta - T) and
// beta = Tr/(T - Tb), temperatures in kelvin. A slip in any coefficient would
// miss the release's check value at 298.15 K, which is met to every printed digit.
const (
	waterGasConstantJPerKgK = 461.51805
	waterScaleK             = 10.0
	waterUpperK             = 593.0
	waterLowerK             = 232.0
	waterPressurePa         = 1e5
	waterColdestK           = 253.15
	waterHottestK           = 383.15
)

type waterTerm struct {
	power       int
	coefficient float64
}

// waterHeat holds the terms of the heat capacity, waterVolume those of the
// specific volume: those in alpha, then those in beta.
var (
	waterHeatConstant = -8.983025854
	waterHeatAlpha    = []waterTerm{{4, -1.661470539e5}, {5, 2.708781640e6}, {7, -1.557191544e8}}
	waterHeatBeta     = []waterTerm{{2, -8.237426256e-1}, {3, 1.908956353}, {4, -2.017597384}, {5, 8.546361348e-1}}

	waterVolumeConstant = 1.93763157e-2
	waterVolumeAlpha    = []waterTerm{{4, 6.74458446e3}, {5, -2.22521604e5}, {7, 1.00231247e8}, {8, -1.63552118e9}, {9, 8.32299658e9}}
	waterVolumeBeta     = []waterTerm{{1, 5.78545292e-3}, {2, -1.53195665e-2}, {3, 3.11337859e-2}, {4, -4.23546241e-2}, {5, 3.38713507e-2}, {6, -1.19946761e-2}}
)

// WaterDensity returns the density of pure water in kg/m^3.
//
// Valid: 253.15 K to 383.15 K at 0.1 MPa, NaN outside; glycol changes it.
// Error: 1e-6 near room temperature.
// Source: [IAPWS].
func WaterDensity(t Temperature) float64 {
	alpha, beta := waterVariables(t)
	sum := waterVolumeConstant
	for _, term := range waterVolumeAlpha {
		sum += term.coefficient * powi(alpha, term.power)
	}
	for _, term := range waterVolumeBeta {
		sum += term.coefficient * powi(beta, term.power)
	}
	return waterPressurePa / (waterGasConstantJPerKgK * waterScaleK * sum)
}

// WaterHeatCapacity returns the heat capacity of pure water in J/(kg K).
//
// Valid: 253.15 K to 383.15 K at 0.1 MPa, NaN outside; glycol changes it.
// Error: 0.1 %.
// Source: [IAPWS].
func WaterHeatCapacity(t Temperature) float64 {
	alpha, beta := waterVariables(t)
	var sum float64
	for _, term := range waterHeatAlpha {
		n := term.power
		sum += float64(n*(n+1)) * term.coefficient * powi(alpha, n+2)
	}
	for _, term := range waterHeatBeta {
		n := term.power
		sum += float64(n*(n+1)) * term.coefficient * powi(beta, n+2)
	}
	return -waterGasConstantJPerKgK * (waterHeatConstant + float64(t)/waterScaleK*sum)
}

func waterVariables(t Temperature) (alpha, beta float64) {
	k := float64(t)
	if !(k >= waterColdestK && k <= waterHottestK) {
		return math.NaN(), math.NaN()
	}
	return waterScaleK / (waterUpperK - k), waterScaleK / (k - waterLowerK)
}

func powi(x float64, n int) float64 {
	p := 1.0
	for range n {
		p *= x
	}
	return p
}
