package test

import (
	"compress/gzip"
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/klauspost/compress/zstd"
)

// endless returns the same bytes for ever.
type endless string

func (e endless) Read(p []byte) (int, error) {
	n := 0
	for n < len(p) {
		n += copy(p[n:], e)
	}
	return n, nil
}

// packedEndless is a packed log that unpacks without end.
func packedEndless(pack func(io.Writer) io.Writer) io.Reader {
	r, w := io.Pipe()
	go func() {
		_, err := io.Copy(pack(w), io.MultiReader(strings.NewReader(smallLog), endless(strings.Repeat("\n", 1<<16))))
		w.CloseWithError(err) // as soon as nobody reads any more
	}()
	return r
}

func gzipped(w io.Writer) io.Writer { return gzip.NewWriter(w) }

func zstded(w io.Writer) io.Writer {
	z, err := zstd.NewWriter(w)
	if err != nil {
		panic(err)
	}
	return z
}

const smallLog = "time,S03 forward_power [MW]\n2026-01-01T00:00:00Z,38\n2026-01-01T00:00:10Z,38\n2026-01-01T00:00:20Z,38\n"

// headerOf is a header of so many columns, and two rows under it.
func headerOf(columns int) io.Reader {
	var header strings.Builder
	header.WriteString("time")
	for i := range columns - 1 {
		fmt.Fprintf(&header, ",S%d beam_voltage [kV]", i)
	}
	row := strings.Repeat(",268", columns-1) + "\n"
	return strings.NewReader(header.String() + "\n2026-01-01T00:00:00Z" + row + "2026-01-01T00:00:10Z" + row)
}

func manyChannels(n int) io.Reader {
	var b strings.Builder
	b.WriteString("time,place,forward_power [MW]\n")
	for i := range n {
		fmt.Fprintf(&b, "2026-01-01T00:00:00Z,S%d,38\n", i)
	}
	return strings.NewReader(b.String())
}

// putFile writes a file and the folders it stands in.
func putFile(t *testing.T, text string, parts ...string) string {
	t.Helper()
	path := filepath.Join(parts...)
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

// What a log may ask of the machine is bounded: the word on it names the limit,
// and the option that raises it.
func TestLimits(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	putFile(t, smallLog, dir, "deep", strings.Repeat("d/", 12), "night.csv")
	deep := filepath.Join(dir, "deep")
	several := filepath.Join(dir, "several")
	for i := range 4 {
		putFile(t, strings.ReplaceAll(smallLog, "S03", fmt.Sprintf("S%02d", i)), several, fmt.Sprintf("%d.csv", i))
	}
	const most = 400 // MB that the program may hold, of much more that it is offered
	for _, c := range []struct {
		name  string
		in    func() io.Reader
		args  []string
		limit string
		raise string // "": what is offered has no end
		code  int    // once raised
	}{
		{"row without an end", func() io.Reader { return endless("38,") }, []string{"-"}, "LineBytes", "", 0},
		{"row without an end behind good ones", func() io.Reader { return io.MultiReader(strings.NewReader(smallLog), endless("38,")) }, []string{"-"}, "LineBytes", "", 0},
		{"quoted value without an end", func() io.Reader { return io.MultiReader(strings.NewReader(smallLog+"\""), endless("x,")) }, []string{"-"}, "LineBytes", "", 0},
		{"zero bytes without an end", func() io.Reader { return endless("\x00") }, []string{"-"}, "LineBytes", "", 0},
		{"long row", func() io.Reader {
			return strings.NewReader(smallLog + "2026-01-01T00:00:30Z,38," + strings.Repeat(" ", 5<<20) + "\n")
		}, []string{"-", "--limit", "LineBytes=1000000"}, "LineBytes", "LineBytes=10000000", 0},
		{"a million columns", func() io.Reader { return headerOf(1_000_000) }, []string{"-", "--limit", "LineBytes=100000000"}, "Columns", "", 0},
		{"many columns", func() io.Reader { return headerOf(20_500) }, []string{"-"}, "Columns", "Columns=21000", 0},
		{"many channels", func() io.Reader { return manyChannels(20_500) }, []string{"-"}, "Series", "Series=21000", 0},
		{"gzip that unpacks without an end", func() io.Reader { return packedEndless(gzipped) }, []string{"-"}, "UnpackRatio", "", 0},
		{"zstd that unpacks without an end", func() io.Reader { return packedEndless(zstded) }, []string{"-"}, "UnpackRatio", "", 0},
		{"deep folders", nil, []string{deep}, "FolderDepth", "FolderDepth=20", 0},
		{"many logs", nil, []string{several, "--limit", "Files=3"}, "Files", "Files=10", 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := func() io.Reader {
				if c.in == nil {
					return nil
				}
				return c.in()
			}
			got := runWith(t, in(), append([]string{"columns"}, c.args...)...)
			word := "--limit " + c.limit + "=NUMBER"
			all := strings.Join(strings.Fields(got.out+got.errs), " ")
			if !strings.Contains(all, word) {
				t.Errorf("exit code %d, no %q in %.600q", got.code, word, all)
			}
			if got.peakMB > most {
				t.Errorf("took %d MB", got.peakMB)
			}
			t.Logf("%d MB", got.peakMB)
			if c.raise == "" {
				return
			}
			got = runWith(t, in(), append([]string{"columns", "--limit", c.raise}, without(c.args, "--limit")...)...)
			if all := got.out + got.errs; got.code != c.code || strings.Contains(all, "over the limit") {
				t.Errorf("raised: exit code %d: %.600q", got.code, all)
			}
		})
	}
}

