// Package grid turns longitude and latitude into plane grid metres and back,
// and fits a site's own grid to a national one.
//
// The projections are good to a few nanometres; what limits a result is the
// datum: every System states the accuracy of the way it gets there. Levels
// never pass through: a datum shift would change them by some 50 m.
package grid

import (
	"fmt"
	"math"
)

// Ellipsoid is a figure of the earth: half the equator's diameter in metres,
// and the inverse of the flattening.
type Ellipsoid struct {
	Name string
	A    float64
	InvF float64 // 1/f; 0 when B is what is defined
	B    float64 // half the axis through the poles, metres, when that is defined
}

// Ellipsoids.
//
// Source: EPSG data set, ellipsoids 7030, 7019, 7001, 7002, 7004 (from memory, checked
// through the projection test rows).
var (
	WGS84Ellipsoid = Ellipsoid{Name: "WGS 84", A: 6378137, InvF: 298.257223563}
	GRS80          = Ellipsoid{Name: "GRS 1980", A: 6378137, InvF: 298.257222101}
	Airy1830       = Ellipsoid{Name: "Airy 1830", A: 6377563.396, B: 6356256.909}

	AiryModified1849 = Ellipsoid{Name: "Airy Modified 1849", A: 6377340.189, InvF: 299.3249646}
	Bessel1841       = Ellipsoid{Name: "Bessel 1841", A: 6377397.155, InvF: 299.1528128}
)

func (el Ellipsoid) flattening() float64 {
	if el.B != 0 {
		return (el.A - el.B) / el.A
	}
	return 1 / el.InvF
}

// TransverseMercator is a Krüger transverse Mercator projection to the sixth
// order of the third flattening: errors below 5 nm within 35 degrees of its
// meridian.
//
// Source: C. Karney, "Transverse Mercator with an accuracy of a few
// nanometers", Journal of Geodesy 85 (2011), equations 7 to 15, 35, 36 (from
// memory; checked against PROJ 9.1.1 to 0.1 mm both ways).
type TransverseMercator struct {
	ellipsoid     Ellipsoid
	lon0          float64 // radians
	k0            float64
	fe, fn        float64
	e, e2         float64
	radius        float64 // k0 times the rectifying radius
	alpha, beta   [7]float64
	northingShift float64 // of the latitude of origin
}

// NewTransverseMercator makes a projection: latitude and longitude of origin
// in degrees, scale on the meridian, false easting and northing in metres.
func NewTransverseMercator(el Ellipsoid, lat0, lon0, k0, fe, fn float64) *TransverseMercator {
	f := el.flattening()
	n := f / (2 - f)
	n2, n3, n4, n5, n6 := n*n, n*n*n, n*n*n*n, n*n*n*n*n, n*n*n*n*n*n
	p := &TransverseMercator{ellipsoid: el, lon0: lon0 * math.Pi / 180, k0: k0, fe: fe, fn: fn, e2: f * (2 - f)}
	p.e = math.Sqrt(p.e2)
	p.radius = k0 * el.A / (1 + n) * (1 + n2/4 + n4/64 + n6/256)
	p.alpha = [7]float64{0,
		n/2 - 2*n2/3 + 5*n3/16 + 41*n4/180 - 127*n5/288 + 7891*n6/37800,
		13*n2/48 - 3*n3/5 + 557*n4/1440 + 281*n5/630 - 1983433*n6/1935360,
		61*n3/240 - 103*n4/140 + 15061*n5/26880 + 167603*n6/181440,
		49561*n4/161280 - 179*n5/168 + 6601661*n6/7257600,
		34729*n5/80640 - 3418889*n6/1995840,
		212378941 * n6 / 319334400}
	p.beta = [7]float64{0,
		n/2 - 2*n2/3 + 37*n3/96 - n4/360 - 81*n5/512 + 96199*n6/604800,
		n2/48 + n3/15 - 437*n4/1440 + 46*n5/105 - 1118711*n6/3870720,
		17*n3/480 - 37*n4/840 - 209*n5/4480 + 5569*n6/90720,
		4397*n4/161280 - 11*n5/504 - 830251*n6/7257600,
		4583*n5/161280 - 108847*n6/3991680,
		20648693 * n6 / 638668800}
	_, p.northingShift = p.plane(0, lat0*math.Pi/180)
	return p
}

