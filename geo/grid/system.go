package grid

import (
	"fmt"
	"math"
)

// System is a plane coordinate system reached from WGS 84.
type System struct {
	EPSG      int
	Name      string
	AccuracyM float64 // of the way from WGS 84, horizontal, metres
	Way       string  // how it is reached, to be shown beside a result

	// OwnUnit is the unit the system is defined in when it is not the metre;
	// everything here is metres all the same.
	OwnUnit  string
	ownUnitM float64

	projection projection // nil: web Mercator
	shift      *Helmert   // from the system's datum to WGS 84; nil: taken as the same
	grid       *ShiftGrid // the same by a national grid of shifts; nil: by shift
	bounds     *degrees   // area of use in longitude and latitude; nil: by easting and northing
	minE, maxE float64    // area, metres
	minN, maxN float64
	farthest   float64 // degrees of longitude from the meridian
}

// projection is a conformal map of an ellipsoid onto the plane.
type projection interface {
	Forward(lon, lat float64) (e, n float64)
	Inverse(e, n float64) (lon, lat float64)
	Scale(lon, lat float64) float64
	figure() Ellipsoid
	meridian() float64 // degrees
}

// degrees is a box of longitude and latitude. maxLon may lie west of minLon,
// across the date line.
type degrees struct{ minLon, minLat, maxLon, maxLat float64 }

// boundsSlack, in degrees, is what a place may lie outside an area of use, whose
// limits are given to a hundredth of a degree.
const boundsSlack = 0.01

func (d *degrees) holds(lon, lat float64) bool {
	west, east := lon >= d.minLon-boundsSlack, lon <= d.maxLon+boundsSlack
	across := d.maxLon < d.minLon
	return lat >= d.minLat-boundsSlack && lat <= d.maxLat+boundsSlack && (west && east || across && (west || east))
}

// osgb36ToWGS84 is the seven-parameter shift for Great Britain.
// Source: EPSG operation 1314, accuracy 2 m as listed by PROJ 9.1.1.
var osgb36ToWGS84 = Helmert{446.448, -125.157, 542.060, 0.150, 0.247, 0.842, -20.489}

const sameDatum = "ETRS89 taken as WGS 84; they drift apart by about 2.5 cm a year in Europe"

// ByEPSG returns a system by its EPSG code: 27700 (Great Britain), 2157
// (Ireland), 326xx and 327xx (UTM on WGS 84), 258xx (UTM on ETRS89, zones 28
// to 38), 3857 (web map: never for areas or distances), and the national zones
// of zones.csv: Ireland (29902, 29903), Germany (31466 to 31469), Lambert zones
// of France and Europe (2154, 3034), the zones of the United States on NAD83 in
// metres and feet. Codes lists them all. Results are always metres.
//
// Source of the parameters: EPSG data set, through the PROJ 9.1.1 listing;
// the scale of 27700 is the defined 0.9996012717.
func ByEPSG(code int) (*System, error) {
	everywhere := System{EPSG: code, minE: math.Inf(-1), maxE: math.Inf(1), minN: math.Inf(-1), maxN: math.Inf(1), farthest: 20}
	s := everywhere
	switch {
	case code == 27700:
		s.Name, s.AccuracyM, s.Way = "OSGB36 / British National Grid", 4, "seven-parameter shift (EPSG 1314), good to about 2 m, up to 4 m on the east coast; the national shift grid is not used"
		s.projection = NewTransverseMercator(Airy1830, 49, -2, 0.9996012717, 400000, -100000)
		s.shift = &osgb36ToWGS84
		s.minE, s.maxE, s.minN, s.maxN = 0, 700000, 0, 1300000
	case code == 2157:
		s.Name, s.AccuracyM, s.Way = "IRENET95 / Irish Transverse Mercator", 1, sameDatum
		s.projection = NewTransverseMercator(GRS80, 53.5, -8, 0.99982, 600000, 750000)
		s.minE, s.maxE, s.minN, s.maxN = 400000, 800000, 500000, 1000000
	case code > 32600 && code <= 32660, code > 32700 && code <= 32760:
		zone, south := code%100, code >= 32700
		s.Name, s.AccuracyM, s.Way = fmt.Sprintf("WGS 84 / UTM zone %d%s", zone, map[bool]string{false: "N", true: "S"}[south]), 0, "projection only"
		s.projection = utm(WGS84Ellipsoid, zone, south)
	case code >= 25828 && code <= 25838:
		s.Name, s.AccuracyM, s.Way = fmt.Sprintf("ETRS89 / UTM zone %dN", code-25800), 1, sameDatum
		s.projection = utm(GRS80, code-25800, false)
	case code == 3857:
		s.Name, s.AccuracyM, s.Way = "WGS 84 / web map", 0, "projection only; never for areas or distances"
		s.farthest = 180
	default:
		z, known := zones()[code]
		if !known {
			return nil, fmt.Errorf("EPSG:%d is not known; known are 27700 (Great Britain), 2157, 29902, 29903 (Ireland), 32601-32660, 32701-32760, 25828-25838 (UTM), 31466-31469 (Germany), 2154, 3034, the NAD83 zones 26929-26998, 32100-32158 and 2222-2289, and 3857", code)
		}
		s = z
	}
	return &s, nil
}

