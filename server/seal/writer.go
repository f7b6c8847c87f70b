package seal

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"hash"
	"hash/crc32"
	"io"
	"os"
	"sort"

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
	Size   int64    // bytes unpacked
	SHA256 [32]byte // of the content; set by Add only

	crc    uint32
	packed int64
	offset int64 // in the pack
	at     int64 // in the spool, while writing
	method uint16
}

// Sealed says what was written.
type Sealed struct {
	Bytes   int64
	SHA256  [32]byte // of the whole file
	Members int
}

// Writer writes a pack. Members may come in any order: they stand in the pack
// by their names, so that one content has one form.
type Writer struct {
	out     io.Writer
	sum     hash.Hash
	n       int64
	members []Member
	names   map[string]bool
	spool   *os.File
	end     int64 // of the spool
	z       *flate.Writer
}

// NewWriter begins a pack. Members wait deflated in a temporary file in dir
// ("" = the system's) until Close, so that memory does not grow with them.
func NewWriter(out io.Writer, dir string) (*Writer, error) {
	spool, err := os.CreateTemp(dir, "pack-*.part")
	if err != nil {
		return nil, fmt.Errorf("pack: %w", err)
	}
	z, err := flate.NewWriter(io.Discard, level)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("pack: %w", err), spool.Close(), os.Remove(spool.Name()))
	}
	return &Writer{out: out, sum: sha256.New(), names: map[string]bool{}, spool: spool, z: z}, nil
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

type writeFunc func([]byte) error

func (f writeFunc) Write(b []byte) (int, error) {
	if err := f(b); err != nil {
		return 0, err
	}
	return len(b), nil
}

// Add takes one member. A name that stands already, or could leave the folder
// it is unpacked in, is refused.
func (w *Writer) Add(name string, content io.Reader) (Member, error) {
	if err := checkName(name); err != nil {
		return Member{}, err
	}
	if w.names[name] {
		return Member{}, fmt.Errorf("pack: member %q stands twice", name)
	}
	m, err := w.deflate(name, content)
	if err != nil {
		return Member{}, fmt.Errorf("pack: member %s: %w", name, err)
	}
	w.names[name] = true
	w.members = append(w.members, m)
	return m, nil
}

// deflate puts the member's bytes at the end of the spool.
func (w *Writer) deflate(name string, content io.Reader) (Member, error) {
	m := Member{Name: name, method: deflated, at: w.end}
	if _, err := w.spool.Seek(w.end, io.SeekStart); err != nil {
		return m, err
	}
	out := bufio.NewWriterSize(w.spool, 1<<16)
	w.z.Reset(out)
	sum, crc := sha256.New(), crc32.NewIEEE()
	var err error
	if m.Size, err = io.Copy(io.MultiWriter(sum, crc, w.z), content); err != nil {
		return m, err
	}
	if err := errors.Join(w.z.Close(), out.Flush()); err != nil {
		return m, err
	}
	end, err := w.spool.Seek(0, io.SeekCurrent)
	if err != nil {
		return m, err
	}
	m.packed, w.end = end-w.end, end
	m.SHA256, m.crc = [32]byte(sum.Sum(nil)), crc.Sum32()
	if m.Size > mostSize || end > mostSize {
		return m, errors.New("larger than 4 GiB, which this format does not hold")
	}
	return m, nil
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

// Close writes the members by name, the directory and the signature.
func (w *Writer) Close(k *Key) (Sealed, error) {
	defer w.Abandon()
	if len(w.members) > 1<<16-2 {
		return Sealed{}, errors.New("pack: more than 65,534 members, which this format does not hold")
	}
	sort.Slice(w.members, func(i, j int) bool { return w.members[i].Name < w.members[j].Name })
	for i := range w.members {
		if err := w.place(&w.members[i]); err != nil {
			return Sealed{}, fmt.Errorf("pack: member %s: %w", w.members[i].Name, err)
		}
	}
	offset := w.n
	var dir bytes.Buffer
	for i := range w.members {
		dir.Write(w.members[i].central())
	}
	if offset+int64(dir.Len()) > mostSize {
		return Sealed{}, errors.New("pack: larger than 4 GiB, which this format does not hold")
	}
	if err := w.write(append(dir.Bytes(), end(len(w.members), int64(dir.Len()), offset)...)); err != nil {
		return Sealed{}, fmt.Errorf("pack: %w", err)
	}
	if err := w.write(comment(k, w.sum.Sum(nil))); err != nil {
		return Sealed{}, fmt.Errorf("pack: %w", err)
	}
	return Sealed{Bytes: w.n, SHA256: [32]byte(w.sum.Sum(nil)), Members: len(w.members)}, nil
}

// place writes a member's header and its bytes from the spool.
func (w *Writer) place(m *Member) error {
	m.offset = w.n
	if err := w.write(m.local()); err != nil {
		return err
	}
	_, err := io.Copy(writeFunc(w.write), io.NewSectionReader(w.spool, m.at, m.packed))
	return err
}
