package demo

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
)

// xy is a place on the site grid, metres.
type xy struct{ e, n float64 }

// natural is the level of the pasture before the works, metres above datum: a
// hillside falling to the south-east with a shallow hollow.
func natural(p xy) float64 {
	e, n := p.e-2000, p.n-5000
	slope := 312 + 0.058*n - 0.041*e
	waves := 0.55*math.Sin(e/46+0.3) + 0.42*math.Cos(n/39-0.8) + 0.18*math.Sin((e+2*n)/61)
	hollow := -1.3 * math.Exp(-(math.Pow(e-250, 2)+math.Pow(n-60, 2))/2200)
	return slope + waves + hollow
}

// disc is 1 in the middle of a round patch and falls smoothly to 0 at its rim.
func disc(p, middle xy, radius float64) float64 {
	d := math.Hypot(p.e-middle.e, p.n-middle.n) / radius
	if d >= 1 {
		return 0
	}
	return (1 + math.Cos(math.Pi*d)) / 2
}

// lowPatch is where the restored ground settled: 0.46 m low in its middle.
var lowPatch = struct {
	at            xy
	radius, depth float64
}{xy{2168, 5112}, 11, 0.46}

// restored is the ground as put back.
func restored(p xy) float64 {
	return natural(p) + 0.012 - lowPatch.depth*disc(p, lowPatch.at, lowPatch.radius)
}

// heap is a stockpile: a flat-topped mound over the ground.
type heap struct {
	area         ring
	height, face float64 // metres over the ground; rise over run of its faces
}

// level is the level of the heap's surface, or of the ground beside it.
func (h heap) level(p xy) float64 {
	inside := h.area.depth(p)
	if inside <= 0 {
		return natural(p)
	}
	return natural(p) + math.Min(h.height, inside*h.face)
}

// ring is the outline of an area, anticlockwise, not closed.
type ring []xy

// box is an outline along the grid.
func box(e0, n0, e1, n1 float64) ring { return ring{{e0, n0}, {e1, n0}, {e1, n1}, {e0, n1}} }

// depth is how far inside a convex ring a place lies, below 0 outside.
func (r ring) depth(p xy) float64 {
	least := math.Inf(1)
	for i := range r {
		a, b := r[i], r[(i+1)%len(r)]
		cross := (b.e-a.e)*(p.n-a.n) - (b.n-a.n)*(p.e-a.e)
		least = math.Min(least, cross/math.Hypot(b.e-a.e, b.n-a.n))
	}
	return least
}

// bounds returns the corners of the smallest box about the ring.
func (r ring) bounds() (lo, hi xy) {
	lo, hi = r[0], r[0]
	for _, p := range r {
		lo.e, lo.n = math.Min(lo.e, p.e), math.Min(lo.n, p.n)
		hi.e, hi.n = math.Max(hi.e, p.e), math.Max(hi.n, p.n)
	}
	return lo, hi
}

// levels writes a point list of a surface over a ring and a margin round it,
// by a walked grid with its steps not quite even, as ground is taken by hand.
func levels(rng *rand.Rand, area ring, margin, step, noise float64, z func(xy) float64, code string) string {
	var b strings.Builder
	b.WriteString("point,easting,northing,level,code\n")
	lo, hi := area.bounds()
	n := 0
	row := func(p xy, code string) {
		n++
		fmt.Fprintf(&b, "%d,%.3f,%.3f,%.3f,%s\n", n, p.e, p.n, z(p)+noise*rng.NormFloat64(), code)
	}
	for e := lo.e - margin; e <= hi.e+margin+1e-9; e += step {
		for m := lo.n - margin; m <= hi.n+margin+1e-9; m += step {
			p := xy{e + step*0.3*(rng.Float64()-0.5), m + step*0.3*(rng.Float64()-0.5)}
			if margin > 0 && (e == lo.e-margin || e+step > hi.e+margin+1e-9) {
				p.e = e
			}
			p.e, p.n = math.Round(p.e*1000)/1000, math.Round(p.n*1000)/1000
			row(p, code)
		}
	}
	return b.String()
}
