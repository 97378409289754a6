package ingest

import (
	"errors"
	"io/fs"
	"os"

	"dawncrest/rf"
)

// OpenPlant reads and checks the plant folder dir. Where anything is wrong in it
// the error is a [PlantFaults] that holds all of it.
func OpenPlant(dir string) (PlantFolder, error) {
	if info, err := os.Stat(dir); err == nil && !info.IsDir() {
		return PlantFolder{}, PlantFaults{{File: cleanText(dir), Wrong: "is a file, not a plant folder", Right: "name the folder that holds " + plantTOMLFile}}
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		return PlantFolder{}, PlantFaults{folderFault(dir, err)}
	}
	defer root.Close()
	return OpenPlantFS(root.FS(), dir)
}

// OpenPlantFS reads and checks the plant folder at the root of fsys, as
// [OpenPlant] does. The name stands for it in messages.
func OpenPlantFS(fsys fs.FS, name string) (PlantFolder, error) {
	p := plantReader{fsys: fsys, plant: &rf.Plant{}, places: placeBook{}}
	if err := p.list(); err != nil {
		return PlantFolder{}, PlantFaults{folderFault(name, err)}
	}
	waypoints := p.readPlantTOML()
	p.readStations()
	p.readStructures()
	p.takeWaypoints(waypoints)
	p.readTolerances()
	p.readPlanned()
	columns := p.readColumns()
	if len(p.faults) > 0 {
		return PlantFolder{}, p.faults.sorted()
	}
	p.noticeOddities()
	return PlantFolder{Plant: p.plant, Columns: columns, Dir: name, Notices: p.notices}, nil
}

// folderFault says why a folder cannot be opened at all.
func folderFault(name string, err error) PlantFault {
	f := PlantFault{File: cleanText(name), Wrong: "cannot be opened: " + reason(err)}
	switch {
	case errors.Is(err, fs.ErrNotExist):
		f.Wrong = "there is no such plant folder"
		f.Right = "name another, or write one to start from: dawncrest plant --new " + cleanText(name)
	case errors.Is(err, fs.ErrPermission):
		f.Right = "ask its owner for leave to read it"
	}
	return f
}

// plantReader gathers a plant, and everything wrong with it, from its folder.
type plantReader struct {
	fsys    fs.FS
	listing []string // names of the files that are there
	faults  PlantFaults
	notices []string

	plant     *rf.Plant
	places    placeBook
	strangers int // names that are not in the plant

	// Which tables were told whole: only then is what is not in them known to
	// be nowhere.
	stationsWhole   bool
	structuresWhole bool
	waypointsWhole  bool
}

// plantFiles are the files of a plant folder.
var plantFiles = []string{plantTOMLFile, stationTable.file, structureTable.file, toleranceTable.file, plannedTable.file, columnTable.file}

// list takes the names of the files in the folder.
func (p *plantReader) list() error {
	files, err := fs.ReadDir(p.fsys, ".")
	if err != nil {
		return err
	}
	for _, f := range files {
		p.listing = append(p.listing, f.Name())
	}
	return nil
}
