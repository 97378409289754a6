package test

import (
	"testing"
	"time"

	"dawncrest/rf/review"
	"dawncrest/sampledata"
)

// BenchmarkReview judges a night of 24 stations and 12 hours that is in memory.
func BenchmarkReview(b *testing.B) {
	m := newMachine(b, 24, 7)
	g := game{machine: m, scenario: sampledata.Scenario{
		Seed: 3, Start: time.Date(2026, 3, 2, 20, 0, 0, 0, time.UTC), Length: 12 * time.Hour, Interval: 30 * time.Second,
	}}
	sink := newCellSink(g.scenario.Start, g.scenario.Length)
	if _, err := m.linac.Play(g.scenario, sink); err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		review.Review(m.plant, &sink.night, review.Options{})
	}
}
