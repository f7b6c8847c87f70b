package survey

import "math"

// Grid is a rectangle of square or oblong cells with a level at each cell
// centre. NaN marks a cell without data.
type Grid struct {
	Cols, Rows int
	// E0 and N0 are the centre of the lower-left cell, DE and DN the cell size; metres.
	E0, N0, DE, DN float64
	Levels         []float64 // row by row from the southern row up, metres
}

// At returns the level of a cell, NaN where it has none. col counts from the
// west, row from the south.
func (g *Grid) At(col, row int) float64 { return g.Levels[row*g.Cols+col] }

// Centre returns the middle of a cell, metres.
func (g *Grid) Centre(col, row int) (e, n float64) {
	return g.E0 + float64(float64(col)*g.DE), g.N0 + float64(float64(row)*g.DN)
}

// Valid returns the number of cells with data.
func (g *Grid) Valid() int {
	n := 0
	for _, v := range g.Levels {
		if !math.IsNaN(v) {
			n++
		}
	}
	return n
}

// Points returns the centres of all cells with data, row by row from the south.
func (g *Grid) Points() []Point {
	pts := make([]Point, 0, g.Valid())
	for row := range g.Rows {
		for col := range g.Cols {
			if v := g.At(col, row); !math.IsNaN(v) {
				e, n := g.Centre(col, row)
				pts = append(pts, Point{E: e, N: n, Level: v})
			}
		}
	}
	return pts
}

// Faces returns the triangles between neighbouring cells with data, as
// indices of Points, anticlockwise. Four cells meeting at a corner give two
// triangles, parted from lower right to upper left, the diagonal that the
// triangulation's tie rule gives a square; three give one; with fewer there
// is none, so that a cell without data is never bridged: no triangle enters it.
func (g *Grid) Faces() [][3]int32 {
	index := make([]int32, len(g.Levels))
	next := int32(0)
	for i, v := range g.Levels {
		index[i] = -1
		if !math.IsNaN(v) {
			index[i] = next
			next++
		}
	}
	faces := make([][3]int32, 0, 2*int(next))
	for row := range g.Rows - 1 {
		for col := range g.Cols - 1 {
			i := row*g.Cols + col
			sw, se, nw, ne := index[i], index[i+1], index[i+g.Cols], index[i+g.Cols+1]
			switch {
			case sw >= 0 && se >= 0 && nw >= 0 && ne >= 0:
				faces = append(faces, [3]int32{sw, se, nw}, [3]int32{se, ne, nw})
			case se >= 0 && nw >= 0 && sw >= 0:
				faces = append(faces, [3]int32{sw, se, nw})
			case se >= 0 && nw >= 0 && ne >= 0:
				faces = append(faces, [3]int32{se, ne, nw})
			case sw >= 0 && se >= 0 && ne >= 0:
				faces = append(faces, [3]int32{sw, se, ne})
			case sw >= 0 && ne >= 0 && nw >= 0:
				faces = append(faces, [3]int32{sw, ne, nw})
			}
		}
	}
	return faces
}
