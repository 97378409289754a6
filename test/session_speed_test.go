package test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
)

// readingWords begin the screen that is shown while a log is being read.
const readingWords = "Reading "

// openReading readies the program on a log that has no end yet: standard input,
// held open by the test, while the keys come from the terminal.
func openReading(t *testing.T, path string) (*line, *os.File) {
	t.Helper()
	from, to, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	l := openLine(t, path, "review", "-")
	l.process.Stdin = from
	t.Cleanup(func() {
		from.Close()
		to.Close()
	})
	return l, to
}

// questions are what a program may ask of a terminal. One that never answers
// would be waited for, and a late answer arrives as typed keys.
var questions = map[string]string{
	"foreground colour": "\x1b]10;?", "background colour": "\x1b]11;?", "a colour": "\x1b]4;", "cursor position": "\x1b[6n",
	"status": "\x1b[5n", "kind": "\x1b[c", "version": "\x1b[>", "a mode": "$p", "keyboard": "\x1b[?u", "a capability": "\x1bP+q",
}

// The first frame must come before reading has ended, on a terminal that answers
// nothing: here reading cannot end, as the log is held open.
func TestFirstFrameComesBeforeTheNight(t *testing.T) {
	path := program(t)
	l, log := openReading(t, path)
	l.start()
	l.see(readingWords)
	for what, question := range questions {
		if strings.Contains(l.text(), question) {
			t.Errorf("the terminal was asked for its %s", what)
		}
	}
	// The log comes, ends, and is shown.
	demo := demoFolder(t)
	text, err := os.ReadFile(demo.log)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := log.Write(text); err != nil {
		t.Fatal(err)
	}
	log.Close()
	l.see(firstQuestion)
	l.press("q")
	if code := l.left(); code != 0 {
		t.Errorf("exit code %d, want 0", code)
	}
	l.restored()
}

// The time to the first frame of the demo night and to its first screen is told,
// not judged: the machine may have other things to do.
func TestTimeToFirstFrame(t *testing.T) {
	path := program(t)
	const runs = 5
	var first, whole []time.Duration
	for range runs {
		l := startLine(t, path)
		first = append(first, l.see(readingWords, firstQuestion))
		whole = append(whole, l.see(firstQuestion))
		l.press("q")
		l.left()
	}
	slices.Sort(first)
	slices.Sort(whole)
	t.Logf("first frame after %v (median of %d; %v to %v)", first[runs/2], runs, first[0], first[runs-1])
	t.Logf("the demo night on screen after %v (%v to %v)", whole[runs/2], whole[0], whole[runs-1])
}

// keyPath is a morning's work at the keyboard.
var keyPath = strings.Fields("j j j w w k left left right enter n n esc 2 j j + left left 0 n n n 3 w j o left enter esc 4 j j j " +
	"enter esc 5 j j o j 6 w j 7 j j 8 j j pgdn pgdn g / S 0 7 enter esc ? ? tab tab 1 G g")

var keySequences = map[string]string{"left": "\x1b[D", "right": "\x1b[C", "enter": "\r", "esc": "\x1b", "pgdn": "\x1b[6~", "tab": "\t"}

// cost is what the keys of a path sent.
type cost struct {
	keys, mean, most int
	dearest          string
}

func (c cost) String() string {
	return fmt.Sprintf("%d keys, %d bytes a key on average, at most %d (%s)", c.keys, c.mean, c.most, c.dearest)
}

// pressAll presses one key after the other and counts what each sends.
func pressAll(l *line, keys []string) cost {
	l.t.Helper()
	c, start := cost{keys: len(keys)}, l.sent()
	for _, key := range keys {
		sequence, ok := keySequences[key]
		if !ok {
			sequence = key
		}
		l.press(sequence)
		l.settle(50 * time.Millisecond)
		if sent := l.sent() - l.mark; sent > c.most {
			c.most, c.dearest = sent, key
		}
	}
	c.mean = (l.sent() - start) / len(keys)
	return c
}

// A key press must send little, over a slow line, and nothing where it changes
// nothing.
func TestBytesAKey(t *testing.T) {
	path := program(t)
	l := startLine(t, path)
	l.see(firstQuestion)
	l.settle(300 * time.Millisecond)
	pid := l.process.Process.Pid
	busy := processorTime(pid)
	path80 := pressAll(l, keyPath)
	t.Logf("80x24: %v", path80)
	if used := processorTime(pid) - busy; used > 0 {
		t.Logf("80x24: %v of processor time a key, all threads", (used / time.Duration(len(keyPath))).Round(10*time.Microsecond))
	}
	if path80.mean >= 4000 {
		t.Errorf("%d bytes a key on average, want under 4000", path80.mean)
	}

	l.settle(300 * time.Millisecond)
	for _, key := range []string{"k", "g", "z", "\x1b", "0", "1"} { // on the first row of the first screen
		l.press(key)
		time.Sleep(300 * time.Millisecond)
		if sent := l.sent() - l.mark; sent != 0 {
			t.Errorf("%d bytes sent for %q, which changes nothing: %q", sent, key, l.text()[l.mark:])
		}
	}
	l.mark = l.sent()
	time.Sleep(2 * time.Second)
	if idle := l.sent() - l.mark; idle != 0 {
		t.Errorf("%d bytes sent in two seconds in which nothing happened", idle)
	}
	l.press("q")
	l.left()
}

// processorTime is what a process has used of the processors so far, where the
// system tells; 0 elsewhere.
func processorTime(pid int) time.Duration {
	files, _ := filepath.Glob("/proc/" + strconv.Itoa(pid) + "/task/*/schedstat")
	var total time.Duration
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			continue
		}
		busy, _, _ := strings.Cut(string(text), " ")
		nanoseconds, _ := strconv.ParseInt(busy, 10, 64)
		total += time.Duration(nanoseconds)
	}
	return total
}
