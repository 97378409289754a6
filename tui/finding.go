package tui

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

// finding shows one finding: what, how sure, what to do.
type finding struct{ top int }

func (finding) question(d data) string {
	f, ok := pickedFinding(d)
	if !ok {
		return "What is wrong, how sure is it, what to do?"
	}
	return "What is wrong at " + f.Place + ", how sure is it, what to do?"
}

func (finding) answer(d data) string {
	f, ok := pickedFinding(d)
	if !ok {
		return "No finding is picked here: none was, or it has cleared."
	}
	words := f.Verdict.Words() + ": " + f.Cause.Words()
	if f.Likely {
		words += ", likely (a witness was not logged)"
	}
	return words + "."
}

func pickedFinding(d data) (review.Finding, bool) {
	if d.finding < 0 || d.finding >= len(d.report.Findings) {
		return review.Finding{}, false
	}
	return d.report.Findings[d.finding], true
}

func (p finding) renewed(_, _ data) page { return p }

func (p finding) update(msg tea.KeyMsg, d data) (page, tea.Msg) {
	f, ok := pickedFinding(d)
	if !ok {
		return p, nil
	}
	switch {
	case key.Matches(msg, keys.up):
		p.top = max(p.top-1, 0)
	case key.Matches(msg, keys.down):
		p.top = min(p.top+1, 3*len(f.Evidence)+12)
	case key.Matches(msg, keys.seen):
		return p, markAskedMsg{d.finding}
	case key.Matches(msg, keys.nextPlace), key.Matches(msg, keys.worst):
		return finding{}, findingPickedMsg{findingBeside(d, 1)}
	case key.Matches(msg, keys.previousPlace):
		return finding{}, findingPickedMsg{findingBeside(d, -1)}
	case key.Matches(msg, keys.enter):
		if f.Station != "" {
			return p, stationPickedMsg{f.Station}
		}
	}
	return p, nil
}

// findingBeside returns the finding so many ranks below the one picked.
func findingBeside(d data, by int) int {
	order := ranked(d)
	for i, f := range order {
		if f == d.finding {
			return order[(i+by+len(order))%len(order)]
		}
	}
	return d.finding
}

func (finding) keys() []key.Binding {
	return []key.Binding{keys.seen, keys.nextPlace, keys.previousPlace, keys.enter}
}

func (p finding) view(d data, l look, width, height int) []string {
	f, ok := pickedFinding(d)
	if !ok {
		return []string{l.left("Pick one on the first screen.", width)}
	}
	text := findingText(d, l, f, width, 10*height)
	t := mainWitness(d, f)
	graph := 0
	if t != nil {
		graph = max(min(height-len(text)-1, height*3/5), 8)
	}
	room := height - graph
	top := min(p.top, max(len(text)-room, 0))
	lines := text[top:min(top+room, len(text))]
	if hidden := len(text) - top - room; hidden > 0 {
		lines[len(lines)-1] = l.styles.faint.Render(l.left(fmt.Sprintf("%s %s below", l.marks.more, counted(hidden+1, "line")), width))
	}
	if t == nil {
		return lines
	}
	for len(lines) < room {
		lines = append(lines, "")
	}
	return append(lines, tracePanel(d, l, t, width, graph)...)
}

// mainWitness returns the trace that shows a finding best: its quantity at its
// place, at its station, at a structure of its water loop, else whatever moved
// most there. It is nil where nothing was read.
func mainWitness(d data, f review.Finding) *review.Trace {
	places := []string{f.Place, f.Station}
	for _, s := range d.report.Structures {
		if s.Loop == f.Place {
			places = append(places, s.Structure)
		}
	}
	for _, place := range places {
		if t := d.places.trace(place, f.Quantity); t != nil {
			return t
		}
	}
	if f.Quantity == "" {
		return nil
	}
	return worstOf(d.places.traces[f.Place])
}

// findingText tells a finding in words: what, what to do, the evidence.
func findingText(d data, l look, f review.Finding, width, height int) []string {
	const label = 12
	var lines []string
	add := func(name, text string, strong bool) {
		if text == "" {
			return
		}
		for i, line := range l.wrap(text, width-label, height) {
			if i > 0 {
				name = ""
			}
			line = l.left(line, width-label)
			if strong {
				line = l.styles.verdict(f.Verdict).Render(line)
			}
			lines = append(lines, l.styles.faint.Render(l.left(name, label))+line)
		}
	}
	add("what", f.Message, true)
	add("to do", f.Advice, false)
	add("caution", f.Caution, false)
	add("numbers", findingNumbers(d, f), false)
	for i, e := range f.Evidence {
		name := "evidence"
		if i > 0 {
			name = ""
		}
		add(name, e, false)
	}
	add("not logged", strings.Join(f.NotLogged, ", "), false)
	for _, mark := range d.seen {
		if mark.Key == keyOf(f) {
			add("seen by", strings.TrimSuffix(mark.Initials+" at "+d.clock(mark.At)+": "+mark.Note, ": "), false)
		}
	}
	if len(lines) > height && height > 0 {
		return append(lines[:height-1], l.styles.faint.Render(l.left(fmt.Sprintf("%s %s below", l.marks.more, counted(len(lines)-height+1, "line")), width)))
	}
	return lines
}

// findingNumbers writes the figures of a finding in one line.
func findingNumbers(d data, f review.Finding) string {
	var words []string
	if f.Quantity != "" {
		words = append(words, title(f.Quantity)+" "+signedIn(f.Change, f.Unit))
	}
	switch {
	case f.Since.IsZero():
	case f.Quantity == "":
		words = append(words, "since "+d.clock(f.Since))
	case f.Step:
		words = append(words, "step at "+d.clock(f.Since))
	default:
		words = append(words, "ramp since "+d.clock(f.Since))
	}
	if !f.Until.IsZero() {
		words = append(words, "over at "+d.clock(f.Until))
	}
	if !f.ReachesAct.IsZero() {
		words = append(words, "out of tolerance at "+d.clock(f.ReachesAct)+" if it goes on")
	}
	if rf.Known(f.EnergyCost) && f.EnergyCost != 0 {
		words = append(words, withUnit(megaelectronvolts(f.EnergyCost), "MeV")+" lost")
	}
	switch f.Beam {
	case review.BeamMoved:
		words = append(words, "the beam noticed")
	case review.BeamUnmoved:
		words = append(words, "the beam did not notice")
	}
	return strings.Join(words, ", ")
}
