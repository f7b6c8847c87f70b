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

	projection *TransverseMercator // nil: web Mercator
	shift      *Helmert            // from the system's datum to WGS 84; nil: taken as the same
	minE, maxE float64             // area, metres
	minN, maxN float64
	farthest   float64 // degrees of longitude from the meridian
}

// osgb36ToWGS84 is the seven-parameter shift for Great Britain.
// Source: EPSG operation 1314, accuracy 2 m as listed by PROJ 9.1.1.
var osgb36ToWGS84 = Helmert{446.448, -125.157, 542.060, 0.150, 0.247, 0.842, -20.489}

const sameDatum = "ETRS89 taken as WGS 84; they drift apart by about 2.5 cm a year in Europe"

// ByEPSG returns a system by its EPSG code: 27700 (Great Britain), 2157
// (Ireland), 326xx and 327xx (UTM on WGS 84), 258xx (UTM on ETRS89, zones 28
// to 38), 3857 (web map: never for areas or distances).
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
		return nil, fmt.Errorf("EPSG:%d is not known; known are 27700, 2157, 32601-32660, 32701-32760, 25828-25838, 3857", code)
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
	off := math.Abs(math.Mod(lon-s.projection.lon0*180/math.Pi+540, 360) - 180)
	if off > s.farthest {
		return 0, 0, &AreaError{s.Name, fmt.Sprintf("longitude %.6f lies %.1f degrees from its meridian", lon, off)}
	}
	if s.shift != nil {
		p := s.shift.Undo(WGS84Ellipsoid.Geocentric(lon, lat, 0))
		lon, lat, _ = s.projection.ellipsoid.Geographic(p)
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
	if s.shift == nil {
		return lon, lat, nil
	}
	// The height of the place on WGS 84 is that which comes out 0 there, so
	// that the way back meets the way forth; two rounds settle it.
	height := 0.0
	var outLon, outLat float64
	for range 3 {
		var h float64
		outLon, outLat, h = WGS84Ellipsoid.Geographic(s.shift.Apply(s.projection.ellipsoid.Geocentric(lon, lat, height)))
		height -= h
	}
	return outLon, outLat, nil
}

func (s *System) inArea(e, n float64) error {
	if !(e >= s.minE && e <= s.maxE && n >= s.minN && n <= s.maxN) || math.IsInf(e, 0) || math.IsInf(n, 0) {
		return &AreaError{s.Name, fmt.Sprintf("E %.3f N %.3f lies outside its area, E %.0f to %.0f, N %.0f to %.0f", e, n, s.minE, s.maxE, s.minN, s.maxN)}
	}
	return nil
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
