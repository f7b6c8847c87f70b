package tin

import (
	"math"
	"math/bits"
)

// nearGrid finds points within the snap distance by hashing square cells.
type nearGrid struct {
	snap, size float64
	heads      []int32 // last point in each bucket, -1 when empty
	chain      []int32 // per point: the one before it in its bucket
}

func newNearGrid(snap float64, expect int) *nearGrid {
	g := &nearGrid{snap: snap, size: max(2*snap, 1e-6), heads: make([]int32, 1<<bits.Len(uint(2*expect)))}
	for i := range g.heads {
		g.heads[i] = -1
	}
	return g
}

func (g *nearGrid) bucket(cx, cy int64) uint64 {
	k := (uint64(cx)*0x9E3779B97F4A7C15 ^ bits.RotateLeft64(uint64(cy)*0xC2B2AE3D27D4EB4F, 31)) * 0x9E3779B97F4A7C15
	return k >> 20 & uint64(len(g.heads)-1)
}

func (g *nearGrid) cell(v float64) int64 { return int64(math.Floor(v / g.size)) }

// add takes in point i of pts; points come in order of their index.
func (g *nearGrid) add(pts []Point, i int32) {
	b := g.bucket(g.cell(pts[i].X), g.cell(pts[i].Y))
	g.chain = append(g.chain, g.heads[b])
	g.heads[b] = i
}

// other returns a point other than i nearer to it than the snap distance, or
// -1. Points at exactly the same place are one.
func (g *nearGrid) other(pts []Point, i int32) (int32, float64) {
	p := pts[i]
	cx, cy := g.cell(p.X), g.cell(p.Y)
	for dx := int64(-1); dx <= 1; dx++ {
		for dy := int64(-1); dy <= 1; dy++ {
			for j := g.heads[g.bucket(cx+dx, cy+dy)]; j >= 0; j = g.chain[j] {
				d := math.Hypot(pts[j].X-p.X, pts[j].Y-p.Y)
				if j != i && d > 0 && d < g.snap {
					return j, d
				}
			}
		}
	}
	return -1, 0
}

// nearest returns the nearest point within the snap distance; of several as
// near, the first by coordinates.
func (g *nearGrid) nearest(pts []Point, p Point) (int32, bool) {
	best, bestD := int32(-1), math.Inf(1)
	cx, cy := g.cell(p.X), g.cell(p.Y)
	for dx := int64(-1); dx <= 1; dx++ {
		for dy := int64(-1); dy <= 1; dy++ {
			for i := g.heads[g.bucket(cx+dx, cy+dy)]; i >= 0; i = g.chain[i] {
				d := math.Hypot(pts[i].X-p.X, pts[i].Y-p.Y)
				if d > g.snap || d > bestD || (d == bestD && comparePoints(pts[best], pts[i]) <= 0) {
					continue
				}
				best, bestD = i, d
			}
		}
	}
	return best, best >= 0
}
