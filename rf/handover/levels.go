package handover

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

// LevelsSchema names the form of the levels that stand beside an entry.
const LevelsSchema = "dawncrest.levels/1"

// nowSpan is the stretch that a review calls now: the last settled quarter hour.
const nowSpan = 15 * time.Minute

// levelsJSON holds where every reading stood at a night's end, in native units.
// They stand in a file of their own because only a reference needs them.
type levelsJSON struct {
	Schema string                            `json:"schema"`
	From   time.Time                         `json:"from"`
	To     time.Time                         `json:"to"`
	Values map[string]map[rf.Quantity]figure `json:"values"`
}

func levelsOf(r *review.Report) levelsJSON {
	l := levelsJSON{Schema: LevelsSchema, From: r.To.UTC(), To: r.From.UTC(), Values: make(map[string]map[rf.Quantity]figure)}
	for i := range r.Traces {
		t := &r.Traces[i]
		if !rf.Known(t.Now) {
			continue
		}
		if l.Values[t.Place] == nil {
			l.Values[t.Place] = make(map[rf.Quantity]figure)
		}
		l.Values[t.Place][t.Quantity] = figure(t.Now)
		if t.NowAt.IsZero() {
			continue
		}
		if from := t.NowAt.Add(-nowSpan).UTC(); from.Before(l.From) {
			l.From = from
		}
		if to := t.NowAt.UTC(); to.After(l.To) {
			l.To = to
		}
	}
	if !l.To.After(l.From) {
		l.From, l.To = r.From.UTC(), r.To.UTC()
	}
	return l
}

// Reference returns the levels of the last accepted handover of the plant whose
// log ended before the given time, and the name of its entry; nil where there
// is none.
func (b *Book) Reference(plant string, before time.Time) (*review.Levels, string, error) {
	for i := len(b.Entries) - 1; i >= 0; i-- {
		e := b.Entries[i]
		if !e.Accepted || e.Plant != plant || !e.To.Before(before) {
			continue
		}
		levels, err := b.levels(e.Name)
		if err != nil {
			return nil, e.Name, fmt.Errorf("read reference levels of %s in %s: %w", e.Name, b.Dir, err)
		}
		return levels, e.Name, nil
	}
	return nil, "", nil
}

func (b *Book) levels(name string) (*review.Levels, error) {
	root, err := os.OpenRoot(b.Dir)
	if err != nil {
		return nil, cause(err)
	}
	defer root.Close()
	text, err := readBounded(root, name+levelsSuffix)
	if err != nil {
		return nil, err
	}
	var stored levelsJSON
	if err := parseStored(text, &stored); err != nil {
		return nil, err
	}
	if stored.Schema != LevelsSchema {
		return nil, fmt.Errorf("its schema is %q, not %s", stored.Schema, LevelsSchema)
	}
	return stored.levels(), nil
}

// LevelsOf returns where every reading of a report stood at its end, for a later
// review to measure drift from.
func LevelsOf(r *review.Report) *review.Levels { return levelsOf(r).levels() }

// ReadLevels reads the levels that stand beside an entry of a shift book.
func ReadLevels(path string) (*review.Levels, error) {
	name := filepath.Base(path)
	for _, suffix := range []string{levelsSuffix, jsonSuffix, textSuffix} {
		if entry, ok := strings.CutSuffix(name, suffix); ok {
			levels, err := (&Book{Dir: filepath.Dir(path)}).levels(entry)
			if err != nil {
				return nil, fmt.Errorf("read levels of %s: %w", path, err)
			}
			return levels, nil
		}
	}
	return nil, fmt.Errorf("read levels of %s: not an entry of a shift book", path)
}

func (l levelsJSON) levels() *review.Levels {
	levels := &review.Levels{From: l.From, To: l.To, Values: make(map[string]map[rf.Quantity]float64, len(l.Values))}
	for place, values := range l.Values {
		levels.Values[place] = make(map[rf.Quantity]float64, len(values))
		for q, v := range values {
			levels.Values[place][q] = float64(v)
		}
	}
	return levels
}
