package seal

import (
	"crypto/ed25519"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"encoding/hex"
	"encoding/pem"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// Key is an ed25519 signing key (RFC 8032).
type Key struct{ private ed25519.PrivateKey }

const pemType = "PRIVATE KEY"

// LoadOrCreate reads the signing key of a file (PEM, PKCS #8), or draws one and
// keeps it there, readable by its owner only. Made tells which.
func LoadOrCreate(path string) (k *Key, made bool, err error) {
	text, err := os.ReadFile(path)
	if errors.Is(err, os.ErrNotExist) {
		k, err = create(path)
		return k, true, err
	}
	if err != nil {
		return nil, false, fmt.Errorf("signing key: %w", err)
	}
	block, rest := pem.Decode(text)
	if block == nil || block.Type != pemType || len(strings.TrimSpace(string(rest))) > 0 {
		return nil, false, fmt.Errorf("signing key: %s is not one key in PEM; put the key's own file back", path)
	}
	parsed, err := x509.ParsePKCS8PrivateKey(block.Bytes)
	if err != nil {
		return nil, false, fmt.Errorf("signing key: %s: %w", path, err)
	}
	private, ok := parsed.(ed25519.PrivateKey)
	if !ok {
		return nil, false, fmt.Errorf("signing key: %s is no ed25519 key", path)
	}
	return &Key{private}, false, nil
}

func create(path string) (*Key, error) {
	_, private, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		return nil, fmt.Errorf("signing key: %w", err)
	}
	der, err := x509.MarshalPKCS8PrivateKey(private)
	if err != nil {
		return nil, fmt.Errorf("signing key: %w", err)
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return nil, fmt.Errorf("signing key: %w", err)
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return nil, fmt.Errorf("signing key: %w", err)
	}
	err = pem.Encode(f, &pem.Block{Type: pemType, Bytes: der})
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return nil, fmt.Errorf("signing key: %w", err)
	}
	return &Key{private}, nil
}

// NewKey makes the key of a 32-byte seed, for tests and frozen packs.
func NewKey(seed [32]byte) *Key { return &Key{ed25519.NewKeyFromSeed(seed[:])} }

// Public returns the public key.
func (k *Key) Public() ed25519.PublicKey { return k.private.Public().(ed25519.PublicKey) }

// Fingerprint returns the fingerprint of the key.
func (k *Key) Fingerprint() string { return Fingerprint(k.Public()) }

// Fingerprint is SHA-256 of the 32 bytes of a public key, in hex, in groups of
// eight for reading aloud.
func Fingerprint(public ed25519.PublicKey) string {
	sum := sha256.Sum256(public)
	text := hex.EncodeToString(sum[:])
	var groups []string
	for i := 0; i < len(text); i += 8 {
		groups = append(groups, text[i:i+8])
	}
	return strings.Join(groups, " ")
}

// SameFingerprint tells whether a fingerprint as typed is that of the key.
// Spaces, colons, dashes and capitals do not matter; the whole is wanted.
func SameFingerprint(typed string, public ed25519.PublicKey) (bool, error) {
	plain := strings.NewReplacer(" ", "", ":", "", "-", "", "\t", "").Replace(strings.ToLower(strings.TrimSpace(typed)))
	if b, err := hex.DecodeString(plain); err != nil || len(b) != sha256.Size {
		return false, fmt.Errorf("%q is not a fingerprint of 64 hex digits", typed)
	}
	return plain == strings.ReplaceAll(Fingerprint(public), " ", ""), nil
}
