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
	SHA256 [32]byte // of the content; set by Add and Stream only

	crc    uint32
	packed int64
	offset int64 // in the pack
	method uint16

	from *os.File // while writing: where the packed bytes wait
	at   int64    // and from which byte
}

// Sealed says what was written.
type Sealed struct {
	Bytes   int64
	SHA256  [32]byte // of the whole file
	Members int
}

// Writer writes a pack. Members may come in any order: they stand in the pack
// by their names, so that one content has one form. It is not safe for
// concurrent use.
type Writer struct {
	out     io.Writer
	dir     string
	sum     hash.Hash
	n       int64
	members []Member
	names   map[string]bool
	temp    []*os.File // the first is the spool of what Add takes
	end     int64      // of the spool
	z       *flate.Writer
}

// NewWriter begins a pack. Members wait deflated in temporary files in dir
// ("" = the system's) until Close, so that memory does not grow with them.
func NewWriter(out io.Writer, dir string) (*Writer, error) {
	w := &Writer{out: out, dir: dir, sum: sha256.New(), names: map[string]bool{}}
	if _, err := w.spool(); err != nil {
		return nil, err
	}
	var err error
	if w.z, err = flate.NewWriter(io.Discard, level); err != nil {
		w.Abandon()
		return nil, fmt.Errorf("pack: %w", err)
	}
	return w, nil
}

func (w *Writer) spool() (*os.File, error) {
	f, err := os.CreateTemp(w.dir, "pack-*.part")
	if err != nil {
		return nil, fmt.Errorf("pack: %w", err)
	}
	w.temp = append(w.temp, f)
	return f, nil
}

// Abandon gives the temporary files back. It may be called after Close.
func (w *Writer) Abandon() {
	for _, f := range w.temp {
		_ = f.Close()
		_ = os.Remove(f.Name())
	}
	w.temp = nil
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

// take holds a name for a member. A name that stands already, or could leave
// the folder it is unpacked in, is refused.
func (w *Writer) take(name string) error {
	if err := checkName(name); err != nil {
		return err
	}
	if w.names[name] {
		return fmt.Errorf("pack: member %q stands twice", name)
	}
	w.names[name] = true
	return nil
}

// Add takes one member whole.
func (w *Writer) Add(name string, content io.Reader) (Member, error) {
	if err := w.take(name); err != nil {
		return Member{}, err
	}
	s := &Stream{w: w, shared: true}
	err := s.begin(name, w.temp[0], w.end, w.z)
	if err == nil {
		_, err = io.Copy(s, content)
	}
	if err != nil {
		return Member{}, fmt.Errorf("pack: member %s: %w", name, err)
	}
	return s.finish()
}

// Create begins a member that is written bit by bit; several may be written at
// a time, beside Add. It is in the pack once it is closed.
func (w *Writer) Create(name string) (*Stream, error) {
	if err := w.take(name); err != nil {
		return nil, err
	}
	f, err := w.spool()
	if err != nil {
		return nil, err
	}
	z, err := flate.NewWriter(io.Discard, level)
	if err != nil {
		return nil, fmt.Errorf("pack: %w", err)
	}
	s := &Stream{w: w}
	return s, s.begin(name, f, 0, z)
}

// Stream is a member being written.
type Stream struct {
	Member Member // once closed

	w      *Writer
	out    *bufio.Writer
	z      *flate.Writer
	sum    hash.Hash
	shared bool // lies in the writer's own spool
}

func (s *Stream) begin(name string, f *os.File, at int64, z *flate.Writer) error {
	s.Member = Member{Name: name, method: deflated, from: f, at: at}
	if _, err := f.Seek(at, io.SeekStart); err != nil {
		return err
	}
	s.out, s.z, s.sum = bufio.NewWriterSize(f, 1<<16), z, sha256.New()
	z.Reset(s.out)
	return nil
}

// Write takes the next bytes of the member.
func (s *Stream) Write(b []byte) (int, error) {
	s.sum.Write(b)
	s.Member.crc = crc32.Update(s.Member.crc, crc32.IEEETable, b)
	s.Member.Size += int64(len(b))
	return s.z.Write(b)
}

// Close ends the member and puts it in the pack.
func (s *Stream) Close() error {
	_, err := s.finish()
	return err
}

func (s *Stream) finish() (Member, error) {
	m := &s.Member
	err := errors.Join(s.z.Close(), s.out.Flush())
	end, err2 := m.from.Seek(0, io.SeekCurrent)
	if err := errors.Join(err, err2); err != nil {
		return *m, fmt.Errorf("pack: member %s: %w", m.Name, err)
	}
	m.packed, m.SHA256 = end-m.at, [32]byte(s.sum.Sum(nil))
	if s.shared {
		s.w.end = end
	}
	if m.Size > mostSize || m.packed > mostSize {
		return *m, fmt.Errorf("pack: member %s is larger than 4 GiB, which this format does not hold", m.Name)
	}
	s.w.members = append(s.w.members, *m)
	return *m, nil
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
	if m.offset = w.n; m.offset > mostSize {
		return errors.New("it begins beyond 4 GiB, which this format does not hold")
	}
	if err := w.write(m.local()); err != nil {
		return err
	}
	_, err := io.Copy(writeFunc(w.write), io.NewSectionReader(m.from, m.at, m.packed))
	return err
}
