package seal

import (
	"bufio"
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"path"
	"strings"
	"unicode/utf8"

	"github.com/klauspost/compress/flate"
)

// ErrNotSealed is wrapped by every departure from the one form a pack has.
var ErrNotSealed = errors.New("not a sealed pack")

func odd(format string, args ...any) error {
	return fmt.Errorf("%w: %s", ErrNotSealed, fmt.Sprintf(format, args...))
}

// Reader is an opened pack. Every byte of the file is accounted for by Open:
// members without gap from the first byte, the directory, the comment.
type Reader struct {
	Members []Member
	Public  ed25519.PublicKey

	file      io.ReaderAt
	size      int64
	signature []byte
}

// Open reads a pack's directory strictly. A file that Writer could not have
// written is refused: odd headers, gaps, names twice or out of order, bytes
// after the comment. It does not check the signature; Signed does.
func Open(file io.ReaderAt, size int64) (*Reader, error) {
	r := &Reader{file: file, size: size}
	tail := int64(endSize + commentSize)
	if size < tail {
		return nil, odd("the file is too short")
	}
	b, err := r.read(size-tail, int(tail))
	if err != nil {
		return nil, err
	}
	if r.Public, r.signature, err = splitComment(b[endSize:]); err != nil {
		return nil, odd("%v", err)
	}
	le := binary.LittleEndian
	members, dirSize, dirAt := int(le.Uint16(b[10:])), int64(le.Uint32(b[12:])), int64(le.Uint32(b[16:]))
	if !bytes.Equal(b[:endSize], end(members, dirSize, dirAt)) || dirAt+dirSize+tail != size {
		return nil, odd("the end of the directory is not as it is written")
	}
	dir, err := r.read(dirAt, int(dirSize))
	if err != nil {
		return nil, err
	}
	return r, r.directory(dir, members, dirAt)
}

func (r *Reader) read(at int64, n int) ([]byte, error) {
	b := make([]byte, n)
	if _, err := r.file.ReadAt(b, at); err != nil && !(errors.Is(err, io.EOF) && at+int64(n) == r.size) {
		return nil, fmt.Errorf("reading the pack: %w", err)
	}
	return b, nil
}

func (r *Reader) directory(dir []byte, members int, dirAt int64) error {
	next, last := int64(0), ""
	for i := 0; i < members; i++ {
		m, n, err := parseCentral(dir)
		if err != nil {
			return err
		}
		if err := checkName(m.Name); err != nil {
			return odd("%v", err)
		}
		if i > 0 && m.Name <= last {
			return odd("member %q stands twice or out of order", m.Name)
		}
		if m.offset != next {
			return odd("member %s does not begin where the one before it ends", m.Name)
		}
		head := m.local()
		got, err := r.read(next, len(head))
		if err != nil {
			return err
		}
		if !bytes.Equal(got, head) {
			return odd("the header of member %s is not as the directory has it", m.Name)
		}
		next += int64(len(head)) + m.packed
		if next > dirAt {
			return odd("member %s runs into the directory", m.Name)
		}
		last = m.Name
		dir = dir[n:]
		r.Members = append(r.Members, m)
	}
	if next != dirAt || len(dir) != 0 {
		return odd("there are bytes that belong to no member")
	}
	return nil
}

func parseCentral(dir []byte) (Member, int, error) {
	if len(dir) < centralSize {
		return Member{}, 0, odd("the directory is cut short")
	}
	le := binary.LittleEndian
	n := centralSize + int(le.Uint16(dir[28:]))
	if len(dir) < n {
		return Member{}, 0, odd("the directory is cut short")
	}
	m := Member{
		Name: string(dir[centralSize:n]), method: le.Uint16(dir[10:]), crc: le.Uint32(dir[16:]),
		packed: int64(le.Uint32(dir[20:])), Size: int64(le.Uint32(dir[24:])), offset: int64(le.Uint32(dir[42:])),
	}
	if m.method != deflated || !bytes.Equal(dir[:n], m.central()) {
		return Member{}, 0, odd("the directory's entry of %q is not as it is written", m.Name)
	}
	return m, n, nil
}

func checkName(name string) error {
	switch {
	case name == "" || len(name) > 300 || !utf8.ValidString(name):
		return fmt.Errorf("member name %q is empty, too long or not UTF-8", name)
	case strings.ContainsAny(name, "\\\x00\n\r:") || path.IsAbs(name) || path.Clean(name) != name || name == "." || strings.HasPrefix(name, ".."):
		return fmt.Errorf("member name %q could leave the folder it is unpacked in", name)
	}
	return nil
}

// Signed checks the signature over the whole file, reading it once.
func (r *Reader) Signed() error {
	sum := sha256.New()
	if _, err := io.Copy(sum, io.NewSectionReader(r.file, 0, r.size-int64(commentSize))); err != nil {
		return fmt.Errorf("reading the pack: %w", err)
	}
	if !ed25519.Verify(r.Public, message(sum.Sum(nil)), r.signature) {
		return odd("the signature does not fit the bytes before it")
	}
	return nil
}

// Member returns the member of that name; false when there is none.
func (r *Reader) Member(name string) (*Member, bool) {
	for i := range r.Members {
		if r.Members[i].Name == name {
			return &r.Members[i], true
		}
	}
	return nil, false
}

// Content opens a member. Reading to the end fails where size or checksum do
// not fit, or where bytes are left over.
func (r *Reader) Content(m *Member) io.ReadCloser {
	raw := &countReader{r: io.NewSectionReader(r.file, m.offset+int64(localSize+len(m.Name)), m.packed)}
	buffered := bufio.NewReaderSize(raw, 1<<15)
	return &content{m: m, raw: raw, buffered: buffered, z: flate.NewReader(buffered)}
}

// countReader counts what is taken from the file.
type countReader struct {
	r io.Reader
	n int64
}

func (c *countReader) Read(b []byte) (int, error) {
	n, err := c.r.Read(b)
	c.n += int64(n)
	return n, err
}

type content struct {
	m        *Member
	raw      *countReader
	buffered *bufio.Reader // the inflater takes from it no more than it needs
	z        io.ReadCloser
	n        int64
	crc      uint32
	err      error
}

func (c *content) Read(b []byte) (int, error) {
	if c.err != nil {
		return 0, c.err
	}
	n, err := c.z.Read(b)
	c.n += int64(n)
	c.crc = crc32.Update(c.crc, crc32.IEEETable, b[:n])
	used := c.raw.n - int64(c.buffered.Buffered())
	switch {
	case c.n > c.m.Size:
		err = odd("member %s is longer than it says", c.m.Name)
	case err == io.EOF && (c.n != c.m.Size || c.crc != c.m.crc || used != c.m.packed):
		err = odd("member %s does not have the size or checksum it says", c.m.Name)
	case err != nil && err != io.EOF:
		err = odd("member %s: %v", c.m.Name, err)
	}
	c.err = err
	return n, err
}

func (c *content) Close() error { return c.z.Close() }
