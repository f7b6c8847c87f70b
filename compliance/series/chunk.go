package series

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
)

// chunkVersion is the first byte of every chunk.
const chunkVersion = 1

// Bits of the second byte of a chunk.
const (
	regularTime = 1 << 0 // one step instead of a column of times
	allValid    = 1 << 1 // no column of marks
	knownBits   = regularTime | allValid
)

// ErrChunk is wrapped when bytes are no chunk.
var ErrChunk = errors.New("not a chunk of readings")

// Encode writes a block as a chunk:
//
//	byte     version, 1
//	byte     bits: 1 regular times, 2 all readings valid
//	byte     places
//	uvarint  readings n
//	uvarint  span, ms
//	if n > 0:
//	varint   first start, ms since 1970
//	regular: uvarint step, ms (0 for one reading)
//	else:    n-1 varints: change of the step from reading to reading, ms,
//	         the step before the first being 0
//	not all valid: runs of uvarint length, byte mark, until n are named
//	n varints: change of the coefficient from the last reading whose mark
//	         carries a value, 0 at first; 0 where the mark carries none
//
// A varint is zigzag, seven bits to a byte, as in encoding/binary. The import
// a block came with is not in the chunk: chunks are written before its seq is
// known.
func Encode(b *Block) []byte {
	n := b.Len()
	out := make([]byte, 0, 32+n*2)
	bits := byte(0)
	step, regular := b.step()
	if regular {
		bits |= regularTime
	}
	valid := true
	for _, m := range b.Mark {
		valid = valid && m == Valid
	}
	if valid {
		bits |= allValid
	}
	out = append(out, chunkVersion, bits, byte(b.Places))
	out = binary.AppendUvarint(out, uint64(n))
	out = binary.AppendUvarint(out, uint64(b.Span))
	if n == 0 {
		return out
	}
	out = binary.AppendVarint(out, b.Start[0])
	if regular {
		out = binary.AppendUvarint(out, uint64(step))
	} else {
		out = b.appendTimes(out)
	}
	if !valid {
		out = b.appendMarks(out)
	}
	last := int64(0)
	for i, c := range b.Coefficient {
		if !b.Mark[i].Counts() {
			out = append(out, 0)
			continue
		}
		out = binary.AppendVarint(out, c-last)
		last = c
	}
	return out
}

// step returns the constant step of the starts, if there is one.
func (b *Block) step() (int64, bool) {
	if len(b.Start) < 2 {
		return 0, true
	}
	step := b.Start[1] - b.Start[0]
	for i := 2; i < len(b.Start); i++ {
		if b.Start[i]-b.Start[i-1] != step {
			return 0, false
		}
	}
	return step, true
}

func (b *Block) appendTimes(out []byte) []byte {
	last := int64(0)
	for i := 1; i < len(b.Start); i++ {
		step := b.Start[i] - b.Start[i-1]
		out = binary.AppendVarint(out, step-last)
		last = step
	}
	return out
}

func (b *Block) appendMarks(out []byte) []byte {
	for i := 0; i < len(b.Mark); {
		j := i + 1
		for j < len(b.Mark) && b.Mark[j] == b.Mark[i] {
			j++
		}
		out = binary.AppendUvarint(out, uint64(j-i))
		out = append(out, byte(b.Mark[i]))
		i = j
	}
	return out
}

// Decode reads a chunk. Anything that Encode could not have meant wraps
// ErrChunk: unknown bits or marks, starts that do not ascend, bytes left
// over. Memory stays within some 20 bytes for each byte of data, since every
// reading takes at least one.
func Decode(data []byte) (*Block, error) {
	d := decoder{data: data}
	b, err := d.block()
	if err != nil {
		return nil, fmt.Errorf("%w: %s", ErrChunk, err)
	}
	return b, nil
}

type decoder struct {
	data []byte
	at   int
}

var (
	errCut     = errors.New("it is cut off")
	errNumber  = errors.New("a number is too long")
	errReading = errors.New("its counts do not agree")
)

