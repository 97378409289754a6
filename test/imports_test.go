package test

import (
	"encoding/json"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

// allowedImports is the direction of the program: what each package may name of
// the others. A new edge is a line here.
var allowedImports = map[string][]string{
	"cmd/dawncrest":   {"ingest", "rf", "rf/handover", "rf/review", "rf/series", "sampledata", "tui", "tui/ground"},
	"tui":             {"rf", "rf/handover", "rf/review", "rf/series", "tui/chart", "tui/ground"},
	"tui/chart":       {},
	"tui/ground":      {},
	"ingest":          {"rf", "rf/series"},
	"rf":              {},
	"rf/series":       {"rf"},
	"rf/review":       {"rf", "rf/series"},
	"rf/handover":     {"rf", "rf/handover/svg", "rf/review", "rf/series"},
	"rf/handover/svg": {},
	"sampledata":      {},
}

// forbiddenOutside are modules that a package must not know.
var forbiddenOutside = map[string][]string{
	"rf":          {"."}, // the standard library only
	"rf/handover": {"github.com/charmbracelet"},
	"rf/review":   {"github.com"},
	"rf/series":   {"github.com"},
	"sampledata":  {"."},
}

// TestImports holds the packages to the direction of the program.
func TestImports(t *testing.T) {
	out, err := exec.Command("go", "list", "-json=ImportPath,Imports", "dawncrest/...").Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	decoder := json.NewDecoder(strings.NewReader(string(out)))
	for decoder.More() {
		var p struct {
			ImportPath string
			Imports    []string
		}
		if err := decoder.Decode(&p); err != nil {
			t.Fatal(err)
		}
		name := strings.TrimPrefix(p.ImportPath, "dawncrest/")
		if name == "test" {
			continue
		}
		allowed, known := allowedImports[name]
		if !known {
			t.Errorf("package %s is not in the table", name)
		}
		for _, path := range p.Imports {
			own, inside := strings.CutPrefix(path, "dawncrest/")
			if inside && !slices.Contains(allowed, own) {
				t.Errorf("%s imports %s: not in the table", name, own)
			}
			for _, prefix := range forbiddenOutside[name] {
				first, _, _ := strings.Cut(path, "/")
				if !inside && strings.Contains(first, ".") && (prefix == "." || strings.HasPrefix(path, prefix)) {
					t.Errorf("%s imports %s: it must not", name, path)
				}
			}
		}
	}
}
