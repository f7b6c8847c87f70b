package survey

// Grid is a rectangle of square or oblong cells with a level at each cell
// centre. NaN marks a cell without data.
type Grid struct {
	Cols, Rows int
	// E0 and N0 are the centre of the lower-left cell, DE and DN the cell size; metres.
	E0, N0, DE, DN float64
	Levels         []float64 // row by row from the southern row up, metres
}