// without takes an option and its value out of arguments.
func without(args []string, option string) []string {
	for i, arg := range args {
		if arg == option {
			return append(append([]string{}, args[:i]...), args[i+2:]...)
		}
	}
	return args
}

// A name of a megabyte is a name; it is told shortened.
func TestNameOfAMegabyte(t *testing.T) {
	t.Parallel()
	long := strings.Repeat("long ", 1<<18)
	for name, text := range map[string]string{
		"heading": strings.ReplaceAll(smallLog, "S03", long),
		"unknown": strings.ReplaceAll(smallLog, "S03 forward_power", strings.Repeat("long_", 1<<18)),
		"place":   "time,place,forward_power [MW]\n2026-01-01T00:00:00Z," + long + ",38\n2026-01-01T00:00:10Z," + long + ",38\n",
		"unit":    strings.ReplaceAll(smallLog, "MW", long),
		"value":   smallLog + "2026-01-01T00:00:30Z," + long + "\n",
	} {
		t.Run(name, func(t *testing.T) {
			for _, command := range []string{"columns", "check", "handover"} {
				got := runWith(t, strings.NewReader(text), command, "-")
				if said := len(got.out) + len(got.errs); said > 64<<10 || said == 0 || got.code > 2 {
					t.Errorf("%s: exit code %d, %d bytes said", command, got.code, said)
				}
			}
		})
	}
}

// What is no file is refused by name, at once; links that loop come to an end.
func TestLogsThatAreNoFiles(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	pipe, socket := filepath.Join(dir, "pipe.csv"), filepath.Join(dir, "s.csv")
	if err := syscall.Mkfifo(pipe, 0o666); err != nil {
		t.Skip(err)
	}
	listener, err := net.Listen("unix", socket)
	if err != nil {
		t.Skip(err)
	}
	defer listener.Close()
	loop := filepath.Dir(putFile(t, smallLog, dir, "loop", "night.csv"))
	for from, to := range map[string]string{"self.csv": "self.csv", "round": ".", "up": "..", "a.csv": "b.csv", "b.csv": "a.csv", "zero.csv": "/dev/zero"} {
		if err := os.Symlink(to, filepath.Join(loop, from)); err != nil {
			t.Skip(err)
		}
	}
	for _, c := range []struct {
		path, says string
		code       int
	}{
		{pipe, "is a pipe", 2},
		{socket, "is a socket", 2},
		{"/dev/zero", "is a device", 2},
		{"/dev/tty", "is a device", 2},
		{loop, "too many levels of symbolic links", 2},
		{loop, "is a device", 2},
		{loop, "3 kept", 2},
	} {
		got := runWith(t, nil, "columns", c.path)
		if all := strings.Join(strings.Fields(got.out+got.errs), " "); got.code != c.code || !strings.Contains(all, c.says) {
			t.Errorf("%s: exit code %d, no %q in %q", c.path, got.code, c.says, all)
		}
	}
}

// A link in a plant folder or a shift book leads nowhere outside of it.
func TestLinksOutOfAFolder(t *testing.T) {
	t.Parallel()
	dir, d := t.TempDir(), demoFolder(t)
	const secret = "word-that-nobody-may-see"
	outside := putFile(t, `{"schema":"`+secret+`"}`+"\n"+secret+"="+secret+"\n", dir, "outside")
	plant, book := filepath.Join(dir, "plant"), filepath.Join(dir, "book")
	if err := os.CopyFS(plant, os.DirFS(d.plant)); err != nil {
		t.Fatal(err)
	}
	putFile(t, "kept", book, "keep.md")
	for _, link := range []string{filepath.Join(plant, "tolerances.csv"), filepath.Join(book, "2026-01-01-night.json"), filepath.Join(book, "2026-01-02-night.txt")} {
		os.Remove(link)
		if err := os.Symlink(outside, link); err != nil {
			t.Skip(err)
		}
	}
	for _, args := range [][]string{
		{"plant", plant},
		{"check", "--plant", plant, d.log},
		{"check", "--book", book, d.log},
		{"handover", "--book", book, d.log},
		{"handover", "--book", book, "--replace", d.log},
		{"check", "--reference", filepath.Join(book, "2026-01-01-night.json"), d.log},
	} {
		got := runWith(t, nil, args...)
		if strings.Contains(got.out+got.errs, secret) {
			t.Errorf("%s: what stands outside was shown", strings.Join(args[:2], " "))
		}
		if args[0] == "plant" && got.code != 2 {
			t.Errorf("a plant whose table leads outside: exit code %d, %q", got.code, got.out+got.errs)
		}
	}
	text, err := os.ReadFile(outside)
	if err != nil || !strings.HasSuffix(string(text), secret+"\n") {
		t.Errorf("outside holds %q, %v", text, err)
	}
}