func (d *decoder) block() (*Block, error) {
	if len(d.data) < 3 {
		return nil, errCut
	}
	version, bits, places := d.data[0], d.data[1], int8(d.data[2])
	d.at = 3
	if version != chunkVersion || bits&^knownBits != 0 || places < 0 || places > 18 {
		return nil, fmt.Errorf("version %d, bits %d, places %d are not known", version, bits, places)
	}
	n, err := d.uvarint()
	if err != nil {
		return nil, err
	}
	span, err := d.uvarint()
	if err != nil {
		return nil, err
	}
	if n > uint64(len(d.data)-d.at) || span > math.MaxInt64/2 {
		return nil, errReading
	}
	b := &Block{Span: int64(span), Places: places}
	if n > 0 {
		b.Start, b.Coefficient, b.Mark = make([]int64, n), make([]int64, n), make([]Mark, n)
		if err := d.columns(b, bits); err != nil {
			return nil, err
		}
	}
	if d.at != len(d.data) {
		return nil, errors.New("bytes are left over")
	}
	return b, nil
}

func (d *decoder) columns(b *Block, bits byte) error {
	first, err := d.varint()
	if err != nil {
		return err
	}
	b.Start[0] = first
	if bits&regularTime != 0 {
		err = d.regular(b)
	} else {
		err = d.times(b)
	}
	if err != nil {
		return err
	}
	if last := b.Start[len(b.Start)-1]; last > math.MaxInt64-b.Span {
		return errNumber
	}
	if bits&allValid == 0 {
		if err := d.marks(b); err != nil {
			return err
		}
	}
	return d.values(b)
}

func (d *decoder) regular(b *Block) error {
	step, err := d.uvarint()
	if err != nil {
		return err
	}
	n := uint64(len(b.Start))
	if n == 1 && step != 0 || n > 1 && (step == 0 || step > math.MaxInt64) {
		return errReading
	}
	for i := 1; i < len(b.Start); i++ {
		b.Start[i] = b.Start[i-1] + int64(step)
		if b.Start[i] < b.Start[i-1] {
			return errNumber
		}
	}
	return nil
}

func (d *decoder) times(b *Block) error {
	step := int64(0)
	for i := 1; i < len(b.Start); i++ {
		change, err := d.varint()
		if err != nil {
			return err
		}
		step += change
		b.Start[i] = b.Start[i-1] + step
		if step <= 0 || b.Start[i] < b.Start[i-1] {
			return errors.New("its starts do not ascend")
		}
	}
	return nil
}

func (d *decoder) marks(b *Block) error {
	for i := 0; i < len(b.Mark); {
		run, err := d.uvarint()
		if err != nil {
			return err
		}
		if d.at == len(d.data) {
			return errCut
		}
		mark := Mark(d.data[d.at])
		d.at++
		if run == 0 || run > uint64(len(b.Mark)-i) || !mark.known() {
			return errReading
		}
		for end := i + int(run); i < end; i++ {
			b.Mark[i] = mark
		}
	}
	return nil
}

func (d *decoder) values(b *Block) error {
	last := int64(0)
	for i := range b.Coefficient {
		var change int64
		if d.at < len(d.data) && d.data[d.at] < 0x80 {
			u := d.data[d.at]
			change = int64(u>>1) ^ -int64(u&1)
			d.at++
		} else {
			var err error
			if change, err = d.varint(); err != nil {
				return err
			}
		}
		if !b.Mark[i].Counts() {
			if change != 0 {
				return errReading
			}
			continue
		}
		last += change
		b.Coefficient[i] = last
	}
	return nil
}

func (d *decoder) varint() (int64, error) {
	v, n := binary.Varint(d.data[d.at:])
	return v, d.pass(n)
}

func (d *decoder) uvarint() (uint64, error) {
	v, n := binary.Uvarint(d.data[d.at:])
	return v, d.pass(n)
}

func (d *decoder) pass(n int) error {
	switch {
	case n == 0:
		return errCut
	case n < 0:
		return errNumber
	}
	d.at += n
	return nil
}
