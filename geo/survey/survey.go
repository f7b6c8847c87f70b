// Package survey reads ground surveys as they come from the field and holds
// them as plain values: points with name, code and row, breaklines, boundary,
// faces or grid, and a warning with its row for everything that was noticed.
//
// All values are metres once read, on the plane site grid or national grid of
// the file; feet are converted once, on reading. The package never guesses
// which column is easting, never averages two levels and never drops a point
// without saying so.
package survey

// Point is one surveyed position.
type Point struct {
	Name string // as written; text, so "0012" stays "0012"
	Code string // feature code as written, may be empty
	// E and N are plane coordinates, Level is height above the site datum; all metres.
	E, N, Level float64
	Row         int // 1-based line of the file, 0 when made by the program
}

// Vertex is one corner of a breakline or boundary ring, metres.
type Vertex struct {
	E, N, Level float64
	Row         int // 1-based line of the file it came from
}

// Breakline is a line along which the ground folds: no triangle may cross it.
// In a survey with its own Faces or Grid they are kept as drawn, and what they
// mean is in the faces already.
type Breakline struct {
	Name     string
	Vertices []Vertex
}

// Survey is what one file says, in metres.
type Survey struct {
	Name       string // file name for messages
	Format     Format
	Unit       Unit   // the unit found in the file; values here are metres already
	System     string // reference system and level datum as the file names them, may be empty
	Degrees    bool   // E and N are longitude and latitude in degrees: no surface can be made
	Part       string // the surface or layers of the file that were read, may be empty
	Points     []Point
	Breaklines []Breakline
	Boundary   [][]Vertex // rings; the first is outer, the others holes; levels unused
	Faces      [][3]int32 // given triangles as indices of Points; nil: triangulate
	Grid       *Grid      // set when the file is a grid of cells; Points then hold the valid centres
	Warnings   []Warning
}

// Format names a file format that Read knows.
type Format string

// Formats that Read recognises by content.
const (
	FormatCSV       Format = "point list"
	FormatASCIIGrid Format = "ASCII grid"
	FormatLandXML   Format = "LandXML"
	FormatDXF       Format = "DXF"
	FormatGeoTIFF   Format = "GeoTIFF"
	FormatLAS       Format = "LAS"
	FormatGeoJSON   Format = "GeoJSON"
)

// Unit is a unit of length.
type Unit string

// Units of length. Metres per unit: 1, 0.001, 0.01, 0.3048 exactly, 1200/3937,
// 0.0254 exactly.
//
// Source: international foot and inch, exact by the 1959 agreement; US survey
// foot, 1200/3937 m (from memory, common knowledge of the trade).
const (
	Metre             Unit = "m"
	Millimetre        Unit = "mm"
	Centimetre        Unit = "cm"
	InternationalFoot Unit = "ft"
	USSurveyFoot      Unit = "US survey ft"
	Inch              Unit = "in"
)

// Action says what was done about a finding.
type Action string

// Actions taken on a row.
const (
	Rejected Action = "rejected" // not in Points
	Dropped  Action = "dropped"  // an exact copy of another row
	Merged   Action = "merged"   // counted with a neighbour whose values are kept
	Conflict Action = "conflict" // two levels at one place: needs a person's rule
	Flagged  Action = "flagged"  // kept, but look at it
	Noted    Action = "noted"    // information about the file
)

// Warning is one finding with its place in the file.
type Warning struct {
	Row    int    // 1-based line, 0 for the file as a whole
	Other  int    // the other row concerned, 0 when none
	Point  string // point name, may be empty
	Kind   Kind
	Action Action
	Text   string // one sentence with figures and, where there is one, the remedy
}

// Kind is what was found.
type Kind string

// Kinds of finding.
const (
	KindNoData        Kind = "no data"
	KindBadRow        Kind = "bad row"
	KindDuplicate     Kind = "duplicate"
	KindNearDuplicate Kind = "near duplicate"
	KindTwoLevels     Kind = "two levels at one place"
	KindDuplicateName Kind = "name used twice"
	KindSwappedAxes   Kind = "axes swapped"
	KindFarOutlier    Kind = "far outlier"
	KindSpike         Kind = "spike"
	KindZeroLevel     Kind = "zero level"
	KindBreakline     Kind = "breakline"
	KindNote          Kind = "note"
)

// levelsAllZero reports whether every point and line lies at level 0.
func (s *Survey) levelsAllZero() bool {
	for _, p := range s.Points {
		if p.Level != 0 {
			return false
		}
	}
	for _, l := range s.Breaklines {
		for _, v := range l.Vertices {
			if v.Level != 0 {
				return false
			}
		}
	}
	return len(s.Points)+len(s.Breaklines) > 0
}

// Usable says why no surface can be made of a survey that was read, nil when
// nothing stands against it.
func (s *Survey) Usable() error {
	switch {
	case s.Degrees:
		return fileErr(s.Name, ErrFormat, "it is in longitude and latitude (%s); project it to the site's plane grid, in metres", s.System)
	case s.Format == FormatDXF && s.levelsAllZero():
		return fileErr(s.Name, ErrFormat, "every level is 0: the drawing has lost its levels; export the surface with 3-D corners (3DFACE or 3-D polylines)")
	}
	return nil
}
