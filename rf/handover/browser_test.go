package handover

import (
	"bytes"
	"context"
	"fmt"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

// browser returns a headless Chromium, or skips the test and says why.
func browser(t *testing.T) string {
	t.Helper()
	if testing.Short() {
		t.Skip("skipped with -short: starts a browser")
	}
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	t.Skip("skipped: no Chromium found; install the package chromium to check the page in a browser")
	return ""
}

// browse runs the browser to its end with an empty profile.
func browse(t *testing.T, args ...string) {
	t.Helper()
	program := browser(t)
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	defer cancel()
	all := append([]string{
		"--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
		"--disable-component-update", "--disable-sync", "--disable-dev-shm-usage", "--hide-scrollbars", "--user-data-dir=" + t.TempDir(),
	}, args...)
	if out, err := exec.CommandContext(ctx, program, all...).CombinedOutput(); err != nil {
		t.Fatalf("browser: %v\n%s", err, out)
	}
}

// pageOf writes the handover's page into a file and returns its path.
func pageOf(t *testing.T, name string, write func(*bytes.Buffer) error) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, written(t, write), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func quietPage(b *bytes.Buffer) error {
	return HTML(b, quietNightOf(24), Meta{Written: night(6, 30), Version: "0.1.0", Author: "R. Alder"}, quietHistory())
}

func busyPage(b *bytes.Buffer) error { return HTML(b, busyNight(), busyMeta, busyHistory()) }

var sheet = regexp.MustCompile(`/Type\s*/Page[^s]`)

func TestQuietNightPrintsOnOneSheet(t *testing.T) {
	sheets := func(write func(*bytes.Buffer) error) int {
		pdf := filepath.Join(t.TempDir(), "page.pdf")
		browse(t, "--no-pdf-header-footer", "--print-to-pdf="+pdf, "file://"+pageOf(t, "page.html", write))
		printed, err := os.ReadFile(pdf)
		if err != nil {
			t.Fatal(err)
		}
		return len(sheet.FindAll(printed, -1))
	}
	if n := sheets(quietPage); n != 1 {
		t.Errorf("quiet night of 24 stations and 48 structures prints on %d sheets", n)
	}
	// The count can tell: a night with much to say needs more than one.
	if n := sheets(busyPage); n < 2 {
		t.Errorf("busy night prints on %d sheets: pages are not counted", n)
	}
}

// TestPageFetchesNothing sends every host name to one server and looks what the
// browser asks of it.
func TestPageFetchesNothing(t *testing.T) {
	asked := func(page []byte) []string {
		var mu sync.Mutex
		var requests []string
		server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, q *http.Request) {
			// The browser also calls its maker; only the page's own requests
			// name the page as their origin.
			if strings.HasPrefix(q.Referer(), "http://"+q.Context().Value(http.LocalAddrContextKey).(net.Addr).String()) {
				mu.Lock()
				requests = append(requests, q.Host+q.URL.Path)
				mu.Unlock()
			}
			w.Header().Set("Content-Type", "text/html")
			if q.URL.Path == "/handover.html" {
				w.Write(page)
			}
		}))
		defer server.Close()
		shot := filepath.Join(t.TempDir(), "page.png")
		host := strings.TrimPrefix(server.URL, "http://")
		browse(t, "--host-resolver-rules=MAP * "+host, "--window-size=1000,1400", "--screenshot="+shot, server.URL+"/handover.html")
		mu.Lock()
		defer mu.Unlock()
		return requests
	}
	if got := asked(written(t, busyPage)); len(got) > 0 {
		t.Errorf("the page fetches %q", got)
	}
	// The server would have seen it: this page does fetch.
	fetching := []byte(`<!doctype html><link rel="icon" href="data:,"><img src="http://elsewhere.example/dot.png">`)
	if got := asked(fetching); !slices.Contains(got, "elsewhere.example/dot.png") {
		t.Errorf("a page that fetches was not noticed: %q", got)
	}
}

// TestTextFromTheLogStaysText lets the browser build the page and asks whether
// any text of the log became markup.
func TestTextFromTheLogStaysText(t *testing.T) {
	program := browser(t)
	r := busyNight()
	r.Plant.Name = `</title></style><script>document.title="taken"</script>`
	r.Traces[0].Place, r.Findings[0].Place = `"/><script>x</script>`, `"/><script>x</script>`
	r.Stations[0].Station = `</svg><img src=x onerror=alert(1)>`
	path := pageOf(t, "page.html", func(b *bytes.Buffer) error { return HTML(b, r, busyMeta, History{}) })
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	defer cancel()
	out, err := exec.CommandContext(ctx, program, "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
		"--disable-component-update", "--disable-sync", "--user-data-dir="+t.TempDir(), "--dump-dom", "file://"+path).Output()
	if err != nil {
		t.Fatal(err)
	}
	dom := string(out)
	for _, element := range []string{"<script", "<img", "<b>shift", "onerror=\""} {
		if strings.Contains(dom, element) {
			t.Errorf("text of the log became markup: %s", element)
		}
	}
	if !strings.Contains(dom, "&lt;script&gt;alert(1)&lt;/script&gt;") {
		t.Error("the text itself is gone")
	}
	if n := strings.Count(dom, "<svg"); n != 3 {
		t.Errorf("%d drawings in the page, want energy line and two traces", n)
	}
}

// TestPageNamesNoAddress needs no browser: nothing in the page could be fetched.
func TestPageNamesNoAddress(t *testing.T) {
	for _, write := range []func(*bytes.Buffer) error{quietPage, busyPage} {
		text := string(written(t, write))
		for _, way := range []string{"http:", "https:", "src=", "url(", "@import", "//", "<script", "<link rel=\"style"} {
			if at := strings.Index(text, way); at >= 0 && !strings.Contains(text[at:min(len(text), at+12)], "http-equiv") {
				t.Errorf("the page has %s: %s", way, fmt.Sprintf("%.60q", text[at:]))
			}
		}
	}
}
