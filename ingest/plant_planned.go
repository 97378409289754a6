package ingest

import (
	"strings"

	"dawncrest/rf"
)

const aTime = "a time such as 2026-03-01 06:00, in the plant's time zone, or 2026-03-01T06:00:00+01:00"

var plannedTable = plantTable{
	file:     "planned.csv",
	optional: true,
	columns: []entrySpec{
		{name: "from", about: aTime},
		{name: "to", about: aTime},
		{name: "place", blank: true, about: "the place that stands still, nothing for the whole machine"},
		{name: "note", blank: true, about: "what is planned"},
	},
}

type plannedRow struct {
	From  entry `csv:"from"`
	To    entry `csv:"to"`
	Place entry `csv:"place"`
	Note  entry `csv:"note"`
}

func (p *plantReader) readPlanned() {
	rows, _ := readTable[plannedRow](p, &plannedTable)
	for _, row := range rows {
		stop := rf.Planned{From: p.instant(row.From), To: p.instant(row.To)}
		stop.Place, _ = p.oldPlace(row.Place, anyPlace)
		if stop.Place == rf.MachinePlace {
			stop.Place = ""
		}
		stop.Note, _ = p.words(row.Note)
		if strings.ContainsFunc(stop.Note, unprintable) {
			p.fault(row.Note, row.Note.shown()+" holds a character that does not print", "write plain words")
		}
		if !stop.From.IsZero() && !stop.To.IsZero() && !stop.From.Before(stop.To) {
			p.fault(row.To, row.To.shown()+" is not after "+row.From.shown(), "write the end of the stop, later than its start")
		}
		p.plant.Planned = append(p.plant.Planned, stop)
	}
}
