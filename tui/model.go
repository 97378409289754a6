package tui

import (
	"context"
	"strings"
	"time"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/muesli/termenv"

	"dawncrest/rf/handover"
	"dawncrest/rf/review"
)

// Model is the root of the screens: it owns the night, the size and the pages,
// and hands each message to whom it concerns.
type Model struct {
	source  Source
	options Options
	look    look

	width, height int
	loading       loading
	data          data
	pages         [pageCount]page
	page          pageID
	trail         []pageID // where esc goes back to
	helping       bool
	entry         entry
	asked         asked
	leaving       bool
	err           error // why the screens are left
}

// New returns the screens before anything was read.
func New(source Source, o Options) Model {
	if o.NoColor {
		o.profile = termenv.Ascii
	}
	if o.Now == nil {
		o.Now = func() time.Time { return time.Time{} }
	}
	return Model{
		source:  source,
		options: o,
		look:    newLook(o),
		loading: newLoading(context.Background()),
		data:    data{demo: source.Demo, zone: time.UTC, forms: source.Forms, writeHint: source.WriteHint},
		pages: [pageCount]page{
			morningPage: morning{}, stationPage: station{}, waterPage: water{}, energyPage: energy{}, compressorsPage: compressors{},
			tripsPage: trips{}, logPage: logbook{}, handoverPage: handing{}, findingPage: finding{},
		},
	}
}

// Facts about the night and what becomes of it.
type (
	nightLoadedMsg struct {
		report  *review.Report
		places  places
		history handover.History
		err     error
	}
	handoverWrittenMsg struct {
		path string
		err  error
	}
)

// Init starts reading.
func (m Model) Init() tea.Cmd {
	return tea.Batch(loadNight(m.loading, m.source), watch())
}

// Update answers one message.
func (m Model) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	switch msg := msg.(type) {
	case tea.WindowSizeMsg:
		return m.resized(msg), nil
	case tea.KeyMsg:
		return m.pressed(msg)
	case progressedMsg:
		m.loading = m.loading.progressed(msg)
		return m, m.loading.watchOn()
	case nightLoadedMsg:
		return m.loaded(msg)
	case followedMsg:
		return m.followed(msg)
	case closeUpMsg:
		return m.lookedCloser(msg)
	case leftMsg:
		return m.left(msg.err)
	case previewedMsg:
		m.data.preview = strings.Split(strings.TrimRight(msg.text, "\n"), "\n")
	case handoverWrittenMsg:
		m.data.outcome = writtenWords(msg)
	}
	return m, nil
}

func (m Model) resized(msg tea.WindowSizeMsg) Model {
	m.width, m.height = msg.Width, msg.Height
	if m.width <= 0 || m.height <= 0 {
		m.width, m.height = 80, 24 // a terminal that does not tell its size
	}
	return m
}

// loaded takes the night over, or leaves where there is none.
func (m Model) loaded(msg nightLoadedMsg) (tea.Model, tea.Cmd) {
	m.loading.done = true
	switch {
	case m.leaving: // that the reading was cancelled is no news
		return m, tea.Quit
	case msg.err != nil:
		return m.left(msg.err)
	}
	m.data.report, m.data.places = msg.report, msg.places
	m.data.history, m.data.seen = msg.history, msg.history.Seen()
	m.data.window = wholeNight(gridOf(msg.report))
	switch {
	case m.options.Zone != nil:
		m.data.zone = m.options.Zone
	case msg.report.Plant != nil && msg.report.Plant.Zone != nil:
		m.data.zone = msg.report.Plant.Zone
	}
	if len(msg.places.rows) > 0 {
		m.data.station = msg.places.rows[0].Station
	}
	return m, tea.Batch(m.previewed(), m.follow())
}

