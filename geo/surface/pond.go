package surface

import (
	"cmp"
	"container/heap"
	"math"
	"slices"

	"github.com/swardbook/swardbook/geo/plan"
	"github.com/swardbook/swardbook/geo/tin"
)

// Pond is a closed hollow of the surface: water in it rises to the level of
// the lowest way out and no further.
type Pond struct {
	SpillLevelM float64 // level at which it runs over, metres
	DepthM      float64 // from there to the deepest place
	AreaM2      float64 // plan area of the water
	VolumeM3    float64
	E, N        float64 // the deepest place
}

// Ponds returns the closed hollows that are at least leastDepthM deep, the
// deepest place inside within when given, deepest first. Over the edge of the
// surface, and into holes in it, water runs off. Exact for the triangles: the
// lowest way over a surface of triangles leads along their edges.
//
// Source: the flooding from the rim inward by a queue of levels is common
// practice of terrain analysis, from memory.
func (s *Surface) Ponds(leastDepthM float64, within *plan.Polygon) []Pond {
	o := s.sides()
	water := s.flood(o)
	label := s.labelPonds(o, water)
	ponds, sum := s.pondSums(o, water, label)
	out := ponds[:0]
	for i, p := range ponds {
		p.AreaM2, p.VolumeM3 = sum[i].fillArea.value(), sum[i].fill.value()
		if p.DepthM < leastDepthM || within != nil && !within.Contains(p.E, p.N) {
			continue
		}
		out = append(out, p)
	}
	slices.SortFunc(out, func(a, b Pond) int {
		return cmp.Or(cmp.Compare(b.DepthM, a.DepthM), cmp.Compare(a.E, b.E), cmp.Compare(a.N, b.N))
	})
	return out
}

// links lists the corners joined to each welded corner.
func (s *Surface) links(o *sides) (from, list []int32) {
	from = make([]int32, len(s.p)+1)
	each := func(do func(a, b int32)) {
		for h := range o.twin {
			a, b := o.ends(s, int32(h))
			do(a, b)
			if o.twin[h] < 0 {
				do(b, a)
			}
		}
	}
	each(func(a, _ int32) { from[a+1]++ })
	for i := range s.p {
		from[i+1] += from[i]
	}
	list = make([]int32, from[len(s.p)])
	at := slices.Clone(from)
	each(func(a, b int32) { list[at[a]] = b; at[a]++ })
	return from, list
}

// wet is a corner in the queue with its level of water.
type wet struct {
	level float64
	v     int32
}

type wetQueue []wet

func (q wetQueue) Len() int { return len(q) }
func (q wetQueue) Less(i, j int) bool {
	return q[i].level < q[j].level || q[i].level == q[j].level && q[i].v < q[j].v
}
func (q wetQueue) Swap(i, j int) { q[i], q[j] = q[j], q[i] }
func (q *wetQueue) Push(x any)   { *q = append(*q, x.(wet)) }
func (q *wetQueue) Pop() any {
	old := *q
	x := old[len(old)-1]
	*q = old[:len(old)-1]
	return x
}

// flood returns for each welded corner the level to which water would rise,
// its own level where it runs off.
func (s *Surface) flood(o *sides) []float64 {
	from, list := s.links(o)
	water := make([]float64, len(s.p))
	for i := range water {
		water[i] = math.NaN()
	}
	var q wetQueue
	for h := range o.twin {
		if o.twin[h] >= 0 {
			continue
		}
		a, b := o.ends(s, int32(h))
		for _, v := range [2]int32{a, b} {
			if math.IsNaN(water[v]) {
				water[v] = s.z[v]
				q = append(q, wet{s.z[v], v})
			}
		}
	}
	heap.Init(&q)
	for len(q) > 0 {
		w := heap.Pop(&q).(wet)
		for _, u := range list[from[w.v]:from[w.v+1]] {
			if math.IsNaN(water[u]) {
				water[u] = max(s.z[u], w.level)
				heap.Push(&q, wet{water[u], u})
			}
		}
	}
	return water
}

// labelPonds numbers the ponds; -1 for corners above water. Joined corners
// under water have one level: each can drain over the other.
func (s *Surface) labelPonds(o *sides, water []float64) []int32 {
	from, list := s.links(o)
	label := make([]int32, len(s.p))
	for i := range label {
		label[i] = -1
	}
	under := func(v int32) bool { return water[v] > s.z[v]+levelDust }
	next := int32(0)
	for v := range s.p {
		if o.id[v] != int32(v) || label[v] >= 0 || !under(int32(v)) {
			continue
		}
		stack := []int32{int32(v)}
		label[v] = next
		for len(stack) > 0 {
			w := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			for _, u := range list[from[w]:from[w+1]] {
				if label[u] < 0 && under(u) {
					label[u] = next
					stack = append(stack, u)
				}
			}
		}
		next++
	}
	return label
}

// pondSums gathers area and volume under water, triangle by triangle.
func (s *Surface) pondSums(o *sides, water []float64, label []int32) ([]Pond, []sums) {
	n := int32(0)
	for _, l := range label {
		n = max(n, l+1)
	}
	ponds, sum := make([]Pond, n), make([]sums, n)
	for i := range sum {
		sum[i] = newSums(CompareOptions{})
		ponds[i].DepthM = -1
	}
	for v, l := range label {
		if l < 0 {
			continue
		}
		if depth := water[v] - s.z[v]; depth > ponds[l].DepthM {
			ponds[l] = Pond{SpillLevelM: water[v] + s.z0, DepthM: depth, E: s.p[v].X + s.x0, N: s.p[v].Y + s.y0}
		}
	}
	for _, t := range s.tri {
		for _, v := range t {
			w := o.id[v]
			if l := label[w]; l >= 0 {
				level := water[w]
				sum[l].triangle(s.area(t), level-s.z[t[0]], level-s.z[t[1]], level-s.z[t[2]])
				break
			}
		}
	}
	return ponds, sum
}

// Fall is how the ground falls over an area.
type Fall struct {
	MeanRatio    float64 // of the mean gradient, rise over run
	DirectionDeg float64 // in which it falls, clockwise from grid north
	SteepestRise float64 // steepest triangle of at least LeastFaceM2, rise over run
}

// Falls returns the mean gradient of the surface inside an area, or of all of
// it: the gradient of the plane that rises and falls as the surface does on
// the whole. Opposite slopes take each other out.
func (s *Surface) Falls(within *plan.Polygon) (Fall, error) {
	var area, gx, gy total
	var f Fall
	take := func(t [3]int32, a float64) {
		pl := s.plane(t)
		area.add(a)
		gx.add(float64(a * pl.gx))
		gy.add(float64(a * pl.gy))
		if a >= LeastFaceM2 {
			f.SteepestRise = max(f.SteepestRise, math.Hypot(pl.gx, pl.gy))
		}
	}
	if within == nil {
		for _, t := range s.tri {
			take(t, s.area(t))
		}
	} else {
		c := newClipper(s, within)
		var w clipped
		for i, t := range s.tri {
			for _, poly := range c.pieces(i, &w) {
				take(t, tin.PolygonArea(poly))
			}
		}
	}
	if !(area.value() > 0) {
		return Fall{}, noOverlap(s, nil, within)
	}
	x, y := gx.value()/area.value(), gy.value()/area.value()
	if f.MeanRatio = math.Hypot(x, y); f.MeanRatio > 0 {
		f.DirectionDeg = math.Mod(math.Atan2(-x, -y)*180/math.Pi+360, 360)
	}
	return f, nil
}
