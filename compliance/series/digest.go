package series

import (
	"crypto/sha256"
	"encoding/binary"
	"slices"

	"github.com/swardbook/swardbook/compliance/unit"
)

// digestHead opens the bytes that are hashed.
const digestHead = "swardbook/readings/1\n"

// Digest returns the number of readings and the SHA-256 over them, by which
// an import commits to its result. The bytes hashed are the ASCII text
// "swardbook/readings/1\n" and then, for each reading of whatever mark in
// order of start, 26 bytes:
//
//	8  start, ms since 1970-01-01T00:00:00Z, two's complement, big endian
//	8  span, ms, the same
//	1  mark
//	1  places
//	8  coefficient, two's complement, big endian
//
// The value is written without trailing zeros: coefficient and places are
// brought down until the coefficient is no multiple of ten or places is 0; a
// coefficient of 0 has places 0, and so has every reading whose mark carries
// no value. The digest therefore depends on the readings alone, not on how
// they are cut into blocks, nor on the places a block gives them, nor on the
// import. Blocks may come in any order and must not overlap in time.
func Digest(blocks []*Block) (count int64, sha [32]byte) {
	ordered := slices.DeleteFunc(slices.Clone(blocks), func(b *Block) bool { return b.Len() == 0 })
	slices.SortStableFunc(ordered, func(a, b *Block) int {
		switch {
		case a.Start[0] < b.Start[0]:
			return -1
		case a.Start[0] > b.Start[0]:
			return 1
		}
		return 0
	})
	h := sha256.New()
	buf := append(make([]byte, 0, 4096+26), digestHead...)
	for _, b := range ordered {
		for i, start := range b.Start {
			var d unit.Decimal
			if b.Mark[i].Counts() {
				d = decimal(b.Coefficient[i], b.Places).Trim()
			}
			buf = binary.BigEndian.AppendUint64(buf, uint64(start))
			buf = binary.BigEndian.AppendUint64(buf, uint64(b.Span))
			buf = append(buf, byte(b.Mark[i]), byte(d.Places))
			buf = binary.BigEndian.AppendUint64(buf, uint64(d.Coefficient))
			if len(buf) >= 4096 {
				h.Write(buf)
				buf = buf[:0]
			}
		}
		count += int64(b.Len())
	}
	h.Write(buf)
	h.Sum(sha[:0])
	return count, sha
}

// decimal makes a decimal of what a block holds.
func decimal(coefficient int64, places int8) unit.Decimal {
	return unit.Decimal{Coefficient: coefficient, Places: places}
}

// Value returns reading i as a decimal; of a mark that carries no value it
// is 0.
func (b *Block) Value(i int) unit.Decimal { return decimal(b.Coefficient[i], b.Places) }
