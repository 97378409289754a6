// Package ingest reads logs and plant folders: files in, a series.Night, an
// rf.Plant and an account of every row out. It names the nouns of rf and calls no
// formula.
//
// What follows is the log format, for whoever writes the loggers. The plant folder
// is described at PlantFolder.
//
// # Tables
//
// A log is a table as text: one line of headings, then one row for each time.
// Columns are parted by comma, semicolon, tab or vertical bar; fields may be quoted
// as RFC 4180 has it; numbers are written with a decimal point or a decimal comma.
// Lines end with LF, CRLF or CR. UTF-8, UTF-16 and Latin-1 are understood, with or
// without a byte-order mark, and so are gzip and zstd, told by the content. Lines
// that begin with #, lines above the headings, a row of units under them and
// headings that stand again between the rows are recognised. All of this is found
// out from the file and told; an option forces each.
//
// An empty field, and a word such as NaN, null, N/A or \N, is a value that is not
// there. A number outside what is physically possible, or a code for no value such
// as -9999, is not used and is told.
//
// # Times
//
// Best is RFC 3339 with its offset, as 2026-02-17T18:30:00Z. Also read: the same
// with a blank, without seconds or with a fraction; seconds, milliseconds,
// microseconds or nanoseconds since 1970, told apart by their size; spreadsheet day
// numbers; dates with the day or the month first, where the file proves which; a
// date and a time of day in columns of their own. Times that state no zone are those
// of the plant's zone. Rows may come in any order and files may overlap: the same
// time and values are merged, the same time with other values keeps the first.
//
// # Headings
//
// A reading is named by its place, its quantity and its unit:
//
//	S03 forward_power [MW]
//
// with a blank, a point, a colon or a slash between place and quantity. Quantities
// and their native units are those of rf.Quantities; units of the same kind convert.
// A quantity with _set behind it is a set value. What other headings mean can be
// said in columns.csv of the plant folder.
//
// # Layouts
//
// They are told apart by the headings, letter case aside.
//
//	wide   time, and one column for each reading
//	tidy   time, place, and one column for each quantity
//	long   time, place, quantity, unit, value, or time, column, value
//	cells  time, column, count, mean, min, max, sd
//
// In the first three a row holds readings. A log in which values are written only
// when they change is recognised, and each value is held until the next one.
//
// # Cells
//
// A site that keeps every pulse in a database lets the database reduce them, and
// writes what each slice of time came to:
//
//	time    at which the cell begins
//	column  the heading that a raw log would have had: S06B body_temperature [degC]
//	count   readings in the cell, a whole number
//	mean    of the readings
//	min     smallest reading
//	max     greatest reading
//	sd      sample standard deviation of the readings (stddev_samp, with count-1);
//	        empty where count is 1
//
// Further columns are not used, and told. A cell whose count is 0 or whose mean is
// empty holds no reading. All cells of a log should be equally wide and begin at
// whole multiples of that width since 1970-01-01T00:00Z; a minute is best. Cells
// narrower than those of the night are joined; where they are wider, the night is
// kept in cells as wide. The same time and column twice is treated as the same row
// twice in any log: a cell must not be cut at the border of two files.
//
// Refused, each for its own reason: a count that is no whole number or below 0, max
// below min, a mean outside them, an sd below 0 or greater than max - min, a cell of
// several readings without sd, and what reduction has spoiled:
//
//   - decibels: their mean is not that of the power. The query turns them into W,
//     kW or MW before it averages them.
//   - a phase with max - min above 180 degrees, which the border at +-180 degrees or
//     the noise without RF makes. The query leaves phases out while RF is off, and
//     brings the others within half a turn of a fixed phase of their column. A phase
//     that crosses the border by less shows as a mean that means nothing: nothing
//     in the cell tells it.
//   - readings of both signs where magnitudes are taken (beam voltage and current).
//   - trip reasons, which are words.
//
// One reading that cannot be, such as -9999 in place of a value, spoils the mean of
// its cell: the cell is not used. The query had better leave such readings out.
//
// What a cells log cannot tell: when in the cell something happened. A counter
// (trip_count) tells by min and max how often it rose in the cell or since the cell
// before, and a trip is dated at the beginning of the cell; trips of one cell are
// told as one event with their number. A counter that starts again inside a cell
// tells nothing of that cell, and what it counts from there on shows in the next. A
// state (rf_on, as 0 and 1) tells by its mean the share of the time it was on;
// the cell in which it was not on throughout is the one in which RF went off. Trips
// of many stations at once are told as common only in cells of up to two minutes.
// Which reading of a cell came last is not known: the extreme nearer to the mean
// stands for it, so a set value that was moved is dated to the cell.
package ingest
