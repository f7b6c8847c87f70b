package book

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"time"
)

// entryTag opens the bytes hashed for an entry, so that a hash of something
// else can never be taken for one.
const entryTag = "swardbook/entry/1"

// FormatName names this format in the genesis hash.
const FormatName = "swardbook/book/1"

// SaltSize is the number of random bytes hashed before a body, so that an
// erased body cannot be guessed from its hash.
const SaltSize = 16

// HashBody returns SHA-256(salt ‖ body).
func HashBody(salt []byte, body Object) Hash {
	h := sha256.New()
	h.Write(salt)
	h.Write(body.Bytes())
	return Hash(h.Sum(nil))
}

// HashEntry returns SHA-256(tag ‖ len‖prev ‖ len‖envelope); lengths are 8
// bytes, big end first.
func HashEntry(prev Hash, envelope []byte) Hash {
	h := sha256.New()
	h.Write([]byte(entryTag))
	_ = writeFramed(h.Write, prev[:])
	_ = writeFramed(h.Write, envelope)
	return Hash(h.Sum(nil))
}

// Genesis returns the hash the first entry of a site's book links to: SHA-256
// of the canonical object {created, format, site}.
func Genesis(site string, created time.Time) Hash {
	o := Object{"format": FormatName, "site": site, "created": FormatInstant(created)}
	return sha256.Sum256(o.Bytes())
}

// Seal gives an entry its place in the chain: it fills BodyHash from salt and
// body, Prev and Hash. A nil body makes a withdrawal.
func Seal(v Envelope, salt []byte, body Object, prev Hash) *Entry {
	e := &Entry{Envelope: v, Prev: prev}
	if body != nil {
		e.Salt, e.Body = salt, body
		e.BodyHash = HashBody(salt, body)
	} else {
		e.BodyHash = Hash{}
	}
	e.Hash = HashEntry(prev, e.Envelope.Bytes())
	return e
}

// ErrChain is wrapped by every fault that CheckLink finds.
var ErrChain = errors.New("chain broken")

// CheckLink tells whether e follows prev (nil for the first entry, which must
// link to genesis): sequence, link, both hashes, order of receipt.
func CheckLink(genesis Hash, prev, e *Entry) error {
	want, seq := genesis, int64(1)
	if prev != nil {
		want, seq = prev.Hash, prev.Seq+1
		if e.Recorded.Before(prev.Recorded) {
			return fmt.Errorf("%w at entry %d: received %s, before entry %d at %s", ErrChain,
				e.Seq, FormatInstant(e.Recorded), prev.Seq, FormatInstant(prev.Recorded))
		}
	}
	switch {
	case e.Seq != seq:
		return fmt.Errorf("%w: entry %d stands where %d belongs", ErrChain, e.Seq, seq)
	case e.Prev != want:
		return fmt.Errorf("%w at entry %d: it does not link to the entry before it", ErrChain, e.Seq)
	case HashEntry(e.Prev, e.Envelope.Bytes()) != e.Hash:
		return fmt.Errorf("%w at entry %d: its hash does not fit its envelope", ErrChain, e.Seq)
	case e.Body != nil && HashBody(e.Salt, e.Body) != e.BodyHash:
		return fmt.Errorf("%w at entry %d: its body does not fit the hash in its envelope", ErrChain, e.Seq)
	case e.Body == nil && e.BodyHash != (Hash{}) && e.ErasedBy == 0:
		return fmt.Errorf("%w at entry %d: its body is missing and no redaction accounts for it", ErrChain, e.Seq)
	}
	return nil
}
