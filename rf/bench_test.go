package rf

import "testing"

// The review asks for these once per structure and cell: 40 structures, 720 cells.

func BenchmarkDetunedFactor(b *testing.B) {
	s := tenFeet(ConstantGradient)
	for b.Loop() {
		s.DetunedFactor(-20e3)
	}
}

func BenchmarkEnergyMultiplication(b *testing.B) {
	s, c := tenFeet(ConstantGradient), typicalCompressor()
	for b.Loop() {
		c.EnergyMultiplication(s, -10e3, -20e3)
	}
}

func BenchmarkDetuningFromPhase(b *testing.B) {
	c := typicalCompressor()
	for b.Loop() {
		c.DetuningFromPhase(-8 * Degree)
	}
}
