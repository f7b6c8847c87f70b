package survey

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
)

// Classes of LAS points that are kept unless others are asked for: 2, ground.
// Source: LAS 1.4 R15, table 17 (ASPRS).
const lasGround = 2

// lasRecord is the least length of a point record by format. Source: LAS 1.4
// R15, section 2.6 (from memory; format 3 and 10 checked against files).
var lasRecord = [11]int{20, 28, 26, 34, 57, 63, 30, 36, 38, 59, 67}

// lasHeader is what the public header block says.
type lasHeader struct {
	minor, format int
	record        int
	offset, count uint64
	scale, origin [3]float64
	size, vlrs    int
	globalWKT     bool
	text          []byte
	keys          geoKeys
	system        string
}

// readLAS reads the points of a LAS 1.0 to 1.4 point cloud whose class is
// asked for, ground by default; withheld and synthetic points are left out.
// Source: LAS 1.4 R15 (ASPRS), sections 2.4 to 2.6.
func readLAS(data []byte, name string, opts Options) (*Survey, error) {
	h, err := lasOpen(data, name)
	if err != nil {
		return nil, err
	}
	s := &Survey{Name: name, Format: FormatLAS, System: h.system}
	stated, err := h.keys.units()
	if err != nil {
		return nil, fileErr(name, ErrFormat, "%v", err)
	}
	if s.Degrees = h.keys.geographic(); s.Degrees {
		s.Unit = Metre
	} else if err := s.settleUnit(stated, opts.Unit); err != nil {
		return nil, err
	}
	want := opts.Classes
	if len(want) == 0 {
		want = []int{lasGround}
	}
	var wanted [256]bool
	for _, c := range want {
		if c < 0 || c > 255 {
			return nil, fmt.Errorf("%s: class %d: classes are 0 to 255", name, c)
		}
		wanted[c] = true
	}
	metres, err := metresPer(s.Unit)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	thin := newThinner(opts.ThinM / metres)
	counts, left := map[int]int{}, 0
	rows := data[h.offset:]
	for i := range int(h.count) {
		b := rows[i*h.record : (i+1)*h.record]
		class, flags := int(b[15]&31), b[15]>>5 // synthetic 1, key point 2, withheld 4
		if h.format >= 6 {
			class, flags = int(b[16]), b[15]&7
		}
		counts[class]++
		if flags&1 != 0 || flags&4 != 0 {
			left++
			continue
		}
		if !wanted[class] {
			continue
		}
		p := Point{Code: "", Row: i + 1}
		for k, v := range [3]*float64{&p.E, &p.N, &p.Level} {
			*v = float64(float64(int32(binary.LittleEndian.Uint32(b[4*k:])))*h.scale[k]) + h.origin[k]
		}
		if thin.take(&s.Points, p); len(s.Points) > opts.maxRows() {
			return nil, fileErr(name, ErrTooLarge, "more than %d points; thin them out", opts.maxRows())
		}
	}
	s.note("points by class: %s", countsByClass(counts))
	if left > 0 {
		s.note("%d points are marked withheld or synthetic and left out", left)
	}
	s.Part = "class " + strings.Trim(strings.ReplaceAll(fmt.Sprint(want), " ", ", "), "[]")
	return s.finish("no point is of " + s.Part + "; choose others: " + countsByClass(counts))
}

func countsByClass(counts map[int]int) string {
	var out []string
	for _, c := range slices.Sorted(maps.Keys(counts)) {
		out = append(out, fmt.Sprintf("%d: %d", c, counts[c]))
	}
	return strings.Join(out, ", ")
}

