package survey

import (
	"math"
	"math/bits"
)

// placeIndex finds the point that holds a place, by hashing square cells into
// buckets chained through the points.
type placeIndex struct {
	reach, size float64
	heads       []int32
	chain       []int32         // per point: the one before it in its bucket
	stands      map[int32]int32 // holders replaced by another point
}

func newPlaceIndex(reach float64, n int) *placeIndex {
	x := &placeIndex{reach: reach, size: 2 * reach, heads: make([]int32, 1<<bits.Len(uint(2*n))),
		chain: make([]int32, n), stands: map[int32]int32{}}
	for i := range x.heads {
		x.heads[i] = -1
	}
	return x
}

func (x *placeIndex) cell(v float64) int64 { return int64(math.Floor(v / x.size)) }

func (x *placeIndex) bucket(ce, cn int64) uint64 {
	k := (uint64(ce)*0x9E3779B97F4A7C15 ^ bits.RotateLeft64(uint64(cn)*0xC2B2AE3D27D4EB4F, 31)) * 0x9E3779B97F4A7C15
	return k >> 20 & uint64(len(x.heads)-1)
}

func (x *placeIndex) add(pts []Point, i int32) {
	b := x.bucket(x.cell(pts[i].E), x.cell(pts[i].N))
	x.chain[i], x.heads[b] = x.heads[b], i
}

// replace lets point by hold the place of point was.
func (x *placeIndex) replace(was, by int32) { x.stands[was] = by }

// find returns the nearest holder within reach, or -1.
func (x *placeIndex) find(pts []Point, p *Point) int32 {
	best, bestD := int32(-1), math.Inf(1)
	ce, cn := x.cell(p.E), x.cell(p.N)
	for de := int64(-1); de <= 1; de++ {
		for dn := int64(-1); dn <= 1; dn++ {
			for i := x.heads[x.bucket(ce+de, cn+dn)]; i >= 0; i = x.chain[i] {
				d := math.Hypot(pts[i].E-p.E, pts[i].N-p.N)
				if d > x.reach || d > bestD || (d == bestD && comparePoints(&pts[best], &pts[i]) <= 0) {
					continue
				}
				best, bestD = i, d
			}
		}
	}
	for by, ok := x.stands[best]; ok; by, ok = x.stands[best] {
		best = by
	}
	return best
}
