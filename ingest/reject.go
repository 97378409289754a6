package ingest

import (
	"encoding/csv"
	"io"
	"strconv"
	"strings"

	"dawncrest/rf/series"
)

// rowError says why a row was refused: the reason is the same text for all rows
// that share it, the detail tells this one.
type rowError struct {
	reason string
	detail string
	column string
}

func (e *rowError) Error() string {
	if e.detail != "" {
		return e.detail
	}
	return e.reason
}

// Reason returns the words that all rows refused for the same reason share.
func (e *rowError) Reason() string { return e.reason }

// rejectsKept is how many rows of each reason are named line by line.
const rejectsKept = 10

// rejects collects the refused rows of one file.
type rejects struct {
	file   *series.File
	counts map[string]int // row of file.Reasons by reason
	writer *csv.Writer    // nil: the rows themselves are not wanted
}

// rejectWriter returns what writes refused rows, all files in one table.
func rejectWriter(to io.Writer) *csv.Writer {
	if to == nil {
		return nil
	}
	w := csv.NewWriter(to)
	w.Write([]string{"file", "line", "column", "reason", "row"}) // the error stays with the writer, see flush
	return w
}

// add counts a refused row and keeps it among the first ones of its reason.
func (r *rejects) add(line int, why *rowError, row []byte) {
	at, known := r.counts[why.reason]
	if !known {
		at = len(r.file.Reasons)
		r.counts[why.reason] = at
		r.file.Reasons = append(r.file.Reasons, series.Reason{Reason: why.reason})
	}
	r.file.Reasons[at].Rows++
	r.file.RowsRejected++
	if r.file.Reasons[at].Rows <= rejectsKept {
		r.file.Rejects = append(r.file.Rejects, series.Reject{File: r.file.Name, Line: line, Column: why.column, Err: why})
	}
	if r.writer != nil {
		text := strings.TrimRight(string(row), "\r\n")
		r.writer.Write([]string{r.file.Name, strconv.Itoa(line), why.column, why.Error(), text}) // the error stays with the writer, see flush
	}
}

// flush returns the first error in writing the refused rows.
func (r *rejects) flush() error {
	if r.writer == nil {
		return nil
	}
	r.writer.Flush()
	return r.writer.Error()
}
