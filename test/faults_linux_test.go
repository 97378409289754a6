package test

import (
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"golang.org/x/sys/unix"
)

// waiting starts the program on a standard input that delivers some text and then
// nothing, as a mount that stalls.
func waiting(t *testing.T, text string, args ...string) (run *exec.Cmd, in io.WriteCloser, said *strings.Builder) {
	t.Helper()
	run, said = exec.Command(program(t), args...), &strings.Builder{}
	run.Dir, run.Env, run.Stdout, run.Stderr = t.TempDir(), environment(t), said, said
	in, err := run.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := run.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = run.Process.Kill() })
	if _, err := io.WriteString(in, text); err != nil {
		t.Fatal(err)
	}
	for end := time.Now().Add(patience); unread(t, in) > 0; time.Sleep(5 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("standard input is not read")
		}
	}
	return run, in, said
}

// unread returns how many bytes in a pipe nobody has read yet.
func unread(t *testing.T, in io.Writer) (n int) {
	t.Helper()
	pipe, ok := in.(syscall.Conn)
	if !ok {
		t.Fatalf("standard input is %T", in)
	}
	conn, err := pipe.SyscallConn()
	if err == nil {
		err = conn.Control(func(fd uintptr) { n, err = unix.IoctlGetInt(int(fd), unix.TIOCINQ) })
	}
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// ends waits for a program and returns its exit code, or the signal that ended it.
func ends(t *testing.T, run *exec.Cmd) string {
	t.Helper()
	done := make(chan error, 1)
	go func() { done <- run.Wait() }()
	select {
	case <-done:
		if status, ok := run.ProcessState.Sys().(syscall.WaitStatus); ok && status.Signaled() {
			return status.Signal().String()
		}
		return fmt.Sprint(run.ProcessState.ExitCode())
	case <-time.After(patience):
		t.Fatal("never ended")
		return ""
	}
}

// A signal ends a reading that waits for what never comes, and leaves no file
// behind.
func TestSignalsWhileALogStalls(t *testing.T) {
	t.Parallel()
	for _, signal := range []syscall.Signal{syscall.SIGTERM, syscall.SIGHUP, syscall.SIGINT, syscall.SIGKILL} {
		for _, text := range []string{"", smallLog} {
			out := filepath.Join(t.TempDir(), "handover.md")
			run, _, _ := waiting(t, text, "handover", "--out", out, "-")
			time.Sleep(200 * time.Millisecond)
			if err := run.Process.Signal(signal); err != nil {
				t.Fatal(err)
			}
			if got := ends(t, run); got != signal.String() && got != fmt.Sprint(128+int(signal)) {
				t.Errorf("%v: ended with %s", signal, got)
			}
			if left, _ := os.ReadDir(filepath.Dir(out)); len(left) > 0 {
				t.Errorf("%v: left %v", signal, left)
			}
		}
	}
}

// What was said to be written is there after the writer is killed at any time, and
// what is there is whole.
func TestKilledWhileTheBookIsWritten(t *testing.T) {
	t.Parallel()
	d, path := demoFolder(t), program(t)
	book := filepath.Join(t.TempDir(), "book")
	confirmed, killed := 0, 0
	for i := range 24 {
		run := exec.Command(path, "handover", "--book", book, "--reference", "2026-11-23T22:00..2026-11-23T23:00", d.dir)
		var errs strings.Builder
		run.Env, run.Stderr = environment(t), &errs
		if err := run.Start(); err != nil {
			t.Fatal(err)
		}
		if i%4 > 0 { // about when it writes, and every fourth undisturbed
			eventually(2*time.Second, func() bool {
				temp, _ := filepath.Glob(filepath.Join(book, ".*"))
				return len(temp) >= i%4
			})
			_ = run.Process.Kill()
		}
		if ends(t, run) == "killed" {
			killed++
		}
		confirmed += strings.Count(errs.String(), "wrote entry")
		whole, _ := filepath.Glob(filepath.Join(book, "*-*[a-z0-9].json"))
		entries := 0
		for _, name := range whole {
			if !strings.HasSuffix(name, ".levels.json") {
				entries++
			}
		}
		if entries < confirmed {
			t.Fatalf("%d entries of %d that were confirmed; said %q", entries, confirmed, errs.String())
		}
	}
	got := runWith(t, nil, "check", "--book", book, d.dir)
	if strings.Contains(got.out+got.errs, "damaged") || got.code > 1 {
		t.Errorf("exit code %d: %s", got.code, got.errs)
	}
	t.Logf("%d confirmed, %d killed", confirmed, killed)
}

// A log that is taken away, cut or replaced between being found and being read is
// told; the others are reviewed.
func TestLogChangesBeforeItIsRead(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		change func(path string) error
		says   string
	}{
		"removed":            {os.Remove, "no such file"},
		"cut to nothing":     {func(path string) error { return os.Truncate(path, 0) }, "empty"},
		"replaced by a pipe": {func(path string) error { return errors.Join(os.Remove(path), syscall.Mkfifo(path, 0o666)) }, "is a pipe now"},
		"replaced by a folder": {func(path string) error { return errors.Join(os.Remove(path), os.Mkdir(path, 0o777)) },
			"is a folder now"},
		"replaced by a device": {func(path string) error { return errors.Join(os.Remove(path), os.Symlink("/dev/zero", path)) },
			"is a device now"},
	} {
		t.Run(name, func(t *testing.T) {
			log := putFile(t, strings.ReplaceAll(smallLog, "S03", "S04"), t.TempDir(), "night.csv")
			header, rows, _ := strings.Cut(smallLog, "\n")
			run, in, out := waiting(t, header+"\n", "columns", "-", log) // the logs are found, and the first one is read
			if err := c.change(log); err != nil {
				t.Fatal(err)
			}
			if _, err := io.WriteString(in, rows); err != nil {
				t.Fatal(err)
			}
			in.Close()
			if code := ends(t, run); code != "2" || !strings.Contains(out.String(), "3 kept") || !strings.Contains(out.String(), c.says) {
				t.Errorf("exit code %s, %q", code, out.String())
			}
		})
	}
}

