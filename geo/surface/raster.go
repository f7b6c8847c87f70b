package surface

import (
	"fmt"
	"math"

	"github.com/swardbook/swardbook/geo/plan"
	"github.com/swardbook/swardbook/geo/survey"
	"github.com/swardbook/swardbook/geo/tin"
)

// maxRasterCells bounds pictures.
const maxRasterCells = 50_000_000

// Frame is the rectangle of cells of a picture.
type Frame struct {
	Cols, Rows     int
	E0, N0, DE, DN float64 // centre of the lower-left cell and size of a cell, metres
}

// FrameFor returns a frame of square cells over the common ground of two
// surfaces, or over one when b is nil.
func FrameFor(a, b *Surface, cellM float64) (Frame, error) {
	minE, minN, maxE, maxN := a.Extent()
	if b != nil {
		e0, n0, e1, n1 := b.Extent()
		minE, minN, maxE, maxN = max(minE, e0), max(minN, n0), min(maxE, e1), min(maxN, n1)
	}
	if !(cellM > 0) {
		return Frame{}, fmt.Errorf("cell of %v m: must be above 0", cellM)
	}
	if minE >= maxE || minN >= maxN {
		return Frame{}, noOverlap(a, b, nil)
	}
	cols, rows := math.Ceil((maxE-minE)/cellM), math.Ceil((maxN-minN)/cellM)
	if cols*rows > maxRasterCells {
		return Frame{}, fmt.Errorf("%.0f cells of %v m: at most %d; use larger cells", cols*rows, cellM, maxRasterCells)
	}
	return Frame{int(cols), int(rows), minE + cellM/2, minN + cellM/2, cellM, cellM}, nil
}

// Raster samples the surface at the centres of cells, NaN off the surface.
// It is for display: volumes come from Compare.
func (s *Surface) Raster(f Frame) *survey.Grid {
	g := &survey.Grid{Cols: f.Cols, Rows: f.Rows, E0: f.E0, N0: f.N0, DE: f.DE, DN: f.DN, Levels: make([]float64, f.Cols*f.Rows)}
	for i := range g.Levels {
		g.Levels[i] = math.NaN()
	}
	for _, t := range s.tri {
		s.paint(g, t)
	}
	return g
}

// slack lets a centre on an edge fall to both its triangles rather than to
// neither; in cells.
const slack = 1e-9

// paint writes the levels of one triangle, row by row.
func (s *Surface) paint(g *survey.Grid, t [3]int32) {
	a, b, c := s.p[t[0]], s.p[t[1]], s.p[t[2]]
	oy, ox := g.N0-s.y0, g.E0-s.x0
	low := max(int(math.Ceil((min(a.Y, b.Y, c.Y)-oy)/g.DN-slack)), 0)
	high := min(int(math.Floor((max(a.Y, b.Y, c.Y)-oy)/g.DN+slack)), g.Rows-1)
	if low > high {
		return
	}
	pl := s.plane(t)
	for row := low; row <= high; row++ {
		y := oy + float64(float64(row)*g.DN)
		x0, x1 := crossRow(a, b, c, y, 2*slack*g.DN)
		from := max(int(math.Ceil((x0-ox)/g.DE-slack)), 0)
		to := min(int(math.Floor((x1-ox)/g.DE+slack)), g.Cols-1)
		for col := from; col <= to; col++ {
			g.Levels[row*g.Cols+col] = pl.level(tin.XY{X: ox + float64(float64(col)*g.DE), Y: y}) + s.z0
		}
	}
}

// crossRow returns where a horizontal line enters and leaves a triangle, which
// it may miss by reach.
func crossRow(a, b, c tin.XY, y, reach float64) (x0, x1 float64) {
	x0, x1 = math.Inf(1), math.Inf(-1)
	for _, e := range [3][2]tin.XY{{a, b}, {b, c}, {c, a}} {
		p, q := e[0], e[1]
		if p.Y > q.Y {
			p, q = q, p
		}
		yy := min(max(y, p.Y), q.Y)
		if math.Abs(yy-y) > reach {
			continue
		}
		if p.Y == q.Y {
			x0, x1 = min(x0, p.X, q.X), max(x1, p.X, q.X)
			continue
		}
		x := p.X + float64((yy-p.Y)/(q.Y-p.Y)*(q.X-p.X))
		x0, x1 = min(x0, x), max(x1, x)
	}
	return x0, x1
}

// DifferenceRaster samples later minus earlier at the centres of cells, NaN
// where either is missing or the centre lies outside within, when given. For
// display: volumes come from Compare.
func DifferenceRaster(before, after *Surface, within *plan.Polygon, f Frame) *survey.Grid {
	g, old := after.Raster(f), before.Raster(f)
	for i := range g.Levels {
		g.Levels[i] -= old.Levels[i]
		if within == nil || math.IsNaN(g.Levels[i]) {
			continue
		}
		if e, n := g.Centre(i%g.Cols, i/g.Cols); !within.Contains(e, n) {
			g.Levels[i] = math.NaN()
		}
	}
	return g
}

// HeightRaster samples the height of a surface over a base at the centres of
// cells, NaN where either is missing or the centre lies outside within. For
// display: volumes come from Stockpile.
func HeightRaster(s *Surface, base Base, within *plan.Polygon, f Frame) (*survey.Grid, error) {
	switch base.kind {
	case "surface":
		return DifferenceRaster(base.surface, s, within, f), nil
	case "toe":
		ground, err := toeSurface(s, base.toe, within)
		if err != nil {
			return nil, err
		}
		return DifferenceRaster(ground, s, within, f), nil
	}
	g := s.Raster(f)
	for i := range g.Levels {
		g.Levels[i] -= base.level
		if e, n := g.Centre(i%g.Cols, i/g.Cols); within != nil && !within.Contains(e, n) {
			g.Levels[i] = math.NaN()
		}
	}
	return g, nil
}
