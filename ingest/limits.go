package ingest

import "fmt"

// Limits bound what one log may ask of this machine. Each can be raised; an error
// that meets one names it.
type Limits struct {
	LineBytes      int // longest row, its line ends included
	Columns        int // most columns of a file
	Series         int // most channels of a file in the tidy and long layouts
	UnpackRatio    int // unpacked over packed size, beyond the first 256 MiB
	FolderDepth    int // folders below the one given
	Files          int // inputs of one call
	RowsRemembered int // rows held to tell repeats from new rows, over all channels
	Cells          int // over all channels
}

// DefaultLimits are far above what a logger of a linac writes.
func DefaultLimits() Limits {
	return Limits{
		LineBytes:      16 << 20,
		Columns:        20_000,
		Series:         20_000,
		UnpackRatio:    200,
		FolderDepth:    8,
		Files:          20_000,
		RowsRemembered: 1 << 18,
		Cells:          420_000,
	}
}

// withDefaults fills in each limit that was left at zero.
func (l Limits) withDefaults() Limits {
	d := DefaultLimits()
	for _, f := range []struct {
		limit     *int
		otherwise int
	}{
		{&l.LineBytes, d.LineBytes}, {&l.Columns, d.Columns}, {&l.Series, d.Series}, {&l.UnpackRatio, d.UnpackRatio},
		{&l.FolderDepth, d.FolderDepth}, {&l.Files, d.Files}, {&l.RowsRemembered, d.RowsRemembered}, {&l.Cells, d.Cells},
	} {
		if *f.limit <= 0 {
			*f.limit = f.otherwise
		}
	}
	return l
}

// limitError says which limit a log went over.
type limitError struct {
	name  string
	limit int64
	what  string
}

func (e *limitError) Error() string {
	return fmt.Sprintf("%s: over the limit %s = %d; --limit %s=NUMBER raises it", e.what, e.name, e.limit, e.name)
}