// A full disk, or a reader that has gone, is a failure with a word.
func TestNoRoomForTheAnswer(t *testing.T) {
	t.Parallel()
	full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		t.Skip(err)
	}
	defer full.Close()
	d := demoFolder(t)
	for _, args := range [][]string{{"check", d.dir}, {"check", "--format", "json", d.dir}, {"handover", d.dir}, {"columns", d.dir}, {"review", d.dir}, {"plant", d.plant}, {"version"}} {
		var errs strings.Builder
		run := exec.Command(program(t), args...)
		run.Env, run.Stdout, run.Stderr = environment(t), full, &errs
		if err := run.Start(); err != nil {
			t.Fatal(err)
		}
		if code := ends(t, run); code != "2" || !strings.Contains(errs.String(), "no space left") {
			t.Errorf("%s: exit code %s, %q", args[0], code, errs.String())
		}
	}
}

// A book on a full disk keeps what it has; the answer itself is not lost.
func TestFullDiskUnderTheBook(t *testing.T) {
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=256k"); err != nil {
		t.Skipf("skipped: no leave to mount a small file system: %v", err)
	}
	t.Cleanup(func() { _ = syscall.Unmount(dir, 0) })
	d, book := demoFolder(t), filepath.Join(dir, "book")
	for range 30 {
		got := runWith(t, nil, "handover", "--book", book, d.dir)
		if got.code == 0 {
			continue
		}
		if got.code != 2 || !strings.Contains(got.errs, "free some space") || !strings.Contains(got.out, "# Handover") {
			t.Fatalf("exit code %d, %q, %d bytes of handover", got.code, got.errs, len(got.out))
		}
		if after := runWith(t, nil, "check", "--book", book, d.dir); strings.Contains(after.errs, "damaged") || after.code > 1 {
			t.Errorf("the book afterwards: exit code %d, %q", after.code, after.errs)
		}
		return
	}
	t.Fatal("the disk never was full")
}

// An entry from the future, as a clock that was set back leaves it, is kept and
// the next one stands beside it.
func TestClockSetBack(t *testing.T) {
	t.Parallel()
	d, book := demoFolder(t), filepath.Join(t.TempDir(), "book")
	runWith(t, nil, "handover", "--book", book, d.dir)
	entries, _ := filepath.Glob(filepath.Join(book, "*night.json"))
	if len(entries) != 1 {
		t.Fatalf("entries %v", entries)
	}
	text, err := os.ReadFile(entries[0])
	if err != nil {
		t.Fatal(err)
	}
	at := strings.Index(string(text), `"written":"20`)
	if at < 0 {
		t.Fatal("an entry that does not say when it was written")
	}
	future := string(text[:at]) + `"written":"2099` + string(text[at+len(`"written":"2026`):])
	if err := os.WriteFile(entries[0], []byte(future), 0o666); err != nil {
		t.Fatal(err)
	}
	got := runWith(t, nil, "handover", "--book", book, d.dir)
	if got.code != 0 || !strings.Contains(got.errs, "night-2") {
		t.Errorf("exit code %d, %q", got.code, got.errs)
	}
	if kept, err := os.ReadFile(entries[0]); err != nil || string(kept) != future {
		t.Errorf("the entry before is changed: %v", err)
	}
}

// A low limit of memory makes the review slower, not different.
func TestLowMemory(t *testing.T) {
	t.Parallel()
	d := demoFolder(t)
	want := runWith(t, nil, "check", d.dir)
	run := exec.Command(program(t), "check", d.dir)
	run.Env = environment(t, "GOMEMLIMIT=16MiB")
	out, _ := run.Output()
	if string(out) != want.out || run.ProcessState.ExitCode() != want.code {
		t.Errorf("exit code %d, want %d; said %q", run.ProcessState.ExitCode(), want.code, out)
	}
}
