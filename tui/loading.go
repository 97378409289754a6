package tui

import (
	"context"
	"fmt"
	"sync"
	"time"

	"github.com/charmbracelet/bubbles/progress"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/muesli/termenv"

	"dawncrest/rf/handover"
)

// loading is the reading of the night while it goes on.
type loading struct {
	ctx    context.Context
	cancel context.CancelFunc
	feed   *feed

	progress   Progress
	began, now time.Time
	done       bool
}

// feed hands the latest progress from the reader to the screen.
type feed struct {
	mu     sync.Mutex
	latest Progress
}

func (f *feed) put(p Progress) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.latest = p
}

func (f *feed) get() Progress {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.latest
}

func newLoading(ctx context.Context) loading {
	ctx, cancel := context.WithCancel(ctx)
	return loading{ctx: ctx, cancel: cancel, feed: &feed{}}
}

// progressedMsg is the hour at which progress is to be looked at.
type progressedMsg struct{ at time.Time }

// watchEvery is how often progress is looked at: often enough to be believed,
// seldom enough for a slow line.
const watchEvery = 200 * time.Millisecond

func watch() tea.Cmd {
	return tea.Tick(watchEvery, func(at time.Time) tea.Msg { return progressedMsg{at} })
}

// watchOn goes on watching until the night is there.
func (l loading) watchOn() tea.Cmd {
	if l.done {
		return nil
	}
	return watch()
}

func (l loading) progressed(msg progressedMsg) loading {
	if l.began.IsZero() {
		l.began = msg.at.Add(-watchEvery)
	}
	l.now, l.progress = msg.at, l.feed.get()
	return l
}

// loadNight reads and reviews the night, and sorts it for the screens.
func loadNight(l loading, source Source) tea.Cmd {
	return guarded(func() tea.Msg {
		report, err := source.Load(l.ctx, l.feed.put)
		if err != nil {
			return nightLoadedMsg{err: err}
		}
		var history handover.History
		if source.History != nil {
			history = source.History(report)
		}
		return nightLoadedMsg{report: report, places: sortPlaces(report), history: history}
	})
}

// view draws how far reading has come.
func (l loading) view(title string, look look, width, height int) []string {
	s := look.styles
	lines := []string{
		s.answer.Render(look.left("Reading "+title, width)),
		"",
		look.left(l.bar(look, min(width-2, 60)), width),
		s.faint.Render(look.left(l.words(), width)),
		"",
		s.faint.Render(look.left(l.progress.File, width)),
	}
	for len(lines) < height-1 {
		lines = append(lines, "")
	}
	return append(lines[:max(min(len(lines), height-1), 0)], s.faint.Render(look.left("esc stops reading   q leaves", width)))
}

// bar draws the part that is read.
func (l loading) bar(look look, width int) string {
	full, empty := '█', '░'
	if look.ascii {
		full, empty = '#', '.'
	}
	bar := progress.New(progress.WithWidth(max(width, 1)), progress.WithFillCharacters(full, empty),
		progress.WithColorProfile(termenv.Ascii), progress.WithoutPercentage())
	return bar.ViewAs(max(l.share(), 0))
}

// share is the part that is read, below 0 where that is not known.
func (l loading) share() float64 {
	if l.progress.TotalBytes <= 0 {
		return -1
	}
	return min(float64(l.progress.Bytes)/float64(l.progress.TotalBytes), 1)
}

// words tells bytes, rows, rate and time left.
func (l loading) words() string {
	p := l.progress
	if p.Stage != "" {
		return p.Stage
	}
	words := fmt.Sprintf("%s read, %d rows", megabytes(p.Bytes), p.Rows)
	seconds := l.now.Sub(l.began).Seconds()
	if seconds <= 0 || p.Bytes == 0 {
		return words
	}
	rate := float64(p.Bytes) / seconds
	words += fmt.Sprintf(", %s a second", megabytes(int64(rate)))
	if left := float64(p.TotalBytes-p.Bytes) / rate; p.TotalBytes > 0 && left >= 1 {
		words += fmt.Sprintf(", %.0f s left", left)
	}
	return words
}

func megabytes(n int64) string {
	if n < 1e6 {
		return fmt.Sprintf("%.0f kB", float64(n)/1e3)
	}
	return fmt.Sprintf("%.1f MB", float64(n)/1e6)
}
