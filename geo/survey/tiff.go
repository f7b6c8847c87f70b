package survey

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"slices"

	"golang.org/x/image/tiff/lzw"
)

// isTIFF reports whether a file is a TIFF or BigTIFF.
func isTIFF(data []byte) bool {
	for _, mark := range []string{"II*\x00", "MM\x00*", "II+\x00", "MM\x00+"} {
		if bytes.HasPrefix(data, []byte(mark)) {
			return true
		}
	}
	return false
}

// Tags of the Tagged Image File Format. Source: TIFF 6.0 (1992), section 8
// and the tags of part 3; GeoTIFF tags from OGC 19-008r4, chapter 7.
const (
	tagWidth           = 256
	tagHeight          = 257
	tagBits            = 258
	tagCompression     = 259
	tagStripOffsets    = 273
	tagSamples         = 277
	tagRowsPerStrip    = 278
	tagStripBytes      = 279
	tagPlanar          = 284
	tagPredictor       = 317
	tagTileWidth       = 322
	tagTileHeight      = 323
	tagTileOffsets     = 324
	tagTileBytes       = 325
	tagSampleFormat    = 339
	tagPixelScale      = 33550
	tagTiePoint        = 33922
	tagTransformation  = 34264
	tagGeoKeys         = 34735
	tagGeoASCII        = 34737
	tagNoData          = 42113
	sampleUnsigned     = 1
	sampleSigned       = 2
	sampleFloat        = 3
	maxTagValues       = 1 << 24
	predictorNone      = 1
	predictorDifferent = 2
	predictorFloat     = 3
)

// tiffFile is the first picture of a TIFF file.
type tiffFile struct {
	name  string
	data  []byte
	order binary.ByteOrder
	big   bool
	tags  map[uint16]tiffTag
}

type tiffTag struct {
	kind  uint16
	count uint64
	value []byte // all of it, in the file's byte order
}

// tiffSizes are the bytes of one value by type. Source: TIFF 6.0, section 2;
// types 16 to 18 are BigTIFF's.
var tiffSizes = map[uint16]uint64{1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4, 16: 8, 17: 8, 18: 8}

func (f *tiffFile) fault(format string, args ...any) error {
	return fileErr(f.name, ErrFormat, format, args...)
}

// slice returns n bytes from an offset, or nil when the file is too short.
func (f *tiffFile) slice(from, n uint64) []byte {
	if size := uint64(len(f.data)); from > size || n > size-from {
		return nil
	}
	return f.data[from : from+n]
}

// openTIFF reads the first directory.
func openTIFF(data []byte, name string) (*tiffFile, error) {
	f := &tiffFile{name: name, data: data, order: binary.LittleEndian, tags: map[uint16]tiffTag{}}
	if data[0] == 'M' {
		f.order = binary.BigEndian
	}
	if len(data) < 16 {
		return nil, f.fault("the file ends in its header")
	}
	f.big = f.order.Uint16(data[2:]) == 43
	at, head, entry, inline := uint64(f.order.Uint32(data[4:])), uint64(2), uint64(12), uint64(4)
	if f.big {
		at, head, entry, inline = f.order.Uint64(data[8:]), 8, 20, 8
	}
	b := f.slice(at, head)
	if b == nil {
		return nil, f.fault("the directory lies beyond the end of the file; was it cut off?")
	}
	n := uint64(f.order.Uint16(b))
	if f.big {
		n = f.order.Uint64(b)
	}
	if n > 4096 {
		return nil, f.fault("a directory of %d tags", n)
	}
	if b = f.slice(at+head, n*entry); b == nil {
		return nil, f.fault("the directory is cut off")
	}
	for ; len(b) > 0; b = b[entry:] {
		t := tiffTag{kind: f.order.Uint16(b[2:]), count: uint64(f.order.Uint32(b[4:]))}
		value := b[8:]
		if f.big {
			t.count, value = f.order.Uint64(b[4:]), b[12:]
		}
		size, known := tiffSizes[t.kind]
		if !known || t.count > maxTagValues {
			continue
		}
		if size *= t.count; size <= inline {
			t.value = value[:size]
		} else {
			from := uint64(f.order.Uint32(value))
			if f.big {
				from = f.order.Uint64(value)
			}
			if t.value = f.slice(from, size); t.value == nil {
				return nil, f.fault("tag %d points beyond the end of the file; was it cut off?", f.order.Uint16(b))
			}
		}
		f.tags[f.order.Uint16(b)] = t
	}
	return f, nil
}

