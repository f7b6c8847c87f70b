package seal

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"hash"
	"hash/crc32"
	"io"
	"os"

	"github.com/klauspost/compress/flate"
)

// Records of the ZIP format (APPNOTE 6.3.10, sections 4.3.7, 4.3.12, 4.3.16).
const (
	localMark   = 0x04034b50
	centralMark = 0x02014b50
	endMark     = 0x06054b50
	localSize   = 30
	centralSize = 46
	endSize     = 22
	version     = 20
	utf8Flag    = 1 << 11
	stored      = 0
	deflated    = 8
	// dosDate is 1 January 1980, the earliest a ZIP can say: members carry no
	// time of their own.
	dosDate  = 1<<5 | 1
	mostSize = 1<<32 - 2
)

// level of compression; with the library's version it is pinned, so that the
// same content gives the same bytes.
const level = 6

// Member is one file of a pack.
type Member struct {
	Name   string
	Size   int64
	SHA256 [32]byte

	crc    uint32
	packed int64
	offset int64
	method uint16
}

// Writer writes a pack: members in the order given, nothing but their names
// and contents, the signature as the archive comment.
type Writer struct {
	out     io.Writer
	sum     hash.Hash
	n       int64
	members []Member
	spool   *os.File
}

// NewWriter begins a pack. Members are compressed through a temporary file in
// dir ("" = the system's), so that memory does not grow with them.
func NewWriter(out io.Writer, dir string) (*Writer, error) {
	spool, err := os.CreateTemp(dir, "pack-*.part")
	if err != nil {
		return nil, fmt.Errorf("pack: %w", err)
	}
	return &Writer{out: out, sum: sha256.New(), spool: spool}, nil
}

// Abandon gives the temporary file back. It may be called after Close.
func (w *Writer) Abandon() {
	if w.spool != nil {
		_ = w.spool.Close()
		_ = os.Remove(w.spool.Name())
		w.spool = nil
	}
}

func (w *Writer) write(b []byte) error {
	w.sum.Write(b)
	n, err := w.out.Write(b)
	w.n += int64(n)
	return err
}

// Add writes one member. Names must come in byte order, so that a pack has one
// form only. Compressed members are deflated when that makes them smaller.
func (w *Writer) Add(name string, content io.Reader) (Member, error) {
	if err := checkName(name); err != nil {
		return Member{}, err
	}
	if n := len(w.members); n > 0 && w.members[n-1].Name >= name {
		return Member{}, fmt.Errorf("pack: member %q does not come after %q", name, w.members[n-1].Name)
	}
	m, err := w.pack(name, content)
	if err != nil {
		return Member{}, fmt.Errorf("pack: member %s: %w", name, err)
	}
	if err := w.write(m.local()); err != nil {
		return Member{}, err
	}
	if _, err := w.spool.Seek(0, io.SeekStart); err != nil {
		return Member{}, err
	}
	if _, err := io.Copy(writeFunc(w.write), io.LimitReader(w.spool, m.packed)); err != nil {
		return Member{}, err
	}
	w.members = append(w.members, m)
	return m, nil
}

type writeFunc func([]byte) error

func (f writeFunc) Write(b []byte) (int, error) {
	if err := f(b); err != nil {
		return 0, err
	}
	return len(b), nil
}

// pack puts the member's bytes, deflated, into the spool.
func (w *Writer) pack(name string, content io.Reader) (Member, error) {
	m := Member{Name: name, method: deflated, offset: w.n}
	if err := errors.Join(w.spool.Truncate(0), seekStart(w.spool)); err != nil {
		return m, err
	}
	z, err := flate.NewWriter(w.spool, level)
	if err != nil {
		return m, err
	}
	sum, crc := sha256.New(), crc32.NewIEEE()
	if m.Size, err = io.Copy(io.MultiWriter(sum, crc, z), content); err != nil {
		return m, err
	}
	if err := z.Close(); err != nil {
		return m, err
	}
	if m.packed, err = w.spool.Seek(0, io.SeekCurrent); err != nil {
		return m, err
	}
	m.SHA256, m.crc = [32]byte(sum.Sum(nil)), crc.Sum32()
	if m.Size > mostSize || m.packed > mostSize || w.n > mostSize {
		return m, errors.New("larger than 4 GiB, which this format does not hold")
	}
	return m, nil
}

func seekStart(f *os.File) error {
	_, err := f.Seek(0, io.SeekStart)
	return err
}

func (m *Member) local() []byte {
	b := make([]byte, localSize, localSize+len(m.Name))
	le := binary.LittleEndian
	le.PutUint32(b, localMark)
	m.common(b[4:])
	le.PutUint16(b[26:], uint16(len(m.Name)))
	return append(b, m.Name...)
}

// common writes what local and central headers share, 22 bytes: version to
// uncompressed size.
func (m *Member) common(b []byte) {
	le := binary.LittleEndian
	le.PutUint16(b, version)
	le.PutUint16(b[2:], utf8Flag)
	le.PutUint16(b[4:], m.method)
	le.PutUint16(b[6:], 0)
	le.PutUint16(b[8:], dosDate)
	le.PutUint32(b[10:], m.crc)
	le.PutUint32(b[14:], uint32(m.packed))
	le.PutUint32(b[18:], uint32(m.Size))
}

func (m *Member) central() []byte {
	b := make([]byte, centralSize, centralSize+len(m.Name))
	le := binary.LittleEndian
	le.PutUint32(b, centralMark)
	le.PutUint16(b[4:], version)
	m.common(b[6:])
	le.PutUint16(b[28:], uint16(len(m.Name)))
	le.PutUint32(b[42:], uint32(m.offset))
	return append(b, m.Name...)
}

func end(members int, size, offset int64) []byte {
	b := make([]byte, endSize)
	le := binary.LittleEndian
	le.PutUint32(b, endMark)
	le.PutUint16(b[8:], uint16(members))
	le.PutUint16(b[10:], uint16(members))
	le.PutUint32(b[12:], uint32(size))
	le.PutUint32(b[16:], uint32(offset))
	le.PutUint16(b[20:], uint16(commentSize))
	return b
}

// Close writes the directory and the signature.
func (w *Writer) Close(k *Key) error {
	defer w.Abandon()
	if len(w.members) > 1<<16-2 {
		return errors.New("pack: more than 65,534 members, which this format does not hold")
	}
	offset := w.n
	var dir bytes.Buffer
	for i := range w.members {
		dir.Write(w.members[i].central())
	}
	if err := w.write(dir.Bytes()); err != nil {
		return err
	}
	if err := w.write(end(len(w.members), int64(dir.Len()), offset)); err != nil {
		return err
	}
	_, err := w.out.Write(comment(k, w.sum.Sum(nil)))
	return err
}
