package seal

import (
	"bufio"
	"bytes"
	"crypto/ed25519"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// retiredName is the list of retired keys, beside the key's file. It holds
// public keys only: what was signed with a retired key stays verifiable, and
// nothing more can be signed with it.
const retiredName = "retired.txt"

// RetiredKey is a key that signs no more.
type RetiredKey struct {
	Public  ed25519.PublicKey
	Retired time.Time // UTC
}

// Retire draws a new key in place of the one in the file and puts the old one
// on the list of retired keys; its private half is gone then.
func Retire(path string, at time.Time) (*Key, error) {
	old, made, err := LoadOrCreate(path)
	if err != nil || made {
		return old, err
	}
	line := hex.EncodeToString(old.Public()) + " " + at.UTC().Format(time.RFC3339) + "\n"
	f, err := os.OpenFile(filepath.Join(filepath.Dir(path), retiredName), os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o600)
	if err != nil {
		return nil, fmt.Errorf("retired keys: %w", err)
	}
	_, err = f.WriteString(line)
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return nil, fmt.Errorf("retired keys: %w", err)
	}
	if err := os.Remove(path); err != nil {
		return nil, fmt.Errorf("signing key: %w", err)
	}
	return create(path)
}

// Retired lists the retired keys beside the key's file, oldest first; none
// when there is no list.
func Retired(path string) ([]RetiredKey, error) {
	name := filepath.Join(filepath.Dir(path), retiredName)
	text, err := os.ReadFile(name)
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("retired keys: %w", err)
	}
	var out []RetiredKey
	lines := bufio.NewScanner(bytes.NewReader(text))
	for n := 1; lines.Scan(); n++ {
		public, when, _ := strings.Cut(lines.Text(), " ")
		b, err1 := hex.DecodeString(public)
		at, err2 := time.Parse(time.RFC3339, when)
		if err := errors.Join(err1, err2); err != nil || len(b) != ed25519.PublicKeySize {
			return nil, fmt.Errorf("retired keys: %s line %d is no key of 64 hex digits with the time it was retired", name, n)
		}
		out = append(out, RetiredKey{Public: b, Retired: at})
	}
	return out, lines.Err()
}