// whole returns a tag's values as whole numbers.
func (f *tiffFile) whole(tag uint16) []uint64 {
	t := f.tags[tag]
	out := make([]uint64, 0, t.count)
	for i := uint64(0); i < t.count; i++ {
		switch t.kind {
		case 1:
			out = append(out, uint64(t.value[i]))
		case 3:
			out = append(out, uint64(f.order.Uint16(t.value[2*i:])))
		case 4, 13:
			out = append(out, uint64(f.order.Uint32(t.value[4*i:])))
		case 16, 18:
			out = append(out, f.order.Uint64(t.value[8*i:]))
		}
	}
	return out
}

// one returns a tag's single value, def without the tag.
func (f *tiffFile) one(tag uint16, def uint64) uint64 {
	if v := f.whole(tag); len(v) > 0 {
		return v[0]
	}
	return def
}

// reals returns a tag's values as double precision numbers.
func (f *tiffFile) reals(tag uint16) []float64 {
	t := f.tags[tag]
	if t.kind != 12 {
		return nil
	}
	out := make([]float64, t.count)
	for i := range out {
		out[i] = math.Float64frombits(f.order.Uint64(t.value[8*i:]))
	}
	return out
}

func (f *tiffFile) text(tag uint16) string {
	return string(bytes.TrimRight(f.tags[tag].value, "\x00 "))
}

// layout is how the picture's values lie in the file.
type tiffLayout struct {
	width, height    int
	blockW, blockH   int
	tiled            bool // blocks are whole at the rim too
	offsets, lengths []uint64
	bytes            int // of one value
	format           uint64
	compression      uint64
	predictor        uint64
}

// layout checks that the picture is one this reader knows.
func (f *tiffFile) layout() (*tiffLayout, error) {
	w, h := f.one(tagWidth, 0), f.one(tagHeight, 0)
	if w == 0 || h == 0 || w > maxCells || h > maxCells || w*h > maxCells {
		return nil, f.fault("%d columns by %d rows: from 1, together at most %d cells", w, h, maxCells)
	}
	l := &tiffLayout{width: int(w), height: int(h), format: f.one(tagSampleFormat, sampleUnsigned), compression: f.one(tagCompression, 1), predictor: f.one(tagPredictor, predictorNone)}
	if n := f.one(tagSamples, 1); n != 1 {
		return nil, f.fault("%d bands, where a terrain model has one; it is a photograph, or export the level band alone", n)
	}
	bits := f.one(tagBits, 1)
	switch {
	case l.format == sampleFloat && (bits == 32 || bits == 64), l.format == sampleSigned && (bits == 16 || bits == 32), l.format == sampleUnsigned && (bits == 16 || bits == 32):
		l.bytes = int(bits / 8)
	default:
		return nil, f.fault("values of %d bits in sample format %d are not read; export 32-bit floating point or 16-bit whole numbers", bits, l.format)
	}
	if l.predictor > predictorFloat || l.predictor == predictorFloat && l.format != sampleFloat || l.predictor == predictorDifferent && l.format == sampleFloat {
		return nil, f.fault("predictor %d with sample format %d is not read; export without predictor", l.predictor, l.format)
	}
	l.offsets, l.lengths = f.whole(tagTileOffsets), f.whole(tagTileBytes)
	l.blockW, l.blockH = int(min(f.one(tagTileWidth, 0), 1<<20)), int(min(f.one(tagTileHeight, 0), 1<<20))
	if l.tiled = len(l.offsets) > 0; !l.tiled {
		l.offsets, l.lengths = f.whole(tagStripOffsets), f.whole(tagStripBytes)
		l.blockW, l.blockH = l.width, int(min(f.one(tagRowsPerStrip, h), h))
	}
	if l.blockW < 1 || l.blockH < 1 {
		return nil, f.fault("the size of its tiles or strips is missing")
	}
	across, down := (l.width+l.blockW-1)/l.blockW, (l.height+l.blockH-1)/l.blockH
	if len(l.offsets) != len(l.lengths) || len(l.offsets) != across*down || l.blockW*l.blockH > maxCells {
		return nil, f.fault("%d tiles or strips where %d are needed", len(l.offsets), across*down)
	}
	return l, nil
}

