package ingest

import "dawncrest/rf"

// PlantFolder is a plant folder, read and checked.
type PlantFolder struct {
	Plant   *rf.Plant
	Columns []ColumnRule // for logs without native headings
	Dir     string
	Notices []string // what is allowed and still worth a look
}
