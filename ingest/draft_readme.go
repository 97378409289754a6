package ingest

import (
	"fmt"
	"strings"

	"dawncrest/rf"
)

// readme explains the drafted folder to whoever fills it in.
func (f *foundPlaces) readme() string {
	var b strings.Builder
	b.WriteString(`# A plant folder

This folder describes one linac, so that its logs can be judged. It is a draft:

- a cell that is only ? must be filled in;
- a cell that begins with ? holds a guess: check it, and take the ? away;
- an empty cell is a value that is not given. Fill in what you know.

The tables are CSV: commas between cells, decimal points, quotes around a cell
that holds a comma. Add and remove rows as your linac has them; stations stand in
beam order. Then check the folder, as often as you like:

    dawncrest plant FOLDER

It tells every fault at once, with file, line and column.
`)
	f.writeFound(&b)
	writeColumns(&b, plantTOMLFile, "", plantKeys)
	writeColumns(&b, "[[waypoint]] in "+plantTOMLFile, "One for each energy that must be met.", waypointKeys)
	writeColumns(&b, stationTable.file, "One row for each station, in beam order.", stationTable.columns)
	writeColumns(&b, structureTable.file, `One row for each accelerating structure or cavity. A travelling-wave structure
needs length_m, shunt_impedance_MOhm_per_m, attenuation_Np and filling_time_us; a
standing_wave one needs unloaded_q, coupling_beta and shunt_impedance_MOhm.`, structureTable.columns)
	writeColumns(&b, toleranceTable.file, "The built-in limits stand below; a row here replaces the one of the same quantity,\nplace and basis, or is added.", toleranceTable.columns)
	writeBuiltInTolerances(&b)
	writeColumns(&b, plannedTable.file, "Planned stops, access days and conditioning: no gaps, trips or drift.", plannedTable.columns)
	writeColumns(&b, columnTable.file, "Only for logs whose headings are not like \"S03 forward_power [MW]\". The file may be\nleft out.", columnTable.columns)
	return b.String()
}

// writeFound says what was made of the log.
func (f *foundPlaces) writeFound(b *strings.Builder) {
	if f.understood == 0 && len(f.ignored) == 0 {
		return
	}
	b.WriteString("\n## What the log told\n\n")
	for _, group := range []struct {
		title  string
		places []*foundPlace
	}{{"stations", f.stations}, {"structures", f.structures}, {"water loops", f.loops}, {"waypoints", f.waypoints}} {
		fmt.Fprintf(b, "- %s: %s\n", group.title, namesOf(group.places))
	}
	if len(f.loops) > 0 {
		b.WriteString("\nName each water loop in the column water_loop of what it cools.\n")
	}
	if len(f.unusable) > 0 {
		b.WriteString("\nThese names were left out:\n\n")
		for _, why := range f.unusable {
			fmt.Fprintf(b, "    %s\n", why)
		}
	}
	if len(f.ignored) > 0 {
		b.WriteString("\nThese columns were not understood; columns.csv can say what they hold:\n\n")
		const limit = 100
		for i, c := range f.ignored {
			if i == limit {
				fmt.Fprintf(b, "    and %d more\n", len(f.ignored)-limit)
				break
			}
			line := shownText(c.Header)
			if c.Guess != "" {
				line += " (" + cleanText(c.Guess) + ")"
			}
			fmt.Fprintf(b, "    %s\n", line)
		}
	}
}

func namesOf(places []*foundPlace) string {
	if len(places) == 0 {
		return "none"
	}
	names := make([]string, len(places))
	for i, p := range places {
		names[i] = p.name
	}
	return strings.Join(names, ", ")
}

// writeColumns lists columns or keys with what each must hold.
func writeColumns(b *strings.Builder, title, about string, columns []entrySpec) {
	fmt.Fprintf(b, "\n## %s\n\n", title)
	if about != "" {
		b.WriteString(about + "\n\n")
	}
	for _, spec := range columns {
		need := ""
		switch {
		case spec.optional:
			need = ", may be left out"
		case spec.blank:
			need = ", may be empty"
		}
		bounds := ""
		if spec.low != spec.high {
			bounds = fmt.Sprintf(" (%s to %s)", plain(spec.low), plain(spec.high))
		}
		fmt.Fprintf(b, "- `%s`%s: %s%s\n", spec.name, need, spec.about, bounds)
	}
}

func writeBuiltInTolerances(b *strings.Builder) {
	b.WriteString("\n| quantity | basis | drift_limit | act_limit | unit |\n| --- | --- | --- | --- | --- |\n")
	for _, t := range rf.BuiltInTolerances() {
		fmt.Fprintf(b, "| %s | %s | %g | %g | %s |\n", t.Quantity, t.Basis, t.DriftLimit, t.ActLimit, t.Unit)
	}
}