// values returns all values, northern row first as in the file. mark is the
// no-data value; a block of no length is empty.
func (f *tiffFile) values(l *tiffLayout) ([]float64, error) {
	// What is packed can grow a thousandfold at most: a header cannot make us
	// allocate more than the file is worth.
	if uint64(l.width)*uint64(l.height)*uint64(l.bytes) > 2048*uint64(len(f.data))+1<<20 {
		return nil, f.fault("%d by %d values in a file of %d bytes; was it cut off?", l.width, l.height, len(f.data))
	}
	out := make([]float64, l.width*l.height)
	for i := range out {
		out[i] = math.NaN()
	}
	across := (l.width + l.blockW - 1) / l.blockW
	for i, at := range l.offsets {
		x0, y0 := i%across*l.blockW, i/across*l.blockH
		rows := l.blockH
		if !l.tiled {
			rows = min(rows, l.height-y0)
		}
		if l.lengths[i] == 0 {
			continue
		}
		packed := f.slice(at, l.lengths[i])
		if packed == nil {
			return nil, f.fault("block %d lies beyond the end of the file; was it cut off?", i+1)
		}
		raw, err := l.unpack(packed, rows*l.blockW*l.bytes)
		if err != nil {
			return nil, f.fault("block %d: %v", i+1, err)
		}
		for y := range min(rows, l.height-y0) {
			line := raw[y*l.blockW*l.bytes : (y+1)*l.blockW*l.bytes]
			order := l.undo(line, f.order)
			for x := range min(l.blockW, l.width-x0) {
				out[(y0+y)*l.width+x0+x] = l.value(line[x*l.bytes:], order)
			}
		}
	}
	return out, nil
}

// unpack returns exactly n bytes of a block.
func (l *tiffLayout) unpack(packed []byte, n int) ([]byte, error) {
	var r io.Reader
	switch l.compression {
	case 1:
		r = bytes.NewReader(packed)
	case 5:
		z := lzw.NewReader(bytes.NewReader(packed), lzw.MSB, 8)
		defer func() { _ = z.Close() }()
		r = z
	case 8, 32946:
		z, err := zlib.NewReader(bytes.NewReader(packed))
		if err != nil {
			return nil, fmt.Errorf("deflate: %w", err)
		}
		defer func() { _ = z.Close() }()
		r = z
	case 32773:
		r = bytes.NewReader(unpackBits(packed, n))
	default:
		return nil, fmt.Errorf("compression %d is not read; export it with LZW or Deflate, or without", l.compression)
	}
	raw := make([]byte, 0, min(n, 64*len(packed)+4096))
	buf := bytes.NewBuffer(raw)
	if _, err := io.Copy(buf, io.LimitReader(r, int64(n))); err != nil {
		return nil, fmt.Errorf("cannot be unpacked: %w", err)
	}
	if buf.Len() < n {
		return nil, fmt.Errorf("%d bytes where %d are needed; was the file cut off?", buf.Len(), n)
	}
	return slices.Clip(buf.Bytes()), nil
}

// unpackBits undoes run lengths. Source: TIFF 6.0, section 9.
func unpackBits(in []byte, n int) []byte {
	var out []byte
	for len(in) > 0 && len(out) < n {
		c := int(int8(in[0]))
		in = in[1:]
		switch {
		case c >= 0:
			k := min(c+1, len(in))
			out, in = append(out, in[:k]...), in[k:]
		case c != -128 && len(in) > 0:
			out, in = append(out, bytes.Repeat(in[:1], 1-c)...), in[1:]
		}
	}
	return out
}

// undo takes the predictor off one line and returns the byte order it is in then.
func (l *tiffLayout) undo(line []byte, order binary.ByteOrder) binary.ByteOrder {
	n := len(line) / l.bytes
	switch {
	case l.predictor == predictorDifferent && l.bytes == 2:
		for i := 1; i < n; i++ {
			order.PutUint16(line[2*i:], order.Uint16(line[2*i:])+order.Uint16(line[2*i-2:]))
		}
	case l.predictor == predictorDifferent && l.bytes == 4:
		for i := 1; i < n; i++ {
			order.PutUint32(line[4*i:], order.Uint32(line[4*i:])+order.Uint32(line[4*i-4:]))
		}
	case l.predictor == predictorFloat:
		// The bytes of all values stand by significance, highest first, as differences.
		for i := 1; i < len(line); i++ {
			line[i] += line[i-1]
		}
		planes := slices.Clone(line)
		for i := range n {
			for k := range l.bytes {
				line[i*l.bytes+k] = planes[k*n+i]
			}
		}
		return binary.BigEndian
	}
	return order
}

// value reads one value.
func (l *tiffLayout) value(b []byte, order binary.ByteOrder) float64 {
	switch {
	case l.format == sampleFloat && l.bytes == 8:
		return math.Float64frombits(order.Uint64(b))
	case l.format == sampleFloat:
		return float64(math.Float32frombits(order.Uint32(b)))
	case l.format == sampleSigned && l.bytes == 2:
		return float64(int16(order.Uint16(b)))
	case l.format == sampleSigned:
		return float64(int32(order.Uint32(b)))
	case l.bytes == 2:
		return float64(order.Uint16(b))
	}
	return float64(order.Uint32(b))
}
