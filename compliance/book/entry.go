package book

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"regexp"
	"time"
)

// InstantLayout is how an instant is written: UTC, milliseconds.
const InstantLayout = "2006-01-02T15:04:05.000Z"

// Hash is a SHA-256.
type Hash [32]byte

// String returns the hash in lower-case hex.
func (h Hash) String() string { return hex.EncodeToString(h[:]) }

// ParseHash reads 64 lower-case hex digits.
func ParseHash(s string) (Hash, error) {
	var h Hash
	b, err := hex.DecodeString(s)
	if err != nil || len(b) != len(h) || hex.EncodeToString(b) != s {
		return h, fmt.Errorf("%q is not a SHA-256 in 64 lower-case hex digits", s)
	}
	copy(h[:], b)
	return h, nil
}

// ID names an entry: 128 bits in 32 lower-case hex digits, opaque.
type ID string

var idForm = regexp.MustCompile(`^[0-9a-f]{32}$`)

// Valid tells whether the id has the form of one.
func (id ID) Valid() bool { return idForm.MatchString(string(id)) }

// RowID is the id of a row of a site folder: the first 128 bits of SHA-256
// over site, kind, register file and row key, each preceded by its length.
// The same row imported twice therefore has the same id.
func RowID(site, kind, register, rowKey string) ID {
	h := sha256.New()
	for _, s := range []string{site, kind, register, rowKey} {
		_ = writeFramed(h.Write, []byte(s))
	}
	return ID(hex.EncodeToString(h.Sum(nil)[:16]))
}

// Precision says how closely an entry's instant is known. Two acts of day
// precision on one day have no order unless a condition states one.
type Precision string

// The precisions there are.
const (
	ToMillisecond Precision = "ms"
	ToMinute      Precision = "minute"
	ToDay         Precision = "day"
)

// Envelope is what the chain commits to. Times are UTC to the millisecond.
type Envelope struct {
	ID         ID
	Seq        int64     // 1, 2, 3 …: the order of the book
	Site       string    // site id
	Kind       string    // name.version
	Places     []string  // feature codes, as given
	At         time.Time // when it happened, or began
	Until      time.Time // when it ended (half-open); zero when it has no length
	Precision  Precision // of At
	Offset     string    // UTC offset the time was told in, "+01:00"; may be ""
	Made       time.Time // by the device's clock; zero when not told
	Recorded   time.Time // by the server's clock inside the head lock
	By         string    // opaque id of the person who entered it
	For        string    // opaque id of whom it was entered for; may be ""
	Role       string    // role held at receipt
	Supersedes ID        // head of the line it corrects or withdraws; may be ""
	Reason     string    // why, for a correction, withdrawal or redaction
	BodyHash   Hash      // zero for a withdrawal
	Files      []Hash    // originals it rests on, in the order given
}

// Entry is one sealed envelope with its body and its link in the chain.
type Entry struct {
	Envelope
	Prev Hash
	Hash Hash

	Salt []byte // 16 random bytes; nil for a withdrawal or once erased
	Body Object // nil for a withdrawal or once erased

	ErasedBy int64 // seq of the redaction that erased the body; 0 otherwise
}

// Withdrawal tells whether the entry takes back the line it supersedes.
func (e *Entry) Withdrawal() bool { return e.Supersedes != "" && e.BodyHash == (Hash{}) }

// Span returns the interval [from, to) the entry concerns. An entry without
// length, and of day precision, spans nothing: from equals to.
func (e *Entry) Span() (from, to time.Time) {
	if e.Until.IsZero() {
		return e.At, e.At
	}
	return e.At, e.Until
}

// Bytes returns the envelope's canonical bytes.
func (v *Envelope) Bytes() []byte { return v.object().Bytes() }

func (v *Envelope) object() Object {
	o := Object{
		"id": string(v.ID), "seq": v.Seq, "site": v.Site, "kind": v.Kind,
		"at": FormatInstant(v.At), "at_precision": string(v.Precision),
		"recorded": FormatInstant(v.Recorded), "by": v.By, "role": v.Role,
	}
	if len(v.Places) > 0 {
		l := make([]any, len(v.Places))
		for i, p := range v.Places {
			l[i] = p
		}
		o["places"] = l
	}
	if len(v.Files) > 0 {
		l := make([]any, len(v.Files))
		for i, f := range v.Files {
			l[i] = f.String()
		}
		o["files"] = l
	}
	optional := func(key, value string) {
		if value != "" {
			o[key] = value
		}
	}
	if !v.Until.IsZero() {
		o["until"] = FormatInstant(v.Until)
	}
	if !v.Made.IsZero() {
		o["made"] = FormatInstant(v.Made)
	}
	optional("offset", v.Offset)
	optional("for", v.For)
	optional("supersedes", string(v.Supersedes))
	optional("reason", v.Reason)
	if v.BodyHash != (Hash{}) {
		o["body_hash"] = v.BodyHash.String()
	}
	return o
}

