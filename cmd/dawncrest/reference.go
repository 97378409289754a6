package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"time"

	"dawncrest/ingest"
	"dawncrest/rf"
	"dawncrest/rf/handover"
	"dawncrest/rf/review"
)

// judgeBy returns what drift is measured from: what --reference names, else the
// last accepted handover of the shift book before the night's start, else nothing,
// which is the first settled hour.
func (o *options) judgeBy(ctx context.Context, n *night, plant *rf.Plant, start time.Time) (review.Options, error) {
	if o.reference != "" {
		return o.givenReference(ctx, n, plant)
	}
	if n.book == nil {
		return review.Options{}, nil
	}
	levels, _, err := n.book.Reference(plant.Name, start)
	if err != nil {
		return review.Options{}, fmt.Errorf("%w; --reference names another", err)
	}
	return review.Options{Levels: levels}, nil
}

// givenReference reads --reference: a span of this log as TIME..TIME, an entry of
// a shift book, or another log, whose last settled quarter hour then counts.
func (o *options) givenReference(ctx context.Context, n *night, plant *rf.Plant) (review.Options, error) {
	_, err := os.Stat(o.reference)
	switch {
	case err == nil && (strings.HasSuffix(o.reference, ".json") || strings.HasSuffix(o.reference, ".txt")):
		levels, err := handover.ReadLevels(o.reference)
		return review.Options{Levels: levels}, err
	case err == nil:
		limits, err := o.reading.raised()
		if err != nil {
			return review.Options{}, err
		}
		inputs, _, err := ingest.Inputs([]string{o.reference}, nil, limits)
		if err != nil {
			return review.Options{}, err
		}
		data, err := ingest.Read(ctx, inputs, ingest.Options{Plant: plant, Columns: n.rules, Zone: plant.Zone, Limits: limits})
		if err != nil {
			return review.Options{}, fmt.Errorf("--reference: %w", err)
		}
		return review.Options{Levels: handover.LevelsOf(review.Review(plant, data, review.Options{}))}, nil
	case strings.Contains(o.reference, ".."):
		zone, err := o.location(n)
		if err != nil {
			return review.Options{}, err
		}
		span, err := parseSpan(o.reference, zone)
		return review.Options{ReferenceSpan: span}, err
	case errors.Is(err, fs.ErrNotExist):
		return review.Options{}, fmt.Errorf("--reference %s: no such file, and no span; write TIME..TIME, or name a log or an entry of a shift book", o.reference)
	}
	return review.Options{}, fmt.Errorf("--reference: %w", err)
}
