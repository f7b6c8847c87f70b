package store

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/gofrs/flock"
)

// lock takes the data directory for this process. The file stays behind when
// the lock is given back; the system gives it back when the process ends, so a
// file left by a killed process holds nobody up.
func lock(dir string) (*flock.Flock, error) {
	path := filepath.Join(dir, lockName)
	l := flock.New(path, flock.SetPermissions(0o600))
	taken, err := l.TryLock()
	if err != nil {
		return nil, fmt.Errorf("locking %s: %w", path, err)
	}
	if !taken {
		return nil, fmt.Errorf("%w: %s is open in another process%s; stop that one first, or ask through it",
			ErrInUse, dir, holder(path))
	}
	// Who holds it is told for the message above alone; not being able to say
	// is no fault.
	_ = os.WriteFile(path, []byte(strconv.Itoa(os.Getpid())+"\n"), 0o600)
	return l, nil
}

func holder(path string) string {
	b, err := os.ReadFile(path)
	if err != nil || len(b) > 20 {
		return ""
	}
	pid, err := strconv.Atoi(strings.TrimSpace(string(b)))
	if err != nil {
		return ""
	}
	return fmt.Sprintf(" (number %d)", pid)
}
