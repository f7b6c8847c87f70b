package server

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/swardbook/swardbook/server/app"
)

// Watch takes the files that loggers leave in a folder: one folder in it for
// each logger, by name. A file that was brought in moves to the folder "taken"
// beside it, one that was not to "refused" with a note that says why. A file is
// looked at once it has stood unchanged from one look to the next, so that one
// still being written is left alone; it stays where it is until the book holds
// it, and bringing it in again after a crash adds nothing.
type Watch struct {
	dir     string
	loggers *app.Loggers
	seen    map[string]stood
}

// stood is how a file was at the last look.
type stood struct {
	size int64
	at   time.Time
}

// Folders for the files that were looked at.
const (
	takenName   = "taken"
	refusedName = "refused"
)

// unfinished are the endings of files that others are still writing.
var unfinished = []string{".part", ".tmp", ".filepart", ".crdownload", "~"}

// NewWatch watches a folder, which must be there.
func NewWatch(dir string, l *app.Loggers) (*Watch, error) {
	info, err := os.Stat(dir)
	if err != nil {
		return nil, fmt.Errorf("the folder to be watched: %w", err)
	}
	if !info.IsDir() {
		return nil, fmt.Errorf("%s is to be watched, and is no folder", dir)
	}
	return &Watch{dir: dir, loggers: l, seen: map[string]stood{}}, nil
}

// Look makes the folders of new loggers and takes what has come to rest. It
// returns what could not be done at all; what was refused is said beside each
// file.
func (w *Watch) Look(ctx context.Context) error {
	var errs []error
	seen := map[string]stood{}
	for _, name := range w.loggers.Names() {
		folder := filepath.Join(w.dir, name)
		if err := os.MkdirAll(folder, 0o755); err != nil {
			errs = append(errs, err)
			continue
		}
		files, err := os.ReadDir(folder)
		if err != nil {
			errs = append(errs, err)
			continue
		}
		for _, f := range files {
			info, err := f.Info()
			if err != nil || !info.Mode().IsRegular() || strings.HasPrefix(f.Name(), ".") || slices.ContainsFunc(unfinished, func(end string) bool { return strings.HasSuffix(f.Name(), end) }) {
				continue
			}
			path := filepath.Join(folder, f.Name())
			now := stood{info.Size(), info.ModTime()}
			if before, there := w.seen[path]; !there || before != now {
				seen[path] = now
				continue
			}
			if err := w.take(ctx, name, path); err != nil {
				errs = append(errs, fmt.Errorf("%s: %w", path, err))
				seen[path] = now
			}
		}
	}
	w.seen = seen
	return errors.Join(errs...)
}

// take brings one file in and moves it. What goes wrong on the server leaves it
// where it is, for the next look.
func (w *Watch) take(ctx context.Context, logger, path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	_, _, err = w.loggers.BringFile(ctx, logger, filepath.Base(path), f)
	if cerr := f.Close(); cerr != nil {
		return cerr
	}
	switch {
	case err == nil:
		_, err := move(path, takenName)
		return err
	case app.CodeOf(err) == app.Internal:
		return err
	}
	to, merr := move(path, refusedName)
	if merr != nil {
		return merr
	}
	return os.WriteFile(to+".why.txt", []byte(err.Error()+"\n\nNothing of the file was brought in. Put it right and leave it in the folder again, or bring it in by hand.\n"), 0o644)
}

// move puts a file into a folder beside it, under a name that is free there.
func move(path, folder string) (string, error) {
	dir := filepath.Join(filepath.Dir(path), folder)
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return "", err
	}
	name := filepath.Base(path)
	ext := filepath.Ext(name)
	for n := 1; ; n++ {
		to := filepath.Join(dir, name)
		if n > 1 {
			to = filepath.Join(dir, fmt.Sprintf("%s (%d)%s", strings.TrimSuffix(name, ext), n, ext))
		}
		if _, err := os.Lstat(to); errors.Is(err, fs.ErrNotExist) {
			return to, os.Rename(path, to)
		} else if err != nil {
			return "", err
		}
	}
}
