package handover

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"time"
)

// WriteFile writes a file whole or not at all: beside its place under a
// temporary name, synced, then renamed. A file that is there already is kept,
// with an error that matches fs.ErrExist, unless replace is set; it then keeps
// its mode. A new file has the mode that the umask gives.
func WriteFile(path string, data []byte, replace bool) error {
	root, err := os.OpenRoot(filepath.Dir(path))
	if err != nil {
		return writeFailure(path, err)
	}
	defer root.Close()
	temp, err := stage(root, data)
	if err != nil {
		return writeFailure(path, err)
	}
	if err := settle(root, temp, filepath.Base(path), replace); err != nil {
		return writeFailure(path, err)
	}
	return nil
}

// Writable reports before any work is done whether WriteFile could write a file
// there: nil, or the error that WriteFile would end in.
func Writable(path string, replace bool) error {
	if _, err := os.Lstat(path); err == nil && !replace {
		return writeFailure(path, fs.ErrExist)
	}
	root, err := os.OpenRoot(filepath.Dir(path))
	if err != nil {
		return writeFailure(path, err)
	}
	defer root.Close()
	temp, err := stage(root, nil)
	if err != nil {
		return writeFailure(path, err)
	}
	return root.Remove(temp)
}

const (
	tempPrefix = ".dawncrest-"
	tempSuffix = ".tmp"
	tempStale  = 24 * time.Hour // older ones were left by a writer that was killed
)

// stage writes data under a temporary name and syncs it. After an error nothing
// is left behind.
func stage(root *os.Root, data []byte) (temp string, err error) {
	temp = fmt.Sprintf("%s%d-%08x%s", tempPrefix, os.Getpid(), rand.Uint32(), tempSuffix)
	f, err := root.OpenFile(temp, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return "", err
	}
	_, err = f.Write(data)
	if err == nil {
		err = f.Sync()
	}
	if closing := f.Close(); err == nil {
		err = closing
	}
	if err != nil {
		return "", errors.Join(err, root.Remove(temp))
	}
	return temp, nil
}

// settle gives a staged file its name and syncs the folder. Without replace it
// takes the name only if nobody has it, whoever else writes at the same time.
// After an error the staged file is gone.
func settle(root *os.Root, temp, name string, replace bool) error {
	err := rename(root, temp, name, replace)
	if err != nil {
		return errors.Join(err, discard(root, temp))
	}
	return syncFolder(root)
}

func rename(root *os.Root, temp, name string, replace bool) error {
	if replace {
		if old, err := root.Stat(name); err == nil {
			if err := root.Chmod(temp, old.Mode().Perm()); err != nil {
				return err
			}
		}
		return root.Rename(temp, name)
	}
	err := root.Link(temp, name)
	if err == nil {
		return root.Remove(temp)
	}
	if errors.Is(err, fs.ErrExist) {
		return err
	}
	// Some network file systems know no links: the empty file claims the name.
	claim, err := root.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return err
	}
	if err := claim.Close(); err != nil {
		return err
	}
	return root.Rename(temp, name)
}

// discard removes a staged file; one that is gone already is no error.
func discard(root *os.Root, temp string) error {
	if err := root.Remove(temp); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

func syncFolder(root *os.Root) error {
	folder, err := root.Open(".")
	if err != nil {
		return err
	}
	err = folder.Sync()
	// Some file systems cannot sync a folder; the files in it are synced.
	if errors.Is(err, syscall.EINVAL) || errors.Is(err, syscall.ENOTSUP) {
		err = nil
	}
	return errors.Join(err, folder.Close())
}

// sweep removes temporary files that a killed writer left long ago, by the
// clock of the file system: the age is measured against a file just staged.
func sweep(root *os.Root, staged string, entries []fs.DirEntry) {
	now, err := root.Stat(staged)
	if err != nil {
		return
	}
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), tempPrefix) || !strings.HasSuffix(e.Name(), tempSuffix) {
			continue
		}
		if info, err := e.Info(); err == nil && now.ModTime().Sub(info.ModTime()) > tempStale {
			// One that cannot be removed does no harm and is tried again.
			_ = root.Remove(e.Name())
		}
	}
}

// writeFailure names the path, what went wrong and the way out.
func writeFailure(path string, err error) error {
	way := "name another place to write to"
	switch {
	case errors.Is(err, fs.ErrExist):
		return fmt.Errorf("write %s: it is there already and was kept; name another file or ask for it to be replaced: %w", path, fs.ErrExist)
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		way = "what was there is unharmed; free some space or name another place"
	case errors.Is(err, syscall.EROFS):
		way = "the file system takes no writing; name another place"
	case errors.Is(err, fs.ErrPermission):
		way = "ask its owner for leave to write there, or name another place"
	case errors.Is(err, fs.ErrNotExist):
		way = "the folder is not there; make it, or name another place"
	}
	return fmt.Errorf("write %s: %w (%s)", path, cause(err), way)
}

// cause strips the temporary name, which tells a reader nothing, off an error.
func cause(err error) error {
	var at *fs.PathError
	var between *os.LinkError
	switch {
	case errors.As(err, &at):
		return at.Err
	case errors.As(err, &between):
		return between.Err
	}
	return err
}
