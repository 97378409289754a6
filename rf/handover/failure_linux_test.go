package handover

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
)

// asNobody runs f without the rights of the administrator over files.
func asNobody(t *testing.T, f func()) {
	t.Helper()
	if os.Geteuid() != 0 {
		f()
		return
	}
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	if err := syscall.Setfsuid(65534); err != nil {
		t.Fatal(err)
	}
	defer syscall.Setfsuid(0)
	f()
}

// smallDisk mounts a file system of so many bytes, or skips the test.
func smallDisk(t *testing.T, options string) string {
	t.Helper()
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, options); err != nil {
		t.Skipf("skipped: no leave to mount a small file system: %v", err)
	}
	t.Cleanup(func() { syscall.Unmount(dir, 0) })
	return dir
}

func TestFolderWithoutLeaveToWrite(t *testing.T) {
	dir := t.TempDir()
	write(t, openBook(t, dir), quietNight(), Meta{})
	before := listing(t, dir)
	if err := os.Chmod(dir, 0o555); err != nil {
		t.Fatal(err)
	}
	defer os.Chmod(dir, 0o755)
	b := openBook(t, dir)
	asNobody(t, func() {
		for what, err := range map[string]error{
			"beforehand": b.Writable(),
			"writing":    second(b.Write(quietNight(), Meta{}, History{}, false)),
			"replacing":  second(b.Write(quietNight(), Meta{}, History{}, true)),
			"file":       WriteFile(filepath.Join(dir, "handover.md"), []byte("x"), false),
		} {
			if !errors.Is(err, fs.ErrPermission) || !strings.Contains(err.Error(), dir) || !strings.Contains(err.Error(), "ask its owner") {
				t.Errorf("%s: %v", what, err)
			}
		}
	})
	if after := listing(t, dir); after != before {
		t.Errorf("folder held\n%s\nand holds\n%s", before, after)
	}
}

func TestReadOnlyFileSystem(t *testing.T) {
	dir := smallDisk(t, "size=1m")
	write(t, openBook(t, dir), quietNight(), Meta{})
	if err := syscall.Mount("tmpfs", dir, "tmpfs", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
		t.Skipf("skipped: no leave to mount it for reading only: %v", err)
	}
	b := openBook(t, dir)
	_, err := b.Write(quietNight(), Meta{}, History{}, false)
	if !errors.Is(err, syscall.EROFS) || !strings.Contains(err.Error(), dir) || !strings.Contains(err.Error(), "takes no writing") {
		t.Errorf("writing: %v", err)
	}
	if len(openBook(t, dir).Entries) != 1 {
		t.Error("the entry that was there is gone")
	}
}

func TestFullDisk(t *testing.T) {
	dir := smallDisk(t, "size=400k")
	b := openBook(t, dir)
	var err error
	entries := 0
	for entries < 100 {
		if _, err = b.Write(quietNightOf(24), Meta{}, History{}, false); err != nil {
			break
		}
		entries++
	}
	if !errors.Is(err, syscall.ENOSPC) || !strings.Contains(err.Error(), dir) || !strings.Contains(err.Error(), "free some space") {
		t.Fatalf("after %d entries: %v", entries, err)
	}
	if _, err := b.Write(quietNightOf(24), Meta{}, History{}, true); !errors.Is(err, syscall.ENOSPC) {
		t.Errorf("replacing on a full disk: %v", err)
	}
	after := openBook(t, dir)
	if len(after.Entries) != entries || len(after.Notices) > 0 {
		t.Errorf("%d entries of %d, notices %q", len(after.Entries), entries, after.Notices)
	}
	if left, _ := filepath.Glob(filepath.Join(dir, tempPrefix+"*")); left != nil {
		t.Errorf("left behind: %q", left)
	}
}

func TestGroupMayReadWhatTheUmaskAllows(t *testing.T) {
	old := syscall.Umask(0o027)
	defer syscall.Umask(old)
	dir := t.TempDir()
	name := write(t, openBook(t, dir), quietNight(), Meta{})
	for _, suffix := range []string{textSuffix, levelsSuffix, jsonSuffix} {
		info, err := os.Stat(filepath.Join(dir, name+suffix))
		if err != nil || info.Mode().Perm() != 0o640 {
			t.Errorf("%s: mode %v, %v", suffix, info.Mode(), err)
		}
	}
}

func second(_ string, err error) error { return err }

func listing(t *testing.T, dir string) string {
	t.Helper()
	files, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, f := range files {
		names = append(names, f.Name())
	}
	return strings.Join(names, "\n")
}
