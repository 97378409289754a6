package test

import (
	"bytes"
	"compress/gzip"
	"context"
	"database/sql"
	"encoding/csv"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	_ "modernc.org/sqlite" // a database of its own for the reduction to cells

	"dawncrest/sampledata"
)

// reduction is what a site would ask its database for, in SQL as SQLite speaks it.
// Phases are left out while RF is off, where they are noise all round the circle,
// and brought within half a turn of the first one of their column. SQLite has no
// standard deviation: it is made of squares about a reading of the column, so that
// no digits are lost on a large value that hardly moves.
const reduction = `
WITH silent AS (
	SELECT time, substr(column, 1, 3) AS station FROM raw WHERE column LIKE '% rf_on [1]' AND value = 0
), wanted AS (
	SELECT time, column, column LIKE '%[deg]' AS phase, value FROM raw
	WHERE NOT (column LIKE '%[deg]' AND (time, substr(column, 1, 3)) IN silent)
), first AS (
	SELECT column, value AS v0, min(time) FROM wanted WHERE value IS NOT NULL GROUP BY column
), shifted AS (
	SELECT time - time % ?1 AS time, column, v0, value - v0 - phase * 360 * round((value - v0) / 360) AS d
	FROM wanted JOIN first USING (column)
)
SELECT strftime('%Y-%m-%dT%H:%M:%SZ', time, 'unixepoch') AS time, column, count(d) AS count,
	v0 + avg(d) AS mean, v0 + min(d) AS min, v0 + max(d) AS max,
	CASE WHEN count(d) > 1 THEN sqrt(max(0, sum(d*d) - sum(d)*sum(d) / count(d)) / (count(d) - 1)) END AS sd
FROM shifted GROUP BY 1, 2 ORDER BY 1, 2`

// database holds a night as rows of time, column and value.
func database(t *testing.T, night []byte) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite", ":memory:")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	db.SetMaxOpenConns(1) // each connection would have a memory of its own
	if _, err := db.Exec("CREATE TABLE raw (time INTEGER, column TEXT, value REAL)"); err != nil {
		t.Fatal(err)
	}
	tx, err := db.Begin()
	if err != nil {
		t.Fatal(err)
	}
	rows := csv.NewReader(bytes.NewReader(night))
	header, err := rows.Read()
	if err != nil {
		t.Fatal(err)
	}
	for {
		row, err := rows.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		insertRow(t, tx, header, row)
	}
	if err := tx.Commit(); err != nil {
		t.Fatal(err)
	}
	return db
}

// insertRow puts the readings of one row of a wide log into the database, one
// statement for all; words stay out.
func insertRow(t *testing.T, tx *sql.Tx, header, row []string) {
	at, err := time.Parse(time.RFC3339, row[0])
	if err != nil {
		t.Fatal(err)
	}
	var marks []string
	var values []any
	for c, text := range row {
		if c == 0 || strings.HasSuffix(header[c], "trip_reason") {
			continue
		}
		marks = append(marks, "(?,?,?)")
		values = append(values, at.Unix(), header[c], sql.NullString{String: text, Valid: text != ""})
	}
	if _, err := tx.Exec("INSERT INTO raw VALUES "+strings.Join(marks, ","), values...); err != nil {
		t.Fatal(err)
	}
}

// reduce returns the cells of a night as CSV, NULL as an empty field.
func reduce(t *testing.T, db *sql.DB, width time.Duration) []byte {
	t.Helper()
	rows, err := db.Query(reduction, int64(width/time.Second))
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	names, err := rows.Columns()
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	fmt.Fprintln(&out, strings.Join(names, ","))
	fields := make([]sql.NullString, len(names))
	into := make([]any, len(names))
	for i := range fields {
		into[i] = &fields[i]
	}
	for rows.Next() {
		if err := rows.Scan(into...); err != nil {
			t.Fatal(err)
		}
		for i, f := range fields {
			if i > 0 {
				out.WriteByte(',')
			}
			out.WriteString(f.String)
		}
		out.WriteByte('\n')
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// demoNight returns the built-in night as text.
func demoNight(t *testing.T) []byte {
	t.Helper()
	unpacked, err := gzip.NewReader(bytes.NewReader(sampledata.NightGz()))
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(unpacked)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// builtNight plays a night with the faults that the built-in one does not have.
func builtNight(t *testing.T, m machine) []byte {
	t.Helper()
	var faults []sampledata.Fault
	for i, kind := range []string{"cathode_emission", "cooling_flow", "drive_power", "vacuum", "common_trip", "stuck_reading"} {
		place := m.plant.Stations[2*i%(len(m.plant.Stations)-1)].Name
		f := sampledata.Fault{Kind: kind, Place: place, Size: 3 * limitSize[kind], After: 4 * time.Hour, Ramp: 2 * time.Hour}
		switch kind {
		case "cathode_emission", "drive_power", "cooling_flow":
			f.Size = -f.Size
		case "common_trip":
			f.Place, f.Size, f.Ramp = "machine", 80, 0
		case "stuck_reading":
			f.Quantity, f.Ramp = "forward_power", 0
		}
		if kind == "cooling_flow" {
			f.Place = m.plant.StructuresOf(place)[0].Name
		}
		faults = append(faults, f)
	}
	scenario := sampledata.Scenario{Seed: 7, Start: time.Date(2026, 3, 2, 20, 0, 0, 0, time.UTC), Length: 12 * time.Hour, Interval: 30 * time.Second, Faults: faults}
	var text bytes.Buffer
	if _, err := m.linac.WriteCSV(scenario, &text); err != nil {
		t.Fatal(err)
	}
	return text.Bytes()
}

var background = context.Background()

// raceDetector reports whether the tests were built with -race.
var raceDetector bool
