package ingest

import (
	"regexp"
	"strconv"
	"strings"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/series"
)

// foundPlaces is what the headings of a log tell about a plant.
type foundPlaces struct {
	stations, structures, loops, waypoints []*foundPlace // in the order of the log
	understood                             int           // columns
	ignored                                []series.Column
	unusable                               []string // names that cannot stand for one place, and why
	zone                                   string   // of the log's times, where it has a name
	repetitionRate                         string   // in Hz, where it was logged
}

type foundPlace struct {
	name       string
	quantities []rf.Quantity
}

// logs reports whether a quantity of the place is in the log.
func (f *foundPlace) logs(q rf.Quantity) bool {
	for _, logged := range f.quantities {
		if logged.Base() == q {
			return true
		}
	}
	return false
}

// foundIn gathers the places that a log names; nil is a log without any.
func foundIn(log *series.Log) *foundPlaces {
	f := &foundPlaces{}
	if log == nil {
		return f
	}
	byName := map[string]*foundPlace{}
	seen := map[string]bool{}
	var inOrder []*foundPlace
	for _, file := range log.Files {
		if zone, err := time.LoadLocation(file.Zone); err == nil && strings.Contains(file.Zone, "/") {
			f.zone = zone.String()
		}
		for _, c := range file.Columns {
			// A log of which nothing is understood is shown with its headings
			// in the place of quantities.
			if _, known := c.Quantity.Info(); !known {
				if !seen[c.Header] {
					seen[c.Header] = true
					f.ignored = append(f.ignored, c)
				}
				continue
			}
			f.understood++
			if c.Quantity == rf.RepetitionRate && c.Mean > 0 {
				f.repetitionRate = strconv.FormatFloat(c.Mean, 'g', 6, 64)
			}
			place, known := byName[strings.ToLower(c.Place)]
			if !known {
				place = &foundPlace{name: c.Place}
				byName[strings.ToLower(c.Place)] = place
				inOrder = append(inOrder, place)
			}
			place.quantities = append(place.quantities, c.Quantity)
		}
	}
	for _, place := range inOrder {
		f.sortIn(place)
	}
	return f
}

// sortIn tells what kind of place a name is by the quantities it logs. What could
// be a station or a structure is taken for a station.
func (f *foundPlaces) sortIn(place *foundPlace) {
	kinds := anyPlace
	for _, q := range place.quantities {
		kinds &= kindsOf(q)
	}
	switch {
	case strings.EqualFold(place.name, rf.MachinePlace) || place.name == logPlace:
	case place.name == "" || nameTrouble(place.name) != "":
		f.unusable = append(f.unusable, strings.TrimSpace(quoted(place.name)+" "+nameTrouble(place.name)))
	case kinds == 0:
		f.unusable = append(f.unusable, quoted(place.name)+" has readings of more than one kind of place; columns.csv can tell them apart")
	case kinds&rf.OfStation != 0:
		f.stations = append(f.stations, place)
	case kinds&rf.OfStructure != 0:
		f.structures = append(f.structures, place)
	case kinds&rf.OfWaypoint != 0:
		f.waypoints = append(f.waypoints, place)
	case kinds&rf.OfLoop != 0:
		f.loops = append(f.loops, place)
	}
}

// stationOr returns the name of the i-th station, and otherwise where none was
// found.
func (f *foundPlaces) stationOr(otherwise string, i int) string {
	if len(f.stations) == 0 {
		return otherwise
	}
	return f.stations[i].name
}

// feedingStations guesses which station feeds each structure: one whose name the
// structure's begins with, else the one of the same number where all structures
// have such a one, else by their order.
func (f *foundPlaces) feedingStations() []string {
	fed := make([]string, len(f.structures))
	numbered := true
	for i, structure := range f.structures {
		fed[i] = f.sameNumber(structure.name)
		numbered = numbered && fed[i] != ""
	}
	for i, structure := range f.structures {
		if !numbered {
			fed[i] = f.stationOr("S01", i*len(f.stations)/len(f.structures))
		}
		longest := ""
		for _, station := range f.stations {
			if strings.HasPrefix(structure.name, station.name) && len(station.name) > len(longest) {
				fed[i], longest = station.name, station.name
			}
		}
	}
	return fed
}

var digits = regexp.MustCompile("[0-9]+")

// sameNumber returns the only station whose first number is that of name, empty
// where there is none.
func (f *foundPlaces) sameNumber(name string) string {
	number := strings.TrimLeft(digits.FindString(name), "0")
	found := ""
	for _, station := range f.stations {
		if number == "" || strings.TrimLeft(digits.FindString(station.name), "0") != number {
			continue
		}
		if found != "" {
			return ""
		}
		found = station.name
	}
	return found
}
