package handover

import (
	_ "embed" // the page and its style
	"html/template"
	"io"
	"strings"

	"dawncrest/rf/review"
)

//go:embed page.tmpl
var pageText string

//go:embed page.css
var pageStyle string

var page = template.Must(template.New("page").Parse(pageText))

// pageView is what the page shows, every text still unescaped: html/template
// escapes each for the place where it lands.
type pageView struct {
	Style    template.CSS
	Title    string
	Subtitle []string
	Demo     bool
	Headline []string
	Short    bool // an energy is short
	Wide     []sectionView
	Narrow   []sectionView
}

type sectionView struct {
	Key, Title           string
	Lead, Bullets, After []string
	Figure               template.HTML
	Tasks                []taskView
	Legend               string
	Columns              []columnView
	Rows                 [][]cellView
	Figures              []figureView
}

type columnView struct {
	Head    string
	Numeric bool
}

type cellView struct {
	Text    string
	Numeric bool
}

type taskView struct {
	State  string
	Head   string
	Parts  []partView
	Figure *figureView
}

type partView struct{ Label, Text, Class string }

// HTML writes the handover as one page that fetches nothing and prints on one
// sheet after a quiet night.
func HTML(w io.Writer, r *review.Report, m Meta, h History) error {
	c := contentOf(r, m, h)
	v := pageView{
		Style: template.CSS(pageStyle), Title: c.title, Subtitle: c.subtitle, Demo: m.Demo, Headline: c.headline, Short: energyShort(r.Waypoints),
	}
	figures := newFigures(r)
	for _, s := range c.sections {
		view, err := viewOf(s, figures)
		if err != nil {
			return err
		}
		if wideSection(s) {
			v.Wide = append(v.Wide, view)
		} else {
			v.Narrow = append(v.Narrow, view)
		}
	}
	others, err := figures.others()
	if err != nil {
		return err
	}
	if len(others.Figures) > 0 {
		v.Wide = append(v.Wide, others)
	}
	var b strings.Builder
	if err := page.Execute(&b, v); err != nil {
		return err
	}
	_, err = io.WriteString(w, b.String())
	return err
}

// narrowColumns is how many columns of a table half a page holds; that of the
// trips has more, but short ones.
const narrowColumns = 5

// wideSection reports whether a section needs the whole width of the page.
func wideSection(s section) bool {
	return s.key == "tasks" || s.key == "continuity" || s.grid != nil && s.key != "trips" && len(s.grid.columns) > narrowColumns
}

func viewOf(s section, figures *figures) (sectionView, error) {
	v := sectionView{Key: s.key, Title: s.title, Lead: s.lead, Bullets: s.bullets, After: s.after}
	if s.key == "energy" {
		var err error
		if v.Figure, err = figures.linac(); err != nil {
			return v, err
		}
	}
	for _, t := range s.tasks {
		task, err := taskViewOf(t, figures)
		if err != nil {
			return v, err
		}
		v.Tasks = append(v.Tasks, task)
		if task.Figure != nil {
			v.Legend = legend
		}
	}
	if s.grid == nil {
		return v, nil
	}
	for _, c := range s.grid.columns {
		v.Columns = append(v.Columns, columnView{c.head, c.numeric})
	}
	for _, row := range s.grid.rows {
		cells := make([]cellView, len(row))
		for i, text := range row {
			cells[i] = cellView{text, s.grid.columns[i].numeric}
		}
		v.Rows = append(v.Rows, cells)
	}
	return v, nil
}

func taskViewOf(t task, figures *figures) (taskView, error) {
	v := taskView{State: stateOf(t.finding.Verdict), Head: t.head}
	for _, p := range t.parts {
		v.Parts = append(v.Parts, partView{p.label, p.text, partClasses[p.label]})
	}
	figure, err := figures.of(t.finding)
	v.Figure = figure
	return v, err
}

// legend says once what the drawings beside the findings show.
const legend = "In the drawings: the band lies within the drift limit, long dashes are the act limit, dots the reference, " +
	"the upright dashes the start of the change; a triangle at the edge is a reading off the scale; a gap is a gap in the log."

// partClasses set the lines of a task apart by what they are for.
var partClasses = map[string]string{"Do": "do", "Caution": "caution", "": "message"}

// stateOf returns the class under which the style sheet knows a verdict.
func stateOf(v review.Verdict) string {
	switch v {
	case review.OutOfTolerance:
		return "out"
	case review.Drifting:
		return "drift"
	case review.NoData:
		return "nodata"
	}
	return "calm"
}

func energyShort(points []review.WaypointResult) bool {
	for _, p := range points {
		if p.Verdict == review.OutOfTolerance {
			return true
		}
	}
	return false
}