func utm(el Ellipsoid, zone int, south bool) *TransverseMercator {
	fn := 0.0
	if south {
		fn = 10_000_000
	}
	return NewTransverseMercator(el, 0, float64(6*zone-183), 0.9996, 500000, fn)
}

// FromWGS84 turns WGS 84 longitude and latitude in degrees into metres of the
// system. Places outside its area are refused with an *AreaError.
func (s *System) FromWGS84(lon, lat float64) (e, n float64, err error) {
	if !(lon >= -180 && lon <= 180 && lat >= -90 && lat <= 90) {
		return 0, 0, &AreaError{s.Name, fmt.Sprintf("longitude %v, latitude %v are not degrees", lon, lat)}
	}
	if s.projection == nil {
		return s.webForward(lon, lat)
	}
	if s.bounds != nil && !s.bounds.holds(lon, lat) {
		return 0, 0, s.beyond(lon, lat)
	}
	off := math.Abs(math.Mod(lon-s.projection.meridian()+540, 360) - 180)
	if off > s.farthest {
		return 0, 0, &AreaError{s.Name, fmt.Sprintf("longitude %.6f lies %.1f degrees from its meridian", lon, off)}
	}
	switch {
	case s.grid != nil:
		if lon, lat, err = s.grid.Undo(lon, lat); err != nil {
			return 0, 0, err
		}
	case s.shift != nil:
		p := s.shift.Undo(WGS84Ellipsoid.Geocentric(lon, lat, 0))
		lon, lat, _ = s.projection.figure().Geographic(p)
	}
	e, n = s.projection.Forward(lon, lat)
	return e, n, s.inArea(e, n)
}

// ToWGS84 turns metres of the system into WGS 84 longitude and latitude in degrees.
func (s *System) ToWGS84(e, n float64) (lon, lat float64, err error) {
	if err := s.inArea(e, n); err != nil {
		return 0, 0, err
	}
	if s.projection == nil {
		return e / WGS84Ellipsoid.A * 180 / math.Pi, math.Atan(math.Sinh(n/WGS84Ellipsoid.A)) * 180 / math.Pi, nil
	}
	lon, lat = s.projection.Inverse(e, n)
	if s.grid != nil {
		return s.grid.Apply(lon, lat)
	}
	if s.shift == nil {
		return s.bounded(lon, lat)
	}
	// The height of the place on WGS 84 is that which comes out 0 there, so
	// that the way back meets the way forth; two rounds settle it.
	height := 0.0
	var outLon, outLat float64
	for range 3 {
		var h float64
		outLon, outLat, h = WGS84Ellipsoid.Geographic(s.shift.Apply(s.projection.figure().Geocentric(lon, lat, height)))
		height -= h
	}
	return s.bounded(outLon, outLat)
}

// bounded refuses a place outside the area of use.
func (s *System) bounded(lon, lat float64) (float64, float64, error) {
	if s.bounds != nil && !s.bounds.holds(lon, lat) {
		return 0, 0, s.beyond(lon, lat)
	}
	return lon, lat, nil
}

func (s *System) beyond(lon, lat float64) error {
	b := s.bounds
	return &AreaError{s.Name, fmt.Sprintf("longitude %.6f, latitude %.6f lies outside its area of use, longitude %v to %v, latitude %v to %v", lon, lat, b.minLon, b.maxLon, b.minLat, b.maxLat)}
}

func (s *System) inArea(e, n float64) error {
	if !(e >= s.minE && e <= s.maxE && n >= s.minN && n <= s.maxN) || math.IsInf(e, 0) || math.IsInf(n, 0) {
		return &AreaError{s.Name, fmt.Sprintf("E %.3f N %.3f lies outside its area, E %.0f to %.0f, N %.0f to %.0f", e, n, s.minE, s.maxE, s.minN, s.maxN)}
	}
	return nil
}

// WithShiftGrid returns the system reached by a national grid of shifts, which
// turns the system's own longitude and latitude into those of WGS 84 or ETRS89,
// instead of by its parameters. It is for systems on another datum.
func (s *System) WithShiftGrid(g *ShiftGrid) (*System, error) {
	if s.shift == nil {
		return nil, fmt.Errorf("%s needs no shift grid: it is on WGS 84 or close to it", s.Name)
	}
	out := *s
	out.grid = g
	out.AccuracyM = g.AccuracyM
	out.Way = fmt.Sprintf("national shift grid %s, SHA-256 %s", g.Name, g.SHA256)
	return &out, nil
}

// Scale returns the scale factor of the grid at a place in WGS 84 degrees:
// grid distance over distance on the ellipsoid. Not given for the web map,
// where it is NaN.
func (s *System) Scale(lon, lat float64) float64 {
	if s.projection == nil {
		return math.NaN()
	}
	return s.projection.Scale(lon, lat)
}

func (s *System) webForward(lon, lat float64) (e, n float64, err error) {
	if math.Abs(lat) > 85.06 {
		return 0, 0, &AreaError{s.Name, fmt.Sprintf("latitude %.6f lies beyond 85.06 degrees", lat)}
	}
	rad := math.Pi / 180
	return WGS84Ellipsoid.A * lon * rad, WGS84Ellipsoid.A * math.Asinh(math.Tan(lat*rad)), nil
}