// lasOpen reads and checks the header and the records after it.
func lasOpen(data []byte, name string) (*lasHeader, error) {
	fault := func(format string, args ...any) error { return fileErr(name, ErrFormat, format, args...) }
	le := binary.LittleEndian
	if len(data) < 227 {
		return nil, fault("the file ends in its header; was it cut off?")
	}
	h := &lasHeader{minor: int(data[25]), size: int(le.Uint16(data[94:])), vlrs: int(min(le.Uint32(data[100:]), 1<<16)), offset: uint64(le.Uint32(data[96:])),
		format: int(data[104] & 63), record: int(le.Uint16(data[105:])), count: uint64(le.Uint32(data[107:])), globalWKT: data[6]&16 != 0}
	switch {
	case data[24] != 1 || h.minor > 4:
		return nil, fault("LAS version %d.%d is not read; read are 1.0 to 1.4", data[24], data[25])
	case data[104]&128 != 0:
		return nil, fault("the points are compressed (LAZ); unpack the file to LAS first")
	case h.format >= len(lasRecord):
		return nil, fault("point format %d is not known", h.format)
	case h.record < lasRecord[h.format]:
		return nil, fault("point records of %d bytes, where format %d needs %d", h.record, h.format, lasRecord[h.format])
	}
	if h.minor == 4 && h.size >= 375 && len(data) >= 255 {
		if n := le.Uint64(data[247:]); n > 0 {
			h.count = n
		}
	}
	for k := range 3 {
		h.scale[k], h.origin[k] = math.Float64frombits(le.Uint64(data[131+8*k:])), math.Float64frombits(le.Uint64(data[155+8*k:]))
		if !(h.scale[k] > 0) || h.scale[k] > 1000 || !(math.Abs(h.origin[k]) <= 1e11) {
			return nil, fault("scale %v and offset %v of axis %d cannot be", h.scale[k], h.origin[k], k+1)
		}
	}
	if size := uint64(len(data)); h.offset < uint64(h.size) || h.offset > size || h.count > (size-h.offset)/uint64(h.record) {
		return nil, fault("the header promises %d points of %d bytes from byte %d, the file has %d bytes; was it cut off?", h.count, h.record, h.offset, len(data))
	}
	h.records(data[min(h.size, len(data)):h.offset])
	h.system = h.keys.system()
	if h.globalWKT || h.system == "" {
		h.system = firstOf(wktName(h.text), h.system)
	}
	return h, nil
}

// records reads the variable length records for the reference system.
func (h *lasHeader) records(b []byte) {
	le := binary.LittleEndian
	var keys []uint64
	ascii := ""
	for range h.vlrs {
		if len(b) < 54 {
			break
		}
		user, id, n := string(bytes.TrimRight(b[2:18], "\x00")), le.Uint16(b[18:]), int(le.Uint16(b[20:]))
		if b = b[54:]; n > len(b) {
			break
		}
		switch {
		case user == "LASF_Projection" && id == tagGeoKeys:
			for v := range slices.Chunk(b[:n-n%2], 2) {
				keys = append(keys, uint64(le.Uint16(v)))
			}
		case user == "LASF_Projection" && id == tagGeoASCII:
			ascii = string(b[:n])
		case user == "LASF_Projection" && id == 2112:
			h.text = b[:n]
		}
		b = b[n:]
	}
	h.keys = readGeoKeys(keys, ascii)
}

// wktName returns the name that stands first in a text of a reference system.
func wktName(b []byte) string {
	_, after, ok := strings.Cut(string(b), `"`)
	if !ok {
		return ""
	}
	name, _, ok := strings.Cut(after, `"`)
	if !ok {
		return ""
	}
	return toText([]byte(name[:min(len(name), 200)]))
}

// thinner keeps the point nearest to the middle of each square, of equal ones
// the lower, so that the outcome does not depend on the order of the points.
type thinner struct {
	side float64
	at   map[[2]int64]int
}

func newThinner(side float64) *thinner {
	if !(side > 0) {
		return &thinner{}
	}
	return &thinner{side: side, at: map[[2]int64]int{}}
}

// take adds a point to the list, or puts it in the place of the one kept, or
// leaves it.
func (t *thinner) take(pts *[]Point, p Point) {
	if t.at == nil {
		*pts = append(*pts, p)
		return
	}
	cell := [2]int64{int64(math.Floor(p.E / t.side)), int64(math.Floor(p.N / t.side))}
	off := func(q *Point) float64 {
		return math.Hypot(q.E-(float64(cell[0])+0.5)*t.side, q.N-(float64(cell[1])+0.5)*t.side)
	}
	i, taken := t.at[cell]
	if !taken {
		t.at[cell] = len(*pts)
		*pts = append(*pts, p)
		return
	}
	q := &(*pts)[i]
	a, b := off(&p), off(q)
	if a < b || a == b && (p.Level < q.Level || p.Level == q.Level && comparePoints(&p, q) < 0) {
		*q = p
	}
}
