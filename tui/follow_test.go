package tui

import (
	"errors"
	"strings"
	"testing"
	"time"

	"dawncrest/rf/review"
)

// following are screens of a log that is followed.
func following(width, height int) Model {
	return send(opened(fixture(), Options{Initials: "EJ"}, width, height),
		followedMsg{following: Following{Every: 5 * time.Second, AsOf: fixtureAt(fixtureCells), LastRow: fixtureAt(fixtureCells - 1)}})
}

// grown is the fixture some cells later, with a finding that is worse than all.
func grown(cells int) *review.Report {
	r := fixture()
	r.Cells, r.To = r.Cells+cells, fixtureAt(fixtureCells+cells)
	for i := range r.Traces {
		t := &r.Traces[i]
		last := t.Mean[len(t.Mean)-1]
		for range cells {
			t.Mean, t.Min, t.Max, t.Settled = append(t.Mean, last), append(t.Min, last), append(t.Max, last), append(t.Settled, true)
		}
	}
	r.Log.Files[0].Last = fixtureAt(fixtureCells + cells).Add(-time.Second)
	first := r.Findings[0]
	first.Place, first.Station, first.EnergyCost, first.Message = "S02", "S02", 40e6, "beam voltage 9 kV below the reference"
	first.Verdict = review.OutOfTolerance
	r.Findings = append([]review.Finding{first}, r.Findings...)
	return r
}

func (m Model) renewedBy(r *review.Report) Model {
	return send(m, followedMsg{report: r, places: sortPlaces(r), following: m.data.following})
}

// Where a person stands stays where it is when the review changes under it.
func TestReviewChangesUnderThePerson(t *testing.T) {
	for _, way := range []struct {
		name, keys string
		here       func(m Model) string // what must be the same before and after
	}{
		{"a finding", "j j", cursorRow}, {"a station", "G", cursorRow}, {"a reading of a station", "G enter j j j", cursorRow},
		{"a structure", "3 j j j j", cursorRow}, {"a station along the linac", "4 j j", cursorRow}, {"a compressor", "5 j j", cursorRow},
		{"trips", "6 j j j", cursorRow}, {"a line of the log", "7 j", cursorRow}, {"a filter", "/ S 0 6 enter", cursorRow},
		{"the page of a finding", "j enter", func(m Model) string { return strings.SplitN(m.View(), "\n", 2)[0] }},
		{"what is being typed", "8 e a b c", func(m Model) string { return m.entry.input.Value() }},
		{"notes", "8 e a b c enter", func(m Model) string { return strings.Join(m.data.notes, ",") }},
		{"marks", "j s o k enter", func(m Model) string { return m.data.seen[0].Key + m.data.seen[0].Note }},
		{"a short window at the end", "+ + +", func(m Model) string { return time.Duration(m.data.window.span()).String() }},
	} {
		t.Run(way.name, func(t *testing.T) {
			m := press(following(100, 40), strings.Fields(way.keys)...)
			before := way.here(m)
			after := way.here(m.renewedBy(grown(30)))
			if before == "" || before != after {
				t.Errorf("was at %q, is at %q", before, after)
			}
		})
	}
}

// cursorRow returns the name of the row under the cursor.
func cursorRow(m Model) string {
	for line := range strings.SplitSeq(m.View(), "\n") {
		if row, ok := strings.CutPrefix(line, ">"); ok {
			fields := strings.Fields(row)
			return strings.Join(fields[:min(3, len(fields))], " ")
		}
	}
	return ""
}

func TestWindowFollowsTheEnd(t *testing.T) {
	m := following(100, 40).renewedBy(grown(30))
	if w := m.data.window; w.from != 0 || w.to != fixtureCells+30 || w.at != fixtureCells+29 {
		t.Errorf("the whole night is %+v", w)
	}
	m = press(following(100, 40), "+", "+", "+", "[", "[")
	before := m.data.window
	after := m.renewedBy(grown(30)).data.window
	if before.from != after.from || before.to != after.to || before.at != after.at {
		t.Errorf("a window on the past moved from %+v to %+v", before, after)
	}
}

func TestFindingThatClears(t *testing.T) {
	m := press(following(100, 40), "enter", "s")
	r := fixture()
	r.Findings = r.Findings[1:]
	gone := m.renewedBy(r)
	if first, _, _ := strings.Cut(gone.View(), "\n"); !strings.HasPrefix(first, "What is wrong, how sure") {
		t.Errorf("shows %q", first)
	}
	if gone = press(gone, "o", "k", "enter"); len(gone.data.seen) != 0 || !strings.Contains(gone.View(), "not marked") {
		t.Errorf("marked %v:\n%s", gone.data.seen, gone.View())
	}
}

func TestFollowingIsTold(t *testing.T) {
	for _, size := range [][2]int{{leastWidth, leastHeight}, {80, 24}, {140, 50}} {
		m := following(size[0], size[1])
		for _, c := range []struct {
			change func(f *Following)
			want   string
		}{
			{func(*Following) {}, "as of 06:"},
			{func(*Following) {}, " GMT; a look every 5s"},
			{func(f *Following) { f.LastRow = f.LastRow.AddDate(0, 0, -3) }, "last row " + fixtureAt(fixtureCells).AddDate(0, 0, -3).Format("2 Jan")},
			{func(f *Following) { f.QuietSince = fixtureAt(fixtureCells + 2) }, "no new row since 06:"},
			{func(f *Following) { f.Trouble = []string{"a.csv does not answer since 06:12"} }, "a.csv does not"},
		} {
			state := m.data.following
			c.change(&state)
			frame := send(m, followedMsg{following: state}).View()
			if !strings.Contains(frame, c.want) {
				t.Errorf("%v: no %q in\n%s", size, c.want, frame)
			}
			if wrong := overflow(frame, size[0], size[1]); wrong != "" {
				t.Error(wrong)
			}
		}
		frame := send(m, followedMsg{err: errors.New("no log is left")}).View()
		if !strings.Contains(frame, "not followed any more: no log is left") {
			t.Errorf("the end of the following is not told:\n%s", frame)
		}
	}
}

// A message without a change makes the same frame, of which nothing is sent.
func TestNoNewsNoNewFrame(t *testing.T) {
	m := following(80, 24)
	if again := send(m, followedMsg{following: m.data.following}); again.View() != m.View() {
		t.Error("the frame changes without news")
	}
}
