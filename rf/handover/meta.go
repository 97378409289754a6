package handover

import (
	"time"

	"dawncrest/rf/review"
)

// Meta is what a handover says of itself beyond the report.
type Meta struct {
	Written time.Time
	Version string // of the program
	Shift   string // empty: told by the hour
	Author  string
	Notes   []string
	Seen    []Seen
	Demo    bool // demo data, and said so

	// Accepted says that the levels of this night are good and may be the
	// reference of later ones.
	Accepted bool
}

// Seen marks a finding that somebody has looked at. It silences nothing.
type Seen struct {
	Key      string    `json:"key"`
	Initials string    `json:"initials"`
	Note     string    `json:"note"`
	At       time.Time `json:"at"`
}

// FindingKey names a finding so that it is known again on other nights: by
// place, cause and quantity, not by its numbers.
func FindingKey(f review.Finding) string {
	quantity := string(f.Quantity)
	if quantity == "" {
		quantity = "-"
	}
	return f.Place + " " + string(f.Cause) + " " + quantity
}
