package handover

import (
	"fmt"
	"io"
	"strings"

	"dawncrest/rf/review"
)

// Markdown writes the handover as Markdown that reads well as it stands in a
// mail.
func Markdown(w io.Writer, r *review.Report, m Meta, h History) error {
	c := contentOf(r, m, h)
	var b strings.Builder
	fmt.Fprintf(&b, "# %s\n", escaped(c.title))
	for _, line := range c.subtitle {
		fmt.Fprintf(&b, "\n%s\n", escapedStart(line))
	}
	b.WriteByte('\n')
	for _, line := range c.headline {
		fmt.Fprintf(&b, "- **%s**\n", escaped(line))
	}
	for _, s := range c.sections {
		fmt.Fprintf(&b, "\n## %s\n", escaped(s.title))
		for _, line := range s.lead {
			fmt.Fprintf(&b, "\n%s\n", escapedStart(line))
		}
		for i, t := range s.tasks {
			fmt.Fprintf(&b, "\n%d. **%s**\n", i+1, escaped(t.head))
			for _, p := range t.parts {
				fmt.Fprintf(&b, "   - %s%s\n", labelled(p.label), itemText(p))
			}
		}
		if len(s.bullets) > 0 {
			b.WriteByte('\n')
		}
		for _, line := range s.bullets {
			fmt.Fprintf(&b, "- %s\n", escapedStart(line))
		}
		if s.grid != nil {
			markdownGrid(&b, s.grid)
		}
		for _, line := range s.after {
			fmt.Fprintf(&b, "\n%s\n", escapedStart(line))
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func labelled(label string) string {
	if label == "" {
		return ""
	}
	return label + ": "
}

func itemText(p part) string {
	if p.label == "" {
		return escapedStart(p.text)
	}
	return escaped(p.text)
}

// markdownGrid pads the cells, so that the table lines up unrendered too.
func markdownGrid(b *strings.Builder, g *grid) {
	rows := make([][]string, 0, len(g.rows)+1)
	heads := make([]string, len(g.columns))
	for i, c := range g.columns {
		heads[i] = escaped(c.head)
	}
	rows = append(rows, heads)
	for _, r := range g.rows {
		rows = append(rows, each(r, escaped))
	}
	widths := widthsOf(rows)
	b.WriteByte('\n')
	for n, row := range rows {
		for i, cell := range row {
			b.WriteString("| " + padded(cell, widths[i], g.columns[i].numeric) + " ")
		}
		b.WriteString("|\n")
		if n > 0 {
			continue
		}
		for i, c := range g.columns {
			rule := strings.Repeat("-", max(3, widths[i]))
			if c.numeric {
				rule = rule[1:] + ":"
			}
			b.WriteString("| " + rule + " ")
		}
		b.WriteString("|\n")
	}
}

// markdownMarks are the characters that would turn text into form. Underscores
// and hyphens inside a word, as names have them, do nothing.
var markdownMarks = strings.NewReplacer(
	`\`, `\\`, "`", "\\`", `*`, `\*`, `<`, `\<`, `&`, `\&`, `[`, `\[`, `]`, `\]`, `|`, `\|`, `~~`, `\~\~`, ` _`, ` \_`, `_ `, `\_ `,
)

// escaped makes text mean itself inside a line of Markdown.
func escaped(s string) string { return markdownMarks.Replace(s) }

// escapedStart makes text mean itself where it begins a paragraph or an item:
// there a few characters more begin a heading, a quotation, a list or a rule.
func escapedStart(s string) string {
	s = escaped(s)
	if s != "" && strings.ContainsRune("#>+-=_", rune(s[0])) {
		return `\` + s
	}
	return s
}
