package survey

import (
	"fmt"
	"math"
	"slices"

	"github.com/swardbook/swardbook/geo/tin"
)

// Limits of the flags. Our own defaults, common practice; they only decide
// what is shown to a person, never what is used.
const (
	spikeFactor   = 5.0  // times the median deviation of the neighbours' levels
	spikeLeastM   = 0.5  // and at least this far off, metres
	outlierFactor = 10.0 // times what is usual in the survey: distance to the nearest point, offset from neighbours
	fewPoints     = 8    // below this no statistics are made
)

// extentOf returns the smallest box around points.
func extentOf(pts []Point) tin.Box {
	b := tin.EmptyBox()
	for _, p := range pts {
		b = b.Extend(tin.Box{MinX: p.E, MinY: p.N, MaxX: p.E, MaxY: p.N})
	}
	return b
}

// flag looks for rows a person should see before the survey is used.
func (c *cleaner) flag(pts []Point, lines []Breakline) {
	if len(pts) < fewPoints {
		return
	}
	swapped := c.swappedAxes(pts)
	var bulk []Point // without what would spoil the neighbourhoods
	for i, p := range pts {
		if !swapped[i] {
			bulk = append(bulk, p)
		}
	}
	in := make([]tin.Point, len(bulk))
	for i, p := range bulk {
		in[i] = tin.Point{X: p.E, Y: p.N}
	}
	m, err := tin.Build(in)
	if err != nil {
		return // no surface, and making one says why
	}
	onLine := map[[2]float64]bool{}
	for _, l := range lines {
		for _, v := range l.Vertices {
			onLine[[2]float64{v.E, v.N}] = true
		}
	}
	around := neighbours(m)
	c.farOutliers(bulk, m, around)
	c.oddLevels(bulk, m, around, onLine)
}

// swappedAxes flags points that fit among the others only with easting and
// northing exchanged, and returns them.
func (c *cleaner) swappedAxes(pts []Point) map[int]bool {
	e, n := make([]float64, len(pts)), make([]float64, len(pts))
	for i, p := range pts {
		e[i], n[i] = p.E, p.N
	}
	me, mn := median(e), median(n)
	d := make([]float64, len(pts))
	for i, p := range pts {
		d[i] = math.Hypot(p.E-me, p.N-mn)
	}
	reach := outlierFactor * median(d)
	found := map[int]bool{}
	for i, p := range pts {
		far, exchanged := math.Hypot(p.E-me, p.N-mn), math.Hypot(p.N-me, p.E-mn)
		if far > reach && exchanged <= reach {
			found[i] = true
			c.found = append(c.found, Warning{Row: p.Row, Point: p.Name, Kind: KindSwappedAxes, Action: Flagged,
				Text: fmt.Sprintf("E %.3f N %.3f lies %.0f m away, but %.0f m with easting and northing exchanged; correct the row", p.E, p.N, far, exchanged)})
		}
	}
	return found
}

// joined lists the vertices joined to each vertex of a mesh, one list after
// the other.
type joined struct {
	from []int32 // where the list of each vertex begins; one more at the end
	list []int32
}

func (j joined) of(v int) []int32 { return j.list[j.from[v]:j.from[v+1]] }

func neighbours(m *tin.Mesh) joined {
	j := joined{from: make([]int32, len(m.P)+1)}
	for h, a := range m.Origin {
		if a != tin.Outside && m.Origin[m.Twin[h]] != tin.Outside {
			j.from[a+1]++
		}
	}
	for v := range m.P {
		j.from[v+1] += j.from[v]
	}
	j.list = make([]int32, j.from[len(m.P)])
	next := slices.Clone(j.from)
	for h, a := range m.Origin {
		if b := m.Origin[m.Twin[h]]; a != tin.Outside && b != tin.Outside {
			j.list[next[a]] = b
			next[a]++
		}
	}
	return j
}

// farOutliers flags points far from their nearest neighbour: they make long
// triangles over ground nobody surveyed.
func (c *cleaner) farOutliers(pts []Point, m *tin.Mesh, around joined) {
	nearest := make([]float64, len(m.P))
	for v := range m.P {
		nearest[v] = math.Inf(1)
		for _, w := range around.of(v) {
			nearest[v] = min(nearest[v], math.Hypot(m.P[v].X-m.P[w].X, m.P[v].Y-m.P[w].Y))
		}
	}
	usual := median(slices.Clone(nearest))
	for v, d := range nearest {
		if d > outlierFactor*usual {
			p := pts[m.Source[v]]
			c.found = append(c.found, Warning{Row: p.Row, Point: p.Name, Kind: KindFarOutlier, Action: Flagged,
				Text: fmt.Sprintf("%.1f m from the nearest point, where %.1f m is usual; the surface would span the gap", d, usual)})
		}
	}
}

// oddLevels flags levels that stand out from their neighbours', and levels of
// exactly 0 among others.
func (c *cleaner) oddLevels(pts []Point, m *tin.Mesh, around joined, onLine map[[2]float64]bool) {
	levels := make([]float64, len(pts))
	for i, p := range pts {
		levels[i] = p.Level
	}
	middle := median(slices.Clone(levels))
	spread := medianDeviation(levels, middle)
	var odd []oddLevel
	offs := make([]float64, 0, len(m.P))
	var work []float64
	for v := range m.P {
		p := pts[m.Source[v]]
		if p.Level == 0 && math.Abs(middle) > outlierFactor*max(spread, 0.1) {
			c.found = append(c.found, Warning{Row: p.Row, Point: p.Name, Kind: KindZeroLevel, Action: Flagged,
				Text: fmt.Sprintf("level 0.000 among levels about %.3f m: a missing level?", middle)})
			continue
		}
		work = work[:0]
		for _, w := range around.of(v) {
			work = append(work, pts[m.Source[w]].Level)
		}
		mid := median(work)
		off := math.Abs(p.Level - mid)
		offs = append(offs, off)
		// On a slope a point lies between its neighbours; a crest or a toe
		// stands out by its nature.
		if between := p.Level >= work[0] && p.Level <= work[len(work)-1]; between {
			continue
		}
		if off > spikeLeastM && off > spikeFactor*medianDeviation(work, mid) && !onLine[[2]float64{p.E, p.N}] {
			odd = append(odd, oddLevel{p, off, mid})
		}
	}
	usual := median(offs)
	for _, o := range odd {
		if o.off > outlierFactor*usual {
			c.found = append(c.found, Warning{Row: o.p.Row, Point: o.p.Name, Kind: KindSpike, Action: Flagged,
				Text: fmt.Sprintf("level %.3f m stands %.3f m off its neighbours (median %.3f m): a slip of the pen?", o.p.Level, o.off, o.middle)})
		}
	}
}

// oddLevel is a point off its neighbours' median level.
type oddLevel struct {
	p           Point
	off, middle float64
}

// median sorts v and returns its middle; NaN when empty.
func median(v []float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	slices.Sort(v)
	if n := len(v); n%2 == 0 {
		return (v[n/2-1] + v[n/2]) / 2
	}
	return v[len(v)/2]
}

// medianDeviation returns the median distance of v from middle.
func medianDeviation(v []float64, middle float64) float64 {
	d := make([]float64, len(v))
	for i, x := range v {
		d[i] = math.Abs(x - middle)
	}
	return median(d)
}