// FormatInstant writes an instant in UTC to the millisecond.
func FormatInstant(t time.Time) string { return t.UTC().Format(InstantLayout) }

// ParseInstant reads an instant written by FormatInstant and nothing else.
func ParseInstant(s string) (time.Time, error) {
	t, err := time.Parse(InstantLayout, s)
	if err != nil || FormatInstant(t) != s {
		return time.Time{}, fmt.Errorf("%q is not an instant like 2026-04-06T09:12:00.000Z", s)
	}
	return t, nil
}

// ErrEnvelope is wrapped by every fault found in an envelope's own form.
var ErrEnvelope = errors.New("envelope not well formed")

// ParseEnvelope reads canonical envelope bytes. Bytes that are not exactly
// what Envelope.Bytes would write are refused.
func ParseEnvelope(b []byte) (*Envelope, error) {
	o, err := ParseObject(b)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrEnvelope, err)
	}
	r := reader{o: o}
	v := &Envelope{
		ID: ID(r.text("id")), Seq: r.integer("seq"), Site: r.text("site"), Kind: r.text("kind"),
		Places: r.texts("places"), At: r.instant("at"), Until: r.instant("until"),
		Precision: Precision(r.text("at_precision")), Offset: r.text("offset"),
		Made: r.instant("made"), Recorded: r.instant("recorded"), By: r.text("by"),
		For: r.text("for"), Role: r.text("role"), Supersedes: ID(r.text("supersedes")),
		Reason: r.text("reason"), BodyHash: r.hash("body_hash"),
	}
	for _, s := range r.texts("files") {
		h, err := ParseHash(s)
		if err != nil {
			r.fail("files", err)
		}
		v.Files = append(v.Files, h)
	}
	if r.err != nil {
		return nil, fmt.Errorf("%w: %w", ErrEnvelope, r.err)
	}
	if string(v.Bytes()) != string(b) {
		return nil, fmt.Errorf("%w: not in canonical form, or with members unknown to this format", ErrEnvelope)
	}
	return v, nil
}

// reader takes typed members out of an object and keeps the first fault.
type reader struct {
	o   Object
	err error
}

func (r *reader) fail(key string, err error) {
	if r.err == nil {
		r.err = fmt.Errorf("%s: %w", key, err)
	}
}

func (r *reader) text(key string) string {
	v, there := r.o[key]
	if !there {
		return ""
	}
	s, ok := v.(string)
	if !ok {
		r.fail(key, errors.New("text is wanted"))
	}
	return s
}

func (r *reader) integer(key string) int64 {
	n, ok := r.o[key].(int64)
	if !ok {
		r.fail(key, errors.New("a whole number is wanted"))
	}
	return n
}

func (r *reader) texts(key string) []string {
	v, there := r.o[key]
	if !there {
		return nil
	}
	l, ok := v.([]any)
	if !ok {
		r.fail(key, errors.New("a list of texts is wanted"))
		return nil
	}
	var out []string
	for _, e := range l {
		s, ok := e.(string)
		if !ok {
			r.fail(key, errors.New("a list of texts is wanted"))
		}
		out = append(out, s)
	}
	return out
}

func (r *reader) instant(key string) time.Time {
	s := r.text(key)
	if s == "" {
		return time.Time{}
	}
	t, err := ParseInstant(s)
	if err != nil {
		r.fail(key, err)
	}
	return t
}

func (r *reader) hash(key string) Hash {
	s := r.text(key)
	if s == "" {
		return Hash{}
	}
	h, err := ParseHash(s)
	if err != nil {
		r.fail(key, err)
	}
	return h
}

// writeFramed writes the length of b as 8 bytes, big end first, and then b.
func writeFramed(write func([]byte) (int, error), b []byte) error {
	var n [8]byte
	binary.BigEndian.PutUint64(n[:], uint64(len(b)))
	if _, err := write(n[:]); err != nil {
		return err
	}
	_, err := write(b)
	return err
}
