package ingest

import (
	"context"
	"testing"
	"time"
)

// BenchmarkPart reads five minutes of the night again, of 528 channels; its baseline
// is BenchmarkNight.
func BenchmarkPart(b *testing.B) {
	inputs, _, err := Inputs([]string{nightFile(b)}, nil, Limits{})
	if err != nil {
		b.Fatal(err)
	}
	var parts Parts
	night, err := Read(context.Background(), inputs, Options{Parts: &parts})
	if err != nil {
		b.Fatal(err)
	}
	from := night.Start.Add(7 * time.Hour)
	b.ReportAllocs()
	for b.Loop() {
		part, err := parts.Night(context.Background(), from, from.Add(5*time.Minute), 300)
		if err != nil || part.Cells != 300 || part.Width != time.Second {
			b.Fatal(err, part)
		}
	}
}
