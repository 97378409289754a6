package series

import (
	"errors"
	"io/fs"
	"testing"

	"dawncrest/rf"
)

func TestLogCounts(t *testing.T) {
	log := Log{Files: []File{
		{RowsKept: 10, RowsRejected: 2, RowsMerged: 1, Missing: 4, Columns: []Column{
			{ColumnName: &ColumnName{Quantity: rf.ForwardPower}, Readings: 9},
			{ColumnName: &ColumnName{Quantity: rf.ForwardPhase}, Readings: 7},
			{ColumnName: &ColumnName{Header: "S01 mood"}, Readings: 10}, // not understood: no reading was taken from it
		}},
		{Err: fs.ErrNotExist},
		{RowsKept: 5, RowsRejected: 3, RowsMerged: 2, Missing: 1, Columns: []Column{{ColumnName: &ColumnName{Quantity: rf.TripCount}, Readings: 5}}},
	}}
	tests := []struct {
		name      string
		got, want int
	}{
		{"rows", log.Rows(), 15},
		{"rows rejected", log.RowsRejected(), 5},
		{"rows merged", log.RowsMerged(), 3},
		{"missing", log.Missing(), 5},
		{"values", log.Values(), 21},
		{"rows of nothing", Log{}.Rows(), 0},
	}
	for _, tt := range tests {
		if tt.got != tt.want {
			t.Errorf("%s: got %d, want %d", tt.name, tt.got, tt.want)
		}
	}
}

func TestRejectUnwraps(t *testing.T) {
	reason := errors.New("time runs backwards")
	var err error = Reject{File: "night.csv", Line: 7, Err: reason}
	if !errors.Is(err, reason) || err.Error() != reason.Error() {
		t.Errorf("got %v, want %v within it", err, reason)
	}
}
