package test

import (
	"os"
	"strings"
	"testing"
)

// TestReadmeScreen holds the picture in the README to the golden frame of the
// first screen.
func TestReadmeScreen(t *testing.T) {
	frame, err := os.ReadFile("testdata/TestDemoFrames/1-morning-80x24.golden")
	if err != nil {
		t.Fatal(err)
	}
	page, err := os.ReadFile("../README.md")
	if err != nil {
		t.Fatal(err)
	}
	const begin, end = "<!-- first screen -->\n```\n", "```\n<!-- end of first screen -->"
	before, rest, ok := strings.Cut(string(page), begin)
	shown, after, closed := strings.Cut(rest, end)
	if !ok || !closed {
		t.Fatal("README.md has no place for the first screen")
	}
	var want strings.Builder
	for line := range strings.Lines(strings.TrimRight(string(frame), "\n") + "\n") {
		want.WriteString(strings.TrimRight(line, " \n") + "\n")
	}
	if shown == want.String() {
		return
	}
	if !*update {
		t.Fatalf("the README shows another first screen than the program; go test ./test -run TestReadmeScreen -update")
	}
	if err := os.WriteFile("../README.md", []byte(before+begin+want.String()+end+after), 0o644); err != nil {
		t.Fatal(err)
	}
}
