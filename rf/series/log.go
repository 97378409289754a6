package series

import (
	"time"

	"dawncrest/rf"
)

// Log is the account of how a night was read: every row is used, merged or
// refused under a named reason.
type Log struct {
	Files []File
	Bytes int64 // as stored, before unpacking
}

// File is what the reader made of one input.
type File struct {
	Name      string
	Encoding  string // UTF-8, UTF-16LE, ...
	Separator string // "," ";" "tab" "|"
	Decimal   string // "." or ","
	Layout    string // wide, tidy, long, cells
	TimeForm  string // RFC 3339, epoch s, ...
	Zone      string // of times that state none

	RowsKept     int
	RowsRejected int
	RowsMerged   int      // folded into an equal row
	RowsOutside  int      // outside the span asked for: read, and neither kept nor refused
	Outside      bool     // none of its rows lies in the span asked for; it may not have been read for that
	Rejects      []Reject // the first ones of each reason
	Reasons      []Reason // how many rows were refused for what
	Missing      int      // values that stood empty or as a word for nothing

	First, Last time.Time     // UTC; zero where no row was kept
	Step        time.Duration // usual time between rows; 0: fewer than two rows
	Gaps        []Gap         // the first ones
	GapCount    int
	Columns     []Column
	Notices     []string // what a person should know before trusting it
	Err         error    // why it could not be read at all
}

// Column is one value column of a file, understood or not.
type Column struct {
	*ColumnName // never nil
	Readings    int
	Missing     int
	Impossible  int     // numbers outside the physical range, or codes for no value: not used
	Min         float64 // native unit; as written for an ignored column
	Max         float64
	Mean        float64
}

// ColumnName is what a column is taken for. Files with the same columns share it:
// there may be many.
type ColumnName struct {
	Header   string
	Place    string
	Quantity rf.Quantity // empty: not understood, ignored
	Unit     string      // as written in the log
	Scale    string      // conversion in words, empty where none
	Guess    string      // what an ignored column might be
}

// Reason is one reason for refusing rows, and how many rows it took.
type Reason struct {
	Reason string
	Rows   int
}

// Gap is a span without rows where there should have been some.
type Gap struct {
	From, To time.Time // UTC; the rows before and after it
}

// Reject is a row that was refused: a fact about the log, not a failure.
type Reject struct {
	File   string
	Line   int    // physical, from 1
	Column string // empty: the row as a whole
	Err    error
}

// Error says where and why.
func (r Reject) Error() string { return r.Err.Error() }

// Unwrap returns the reason alone.
func (r Reject) Unwrap() error { return r.Err }

// Rows returns the rows kept over all files.
func (l Log) Rows() int { return l.sum(func(f File) int { return f.RowsKept }) }

// RowsRejected returns the rows refused over all files.
func (l Log) RowsRejected() int { return l.sum(func(f File) int { return f.RowsRejected }) }

// RowsMerged returns the rows folded into equal ones over all files.
func (l Log) RowsMerged() int { return l.sum(func(f File) int { return f.RowsMerged }) }

// Missing returns the values missing over all files.
func (l Log) Missing() int { return l.sum(func(f File) int { return f.Missing }) }

// Values returns the readings taken over all understood columns.
func (l Log) Values() int {
	return l.sum(func(f File) int {
		n := 0
		for _, c := range f.Columns {
			if c.Quantity != "" {
				n += c.Readings
			}
		}
		return n
	})
}

func (l Log) sum(of func(File) int) int {
	n := 0
	for _, f := range l.Files {
		n += of(f)
	}
	return n
}