// pressed answers keys. A slow line hands on several at once; each is pressed in
// its turn.
func (m Model) pressed(msg tea.KeyMsg) (tea.Model, tea.Cmd) {
	if msg.Type != tea.KeyRunes || len(msg.Runes) < 2 || msg.Paste || m.entry.open() {
		return m.pressedOne(msg)
	}
	var cmds []tea.Cmd
	for _, r := range msg.Runes {
		var cmd tea.Cmd
		m, cmd = m.pressedOne(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{r}, Alt: msg.Alt})
		cmds = append(cmds, cmd)
	}
	return m, tea.Batch(cmds...)
}

// pressedOne answers one key: what is being typed comes first, then the keys of
// every page, then the page.
func (m Model) pressedOne(msg tea.KeyMsg) (Model, tea.Cmd) {
	switch {
	case msg.String() == "ctrl+c":
		return m.left(nil)
	case key.Matches(msg, keys.suspend):
		return m, suspend()
	case m.entry.open():
		return m.typed(msg)
	case m.helping:
		m.helping = false
		return m, nil
	case key.Matches(msg, keys.quit):
		return m.left(nil)
	case m.data.report == nil:
		if key.Matches(msg, keys.back) {
			return m.left(ErrStopped)
		}
		return m, nil
	}
	m.data.outcome = ""
	if changed, ok := m.navigated(msg); ok {
		return changed, nil
	}
	if w, ok := m.data.window.pressed(msg); ok {
		return m.looked(w)
	}
	var fact tea.Msg
	if m.pages[m.page], fact = m.pages[m.page].update(msg, m.data); fact == nil {
		return m, nil
	}
	return m.told(fact)
}

// told takes over a fact that a page tells.
func (m Model) told(fact tea.Msg) (Model, tea.Cmd) {
	switch fact := fact.(type) {
	case stationPickedMsg:
		m.data.station = fact.station
		return m.open(stationPage), nil
	case findingPickedMsg:
		m.data.finding = fact.finding
		return m.open(findingPage), nil
	case markAskedMsg:
		m.data.finding = fact.finding
		m.entry = newMarkEntry(m.options.Initials)
	case noteAskedMsg:
		m.entry = newNoteEntry()
	case noteDroppedMsg:
		m.data.notes = m.data.notes[:max(len(m.data.notes)-1, 0)]
		return m, m.previewed()
	case writeAskedMsg:
		m.data.outcome = "writing"
		return m, m.write(fact.form)
	}
	return m, nil
}

// left ends the screens, and the reading where it still goes on.
func (m Model) left(why error) (Model, tea.Cmd) {
	m.loading.cancel()
	m.leaving, m.err = true, why
	return m, tea.Quit
}

// navigated answers the keys that lead from page to page.
func (m Model) navigated(msg tea.KeyMsg) (Model, bool) {
	switch {
	case key.Matches(msg, keys.help):
		m.helping = true
	case key.Matches(msg, keys.filter):
		m.entry = newFilterEntry(m.data.filter)
	case key.Matches(msg, keys.back):
		return m.backed(), true
	case key.Matches(msg, keys.nextPage):
		return m.turned((min(m.page, findingPage-1) + 1) % findingPage), true
	case key.Matches(msg, keys.previousPage):
		return m.turned((min(m.page, findingPage) + findingPage - 1) % findingPage), true
	default:
		for i, binding := range keys.pages {
			if key.Matches(msg, binding) {
				return m.turned(pageID(i)), true
			}
		}
		return m, false
	}
	return m, true
}

// open shows a page on the way down from the one before.
func (m Model) open(p pageID) Model {
	if p != m.page {
		m.trail = append(m.trail[:len(m.trail):len(m.trail)], m.page)
		m.page = p
	}
	return m
}

// turned shows a page chosen by its number or place; back then leads to the
// morning.
func (m Model) turned(p pageID) Model {
	m.trail = nil
	if p != morningPage {
		m.trail = []pageID{morningPage}
	}
	m.page = p
	return m
}

// backed drops the filter where one is set, else goes back one page.
func (m Model) backed() Model {
	if m.data.filter != "" {
		m.data.filter = ""
		return m
	}
	if n := len(m.trail); n > 0 {
		m.page, m.trail = m.trail[n-1], m.trail[:n-1]
	}
	return m
}
