package surface

import (
	"runtime"
	"sync"
	"sync/atomic"

	"github.com/swardbook/swardbook/geo/plan"
	"github.com/swardbook/swardbook/geo/tin"
)

// clipper cuts a surface's triangles at the edge of an area.
type clipper struct {
	s    *Surface
	tris [][3]tin.XY // of the area, relative to the surface's origin
	tree *tin.BoxTree
}

// clipped is the working memory for one triangle's pieces.
type clipped struct {
	found []int32
	store []tin.XY
	list  [][]tin.XY
}

func newClipper(s *Surface, area *plan.Polygon) *clipper {
	x0, y0, tris := area.Triangles()
	dx, dy := x0-s.x0, y0-s.y0
	c := &clipper{s: s, tris: make([][3]tin.XY, len(tris))}
	boxes := make([]tin.Box, len(tris))
	for i, t := range tris {
		b := tin.EmptyBox()
		for k, v := range t {
			w := tin.XY{X: v.X + dx, Y: v.Y + dy}
			c.tris[i][k] = w
			b = b.Extend(tin.Box{MinX: w.X, MinY: w.Y, MaxX: w.X, MaxY: w.Y})
		}
		boxes[i] = b
	}
	c.tree = tin.NewBoxTree(boxes)
	return c
}

// pieces returns the parts of triangle i inside the area as convex polygons,
// relative to the triangle's first corner. They are valid until the next call.
func (c *clipper) pieces(i int, w *clipped) [][]tin.XY {
	t := c.s.tri[i]
	at := c.s.p[t[0]]
	w.store, w.list = w.store[:0], w.list[:0]
	whole := [3]tin.XY{{}, local(c.s.p[t[1]], at), local(c.s.p[t[2]], at)}
	w.found = c.tree.Append(w.found[:0], c.s.boxes[i])
	if need := 6 * len(w.found); cap(w.store) < need {
		w.store = make([]tin.XY, 0, 2*need)
	}
	var buf, spare [9]tin.XY
	for _, k := range w.found {
		o := c.tris[k]
		poly := tin.ClipTriangle(whole[:], local(o[0], at), local(o[1], at), local(o[2], at), buf[:0], spare[:0])
		if len(poly) < 3 || tin.PolygonArea(poly) <= 0 {
			continue
		}
		from := len(w.store)
		w.store = append(w.store, poly...)
		w.list = append(w.list, w.store[from:len(w.store):len(w.store)])
	}
	return w.list
}

func local(p, at tin.XY) tin.XY { return tin.XY{X: p.X - at.X, Y: p.Y - at.Y} }

// overlay runs over the common ground of a surface and another, or a level
// plane, inside an area or not.
type overlay struct {
	a, b   *Surface // b nil: a level plane
	bp     []tin.XY // b's corners relative to a's origin
	dx, dy float64  // b's origin relative to a's
	dz     float64  // added to z(a) - z(b); both relative to their own origins
	same   bool     // a and b are the same triangles
	sign   float64  // -1 when a is the earlier surface
	clip   *clipper // nil: no area
	opts   CompareOptions
	above  []float64 // when set, per triangle of a: area with dz > 0 pieces
}

// chunk is the number of triangles handled together; results are added chunk
// by chunk in order, so that they do not depend on the number of cores.
const chunk = 4096

// run returns the sums over the whole overlay.
func (o *overlay) run() sums {
	order := o.a.tree.Order()
	chunks := (len(order) + chunk - 1) / chunk
	results := make([]sums, chunks)
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), chunks) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			w := &worker{overlay: o}
			for {
				k := int(next.Add(1)) - 1
				if k >= chunks {
					return
				}
				results[k] = w.chunk(order[k*chunk : min((k+1)*chunk, len(order))])
			}
		}()
	}
	wg.Wait()
	out := newSums(o.opts)
	for i := range results {
		out.merge(&results[i])
	}
	return out
}

// worker holds one goroutine's working memory.
type worker struct {
	*overlay
	sums  sums
	cand  []int32
	clip  clipped
	piece [12]tin.XY
	spare [12]tin.XY
	dzs   [12]float64
}

const group = 8 // neighbouring triangles that look for candidates together

func (w *worker) chunk(order []int32) sums {
	w.sums = newSums(w.opts)
	for len(order) > 0 {
		n := min(group, len(order))
		w.group(order[:n])
		order = order[n:]
	}
	return w.sums
}

func (w *worker) group(tris []int32) {
	if w.b != nil {
		box := tin.EmptyBox()
		for _, i := range tris {
			box = box.Extend(w.a.boxes[i])
		}
		box.MinX, box.MaxX, box.MinY, box.MaxY = box.MinX-w.dx, box.MaxX-w.dx, box.MinY-w.dy, box.MaxY-w.dy
		if w.cand = w.b.tree.Append(w.cand[:0], box); len(w.cand) == 0 {
			return
		}
	}
	for _, i := range tris {
		t := w.a.tri[i]
		if w.overlay.clip != nil {
			for _, poly := range w.overlay.clip.pieces(int(i), &w.clip) {
				w.against(int(i), t, poly)
			}
			continue
		}
		at := w.a.p[t[0]]
		whole := [3]tin.XY{{}, local(w.a.p[t[1]], at), local(w.a.p[t[2]], at)}
		w.against(int(i), t, whole[:])
	}
}

// against compares a convex part of triangle i with all it meets of the other
// surface. poly is relative to the triangle's first corner.
func (w *worker) against(i int, t [3]int32, poly []tin.XY) {
	pa := w.a.plane(t)
	at := pa.at
	pa.at = tin.XY{}
	if w.b == nil {
		flat := plane{}
		w.add(i, poly, &pa, &flat)
		return
	}
	box := w.a.boxes[i]
	box.MinX, box.MaxX, box.MinY, box.MaxY = box.MinX-w.dx, box.MaxX-w.dx, box.MinY-w.dy, box.MaxY-w.dy
	for _, j := range w.cand {
		if !w.b.boxes[j].Overlaps(box) || (w.same && int(j) != i) {
			continue
		}
		u := w.b.tri[j]
		b0, b1, b2 := local(w.bp[u[0]], at), local(w.bp[u[1]], at), local(w.bp[u[2]], at)
		piece := tin.ClipTriangle(poly, b0, b1, b2, w.piece[:0], w.spare[:0])
		if len(piece) < 3 {
			continue
		}
		pb := w.b.plane(u)
		pb.at = b0
		w.add(i, piece, &pa, &pb)
	}
}

// add takes in one convex piece over which dz is linear.
func (w *worker) add(i int, piece []tin.XY, pa, pb *plane) {
	for k, v := range piece {
		w.dzs[k] = w.sign * (pa.level(v) - pb.level(v) + w.dz)
	}
	p0, got := piece[0], false
	for k := 1; k+1 < len(piece); k++ {
		p, q := piece[k], piece[k+1]
		area := (float64((p.X-p0.X)*(q.Y-p0.Y)) - float64((p.Y-p0.Y)*(q.X-p0.X))) / 2
		if area <= 0 {
			continue
		}
		got = true
		w.sums.triangle(area, w.dzs[0], w.dzs[k], w.dzs[k+1])
		if w.above != nil && max(w.dzs[0], w.dzs[k], w.dzs[k+1]) > levelDust {
			w.above[i] += area
		}
	}
	if got {
		w.sums.pieces++
	}
}
