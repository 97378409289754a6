package svg

import (
	_ "embed" // the drawings
	"html/template"
	"strings"
)

//go:embed drawings.tmpl
var drawingsText string

var drawings = template.Must(template.New("").Parse(drawingsText))

func execute(name string, v any) (template.HTML, error) {
	var b strings.Builder
	if err := drawings.ExecuteTemplate(&b, name, v); err != nil {
		return "", err
	}
	// The template has escaped every text for the place where it stands.
	return template.HTML(strings.TrimSpace(b.String())), nil
}