// conformal returns the tangent of the conformal latitude.
func (p *TransverseMercator) conformal(tau float64) float64 {
	hyp := math.Hypot(1, tau)
	sigma := math.Sinh(p.e * math.Atanh(p.e*tau/hyp))
	return tau*math.Hypot(1, sigma) - sigma*hyp
}

// plane returns the plane coordinates from the meridian and the equator, for
// a longitude from the meridian and a latitude in radians.
func (p *TransverseMercator) plane(lambda, phi float64) (x, y float64) {
	sin, cos := math.Sincos(lambda)
	tau := p.conformal(math.Tan(phi))
	xi0, eta0 := math.Atan2(tau, cos), math.Asinh(sin/math.Hypot(tau, cos))
	xi, eta := xi0, eta0
	for j := 1; j <= 6; j++ {
		s, c := math.Sincos(2 * float64(j) * xi0)
		xi += p.alpha[j] * s * math.Cosh(2*float64(j)*eta0)
		eta += p.alpha[j] * c * math.Sinh(2*float64(j)*eta0)
	}
	return p.radius * eta, p.radius * xi
}

// Forward projects longitude and latitude in degrees, of the projection's own
// datum, to easting and northing in metres.
func (p *TransverseMercator) Forward(lon, lat float64) (e, n float64) {
	x, y := p.plane(lon*math.Pi/180-p.lon0, lat*math.Pi/180)
	return p.fe + x, p.fn + y - p.northingShift
}

// Inverse takes easting and northing in metres back to longitude and latitude
// in degrees.
func (p *TransverseMercator) Inverse(e, n float64) (lon, lat float64) {
	xi, eta := (n-p.fn+p.northingShift)/p.radius, (e-p.fe)/p.radius
	xi0, eta0 := xi, eta
	for j := 1; j <= 6; j++ {
		s, c := math.Sincos(2 * float64(j) * xi)
		xi0 -= p.beta[j] * s * math.Cosh(2*float64(j)*eta)
		eta0 -= p.beta[j] * c * math.Sinh(2*float64(j)*eta)
	}
	sin, cos := math.Sincos(xi0)
	sinh := math.Sinh(eta0)
	want := sin / math.Hypot(sinh, cos)
	tau := want / math.Sqrt(1-p.e2)
	for range 6 { // Newton; two or three rounds reach the last digit
		got := p.conformal(tau)
		step := (want - got) / math.Hypot(1, got) * (1 + (1-p.e2)*tau*tau) / ((1 - p.e2) * math.Hypot(1, tau))
		tau += step
		if math.Abs(step) < 1e-15*max(1, math.Abs(tau)) {
			break
		}
	}
	return (math.Atan2(sinh, cos) + p.lon0) * 180 / math.Pi, math.Atan(tau) * 180 / math.Pi
}

// Scale returns the scale factor at a place, grid distance over distance on
// the ellipsoid; its square is the scale of areas.
func (p *TransverseMercator) Scale(lon, lat float64) float64 {
	lambda, phi := lon*math.Pi/180-p.lon0, lat*math.Pi/180
	cos := math.Cos(lambda)
	t := math.Tan(phi)
	tau := p.conformal(t)
	xi0, eta0 := math.Atan2(tau, cos), math.Asinh(math.Sin(lambda)/math.Hypot(tau, cos))
	re, im := 1.0, 0.0
	for j := 1; j <= 6; j++ {
		s, c := math.Sincos(2 * float64(j) * xi0)
		re += 2 * float64(j) * p.alpha[j] * c * math.Cosh(2*float64(j)*eta0)
		im += 2 * float64(j) * p.alpha[j] * s * math.Sinh(2*float64(j)*eta0)
	}
	sinPhi := math.Sin(phi)
	return p.radius / p.ellipsoid.A * math.Hypot(re, im) * math.Sqrt(1-p.e2*sinPhi*sinPhi) * math.Hypot(1, t) / math.Hypot(tau, cos)
}

func (p *TransverseMercator) figure() Ellipsoid { return p.ellipsoid }
func (p *TransverseMercator) meridian() float64 { return p.lon0 * 180 / math.Pi }

// AreaError names a place outside the area a grid is made for.
type AreaError struct {
	System string
	Text   string
}

func (e *AreaError) Error() string {
	return fmt.Sprintf("%s: %s; check longitude first and the grid of the site", e.System, e.Text)
}
