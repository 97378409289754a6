package handover

import (
	"errors"
	"io"
	"time"

	"dawncrest/rf/series"
)

// ColumnsSchema names the form of the object that ColumnsJSON writes.
const ColumnsSchema = "dawncrest.columns/1"

type columnsJSON struct {
	Schema string         `json:"schema"`
	Files  []readFileJSON `json:"files"`
}

type readFileJSON struct {
	File         string           `json:"file"`
	Encoding     word             `json:"encoding"`
	Separator    word             `json:"separator"`
	Decimal      word             `json:"decimal"`
	Layout       word             `json:"layout"`
	TimeForm     word             `json:"time_form"`
	Zone         word             `json:"zone"`
	RowsKept     int              `json:"rows_kept"`
	RowsRejected int              `json:"rows_rejected"`
	Rejects      []rejectJSON     `json:"rejects"`
	RowsMerged   int              `json:"rows_merged"`
	Missing      int              `json:"values_missing"`
	First        word             `json:"first"`
	Last         word             `json:"last"`
	Columns      []readColumnJSON `json:"columns"`
	Notices      []string         `json:"notices"`
	Error        word             `json:"error"`
}

type rejectJSON struct {
	Line   int    `json:"line"`
	Reason string `json:"reason"`
}

type readColumnJSON struct {
	Header   string `json:"header"`
	Place    word   `json:"place"`
	Quantity word   `json:"quantity"`
	Unit     word   `json:"unit"`
	Readings int    `json:"readings"`
	Missing  int    `json:"missing"`
	Min      figure `json:"min"`
	Max      figure `json:"max"`
	Mean     figure `json:"mean"`
}

// ColumnsJSON writes what the reader made of the files as one object.
func ColumnsJSON(w io.Writer, log series.Log) error {
	return writeJSON(w, columnsJSON{Schema: ColumnsSchema, Files: each(log.Files, readFileOf)})
}

func readFileOf(f series.File) readFileJSON {
	out := readFileJSON{
		File: clean(f.Name), Encoding: word(f.Encoding), Separator: word(f.Separator), Decimal: word(f.Decimal),
		Layout: word(f.Layout), TimeForm: word(f.TimeForm), Zone: word(f.Zone),
		RowsKept: f.RowsKept, RowsRejected: f.RowsRejected, RowsMerged: f.RowsMerged, Missing: f.Missing,
		First: instantFine(f.First), Last: instantFine(f.Last),
		Rejects: each(f.Rejects, func(r series.Reject) rejectJSON { return rejectJSON{r.Line, clean(r.Error())} }),
		Columns: each(f.Columns, readColumnOf),
		Notices: each(f.Notices, clean),
	}
	if f.Err != nil {
		out.Error = word(clean(f.Err.Error()))
	}
	return out
}

func readColumnOf(c series.Column) readColumnJSON {
	return readColumnJSON{
		Header: clean(c.Header), Place: word(clean(c.Place)), Quantity: word(clean(string(c.Quantity))), Unit: word(clean(c.Unit)),
		Readings: c.Readings, Missing: c.Missing, Min: figure(c.Min), Max: figure(c.Max), Mean: figure(c.Mean),
	}
}

// instantFine writes RFC 3339 in UTC with the fraction that the log gives.
func instantFine(t time.Time) word {
	if t.IsZero() {
		return ""
	}
	return word(t.UTC().Format(time.RFC3339Nano))
}

// reasonOf returns the words of a reject that it shares with others of its kind.
func reasonOf(r series.Reject) string {
	var shared interface{ Reason() string }
	if errors.As(r.Err, &shared) {
		return shared.Reason()
	}
	return r.Error()
}
