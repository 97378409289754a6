package review_test

import (
	"testing"

	"dawncrest/rf"
)

// 1. Two faults on one station.
func TestFailingTwoFaultsOnOneStation(t *testing.T) {
	for _, c := range []struct {
		name   string
		shifts []shift
		want   []string
	}{
		{
			"voltage and compressor", append(klystron(-1, -1.5, -2.5, -6), compressor(0.844, -12.1, -4.9)...),
			[]string{"compressor_detuning S1", "modulator_voltage S1"},
		},
		{
			"cathode and phase", append(klystron(0, -5, -5, 0), klystron(0, 0, 0, 9)...),
			[]string{"cathode_emission S1", "phase_drift S1"},
		},
		{
			"voltage and loss", append(klystron(-1, -1.5, -2.5, -6), powers(-10)...),
			[]string{"modulator_voltage S1", "waveguide_loss S1"},
		},
		{
			"voltage and divider's drift up", append(klystron(0, 0, 0, 9), compressor(0.844, -12.1, -4.9)...),
			[]string{"compressor_detuning S1", "phase_drift S1"},
		},
		{
			"drive and compressor", append(append(klystron(0, 0, -10.9, -4), byPercent("S1", rf.DrivePower, -20.6)), compressor(0.844, -12.1, -4.9)...),
			[]string{"compressor_detuning S1", "drive_power S1"},
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBench()
			b.play(ramp(3, 7), c.shifts...)
			wantFindings(t, b.review(), c.want...)
		})
	}
}

func TestFailingReflectedAlone(t *testing.T) {
	for _, p := range []float64{60, 100, 160, 200, 300, 600} {
		b := newBench()
		b.play(ramp(3, 7), byPercent("S1", rf.ReflectedPower, p))
		t.Log(p, told(b.review().Findings))
	}
}
