package grid

import "math"

// LambertConic is a Lambert conformal conic projection with one or two
// standard parallels.
//
// Source: EPSG guidance note 7-2, methods 9801 and 9802; J. Snyder, Map
// Projections: A Working Manual (USGS PP 1395, 1987), equations 15-1 to 15-11
// and 7-9 (from memory; checked against PROJ 9.1.1 and the worked examples of
// the guidance note).
type LambertConic struct {
	ellipsoid Ellipsoid
	e, e2     float64
	lon0      float64 // radians
	n, f      float64
	r0        float64 // radius of the parallel of the false origin, metres
	fe, fn    float64
}

// NewLambert2SP makes a projection with two standard parallels lat1 and lat2,
// latitude and longitude of the false origin in degrees, easting and northing
// there in metres.
func NewLambert2SP(el Ellipsoid, lat0, lon0, lat1, lat2, fe, fn float64) *LambertConic {
	p := newLambert(el, lon0, fe, fn)
	p1, p2 := lat1*math.Pi/180, lat2*math.Pi/180
	m1, t1 := p.parallel(p1), p.isometric(p1)
	p.n = math.Sin(p1)
	if lat1 != lat2 {
		p.n = math.Log(m1/p.parallel(p2)) / math.Log(t1/p.isometric(p2))
	}
	p.f = m1 / (p.n * math.Pow(t1, p.n))
	p.r0 = p.radius(lat0 * math.Pi / 180)
	return p
}

// NewLambert1SP makes a projection with one standard parallel, at the latitude
// of the natural origin, on which the scale is k0.
func NewLambert1SP(el Ellipsoid, lat0, lon0, k0, fe, fn float64) *LambertConic {
	p := newLambert(el, lon0, fe, fn)
	p0 := lat0 * math.Pi / 180
	p.n = math.Sin(p0)
	p.f = k0 * p.parallel(p0) / (p.n * math.Pow(p.isometric(p0), p.n))
	p.r0 = p.radius(p0)
	return p
}

func newLambert(el Ellipsoid, lon0, fe, fn float64) *LambertConic {
	f := el.flattening()
	e2 := f * (2 - f)
	return &LambertConic{ellipsoid: el, e2: e2, e: math.Sqrt(e2), lon0: lon0 * math.Pi / 180, fe: fe, fn: fn}
}

// parallel returns the radius of a parallel over half the equator's diameter.
func (p *LambertConic) parallel(phi float64) float64 {
	s := math.Sin(phi)
	return math.Cos(phi) / math.Sqrt(1-float64(p.e2*s*s))
}

// isometric returns exp of minus the isometric latitude.
func (p *LambertConic) isometric(phi float64) float64 {
	s := math.Sin(phi)
	return math.Exp(float64(p.e*math.Atanh(p.e*s)) - math.Asinh(math.Tan(phi)))
}

func (p *LambertConic) radius(phi float64) float64 {
	return p.ellipsoid.A * p.f * math.Pow(p.isometric(phi), p.n)
}

// Forward projects longitude and latitude in degrees, of the projection's own
// datum, to easting and northing in metres.
func (p *LambertConic) Forward(lon, lat float64) (e, n float64) {
	r := p.radius(lat * math.Pi / 180)
	sin, cos := math.Sincos(p.n * math.Remainder(lon*math.Pi/180-p.lon0, 2*math.Pi))
	return p.fe + float64(r*sin), p.fn + p.r0 - float64(r*cos)
}

// Inverse takes easting and northing in metres back to longitude and latitude
// in degrees.
func (p *LambertConic) Inverse(e, n float64) (lon, lat float64) {
	x, y := e-p.fe, p.r0-(n-p.fn)
	sign := 1.0
	if p.n < 0 {
		sign = -1
	}
	r := sign * math.Hypot(x, y)
	t := math.Pow(r/(p.ellipsoid.A*p.f), 1/p.n)
	psi := -math.Log(t)
	phi := math.Atan(math.Sinh(psi))
	for range 20 {
		next := math.Atan(math.Sinh(psi + float64(p.e*math.Atanh(p.e*math.Sin(phi)))))
		done := math.Abs(next-phi) < 1e-15
		if phi = next; done {
			break
		}
	}
	return (math.Atan2(sign*x, sign*y)/p.n + p.lon0) * 180 / math.Pi, phi * 180 / math.Pi
}

// Scale returns the scale factor at a place, grid distance over distance on
// the ellipsoid; its square is the scale of areas.
func (p *LambertConic) Scale(_, lat float64) float64 {
	phi := lat * math.Pi / 180
	return p.radius(phi) * p.n / (p.ellipsoid.A * p.parallel(phi))
}

func (p *LambertConic) figure() Ellipsoid { return p.ellipsoid }
func (p *LambertConic) meridian() float64 { return p.lon0 * 180 / math.Pi }
