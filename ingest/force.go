package ingest

import "time"

// Force states what is otherwise detected; a field left at its zero value is
// detected.
type Force struct {
	Separator  byte      // one of , ; | and tab
	Decimal    byte      // . or ,
	Encoding   string    // UTF8, UTF16LE, UTF16BE or Latin1
	Layout     string    // LayoutWide, LayoutTidy, LayoutLong or LayoutCells
	HeaderLine int       // physical line, from 1
	TimeForm   string    // TimeEpoch, TimeDayNumber, TimeCivil or TimeOfDay
	DateOrder  string    // DayFirst or MonthFirst
	Date       time.Time // of the first row, where rows carry only a time of day
	Sparse     string    // SparseYes or SparseNo: values written only when they change
}

// Values of Force.
const (
	LayoutWide = "wide"
	LayoutTidy = "tidy"
	LayoutLong = "long"

	TimeCivil     = string(formCivil)
	TimeEpoch     = string(formEpoch)
	TimeDayNumber = string(formDayNumber)
	TimeOfDay     = string(formTimeOfDay)

	DayFirst   = "day first"
	MonthFirst = "month first"

	SparseYes = "yes"
	SparseNo  = "no"
)
