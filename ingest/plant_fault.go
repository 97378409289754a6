package ingest

import (
	"fmt"
	"sort"
	"strings"
)

// PlantFault is one thing wrong in a plant folder, with the way out.
type PlantFault struct {
	File   string // inside the folder; the folder itself where it cannot be opened
	Row    int    // physical line from 1; 0: the file as a whole
	Column string // heading of the table or key of plant.toml; empty: the row as a whole
	Wrong  string // what is wrong: "45 is over 1"
	Right  string // what would be right: "write 0.45 for 45 %"
}

// Error says where, what is wrong and what would be right, in one line.
func (f PlantFault) Error() string {
	var b strings.Builder
	b.WriteString(f.File)
	if f.Row > 0 {
		fmt.Fprintf(&b, ":%d", f.Row)
	}
	b.WriteString(": ")
	if f.Column != "" {
		b.WriteString(f.Column + ": ")
	}
	b.WriteString(f.Wrong)
	if f.Right != "" {
		b.WriteString("; " + f.Right)
	}
	return b.String()
}

// PlantFaults are all the faults of one plant folder, by file and line.
type PlantFaults []PlantFault

// Error lists the faults, one a line.
func (f PlantFaults) Error() string {
	lines := make([]string, len(f))
	for i, fault := range f {
		lines[i] = fault.Error()
	}
	return strings.Join(lines, "\n")
}

// Unwrap gives errors.As each fault alone.
func (f PlantFaults) Unwrap() []error {
	errs := make([]error, len(f))
	for i, fault := range f {
		errs[i] = fault
	}
	return errs
}

// sorted orders the faults by file and line; those of one line stay in the order
// of its columns.
func (f PlantFaults) sorted() PlantFaults {
	sort.SliceStable(f, func(i, j int) bool {
		if f[i].File != f[j].File {
			return f[i].File < f[j].File
		}
		return f[i].Row < f[j].Row
	})
	return f
}
