package tui

import (
	"slices"
	"strings"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"dawncrest/rf/handover"
	"dawncrest/rf/review"
	"dawncrest/rf/series"
)

// Following is how far a log that is still written has been read.
type Following struct {
	Every      time.Duration // between two looks at the log
	AsOf       time.Time     // when something was last new
	LastRow    time.Time     // the latest in the log
	QuietSince time.Time     // no row came since then; zero: they come
	Trouble    []string      // in words
}

// followedMsg is news of the log that is followed: a new review, or none where
// only the state of the following has changed.
type followedMsg struct {
	report    *review.Report // nil: the one before still holds
	places    places
	history   handover.History
	following Following
	err       error
}

// follow waits for news of the log. Each message is followed by the next wait.
func (m Model) follow() tea.Cmd {
	if m.source.Follow == nil {
		return nil
	}
	ctx, source, shown := m.loading.ctx, m.source, m.data.report
	return guarded(func() tea.Msg {
		report, following, err := source.Follow(ctx)
		if err != nil || report == shown {
			return followedMsg{following: following, err: err}
		}
		msg := followedMsg{report: report, places: sortPlaces(report), following: following}
		if source.History != nil {
			msg.history = source.History(report)
		}
		return msg
	})
}

// followed takes news over. What the person is doing goes on: page, filter, cursors,
// window, marks and notes.
func (m Model) followed(msg followedMsg) (tea.Model, tea.Cmd) {
	switch {
	case m.leaving:
		return m, nil
	case msg.err != nil:
		m.data.following.Trouble = []string{"not followed any more: " + msg.err.Error()}
		return m, nil
	}
	m.data.following = msg.following
	if msg.report == nil {
		return m, m.follow()
	}
	before := m.data
	picked, wasPicked := pickedFinding(before)
	m.data.report, m.data.places, m.data.history = msg.report, msg.places, msg.history
	if wasPicked {
		m.data.finding = findingNamed(msg.report, keyOf(picked))
	}
	for i := range m.pages {
		m.pages[i] = m.pages[i].renewed(before, m.data)
	}
	m, closer := m.lookedOn()
	return m, tea.Batch(m.previewed(), m.follow(), closer)
}

// findingNamed returns the place of a finding in a report, -1 where it is no longer
// there.
func findingNamed(r *review.Report, key string) int {
	for i, f := range r.Findings {
		if keyOf(f) == key {
			return i
		}
	}
	return -1
}

// words tells the state in one line, and whether it is trouble.
func (f Following) words(d data) (line string, trouble bool) {
	at := func(t time.Time) string {
		if t.IsZero() {
			return notKnown
		}
		if t = t.In(d.zone); t.YearDay() != f.AsOf.In(d.zone).YearDay() {
			return t.Format("2 Jan 15:04:05")
		}
		return t.Format("15:04:05")
	}
	state := "as of " + at(f.AsOf) + ", last row " + at(f.LastRow)
	if !f.QuietSince.IsZero() {
		state = "no new row since " + at(f.QuietSince) + ", the last of " + at(f.LastRow)
	}
	parts := append(slices.Clone(f.Trouble), "following, "+state+" "+f.AsOf.In(d.zone).Format("MST"), "a look every "+series.ShortSpan(f.Every))
	return clean(strings.Join(parts, "; ")), !f.QuietSince.IsZero() || f.Trouble != nil
}

// followLine draws the state of the following above the keys; nothing where the log
// is not followed.
func (m Model) followLine() []string {
	if m.data.following.Every == 0 {
		return nil
	}
	words, trouble := m.data.following.words(m.data)
	style := m.look.styles.faint
	if trouble {
		style = m.look.styles.verdict(review.NoData)
	}
	return []string{style.Render(m.look.left(words, m.width))}
}
