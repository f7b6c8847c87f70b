package grid

import (
	"errors"
	"fmt"
	"math"
	"sync"
)

// Geodesics on the ellipsoid by Bessel's auxiliary sphere. On it a geodesic is
// a great circle of reduced latitude β, and with σ the arc along it, α₀ its
// azimuth at the equator and ω the longitude on the sphere
//
//	ds = a √(1 − e² cos²β) dσ,  dλ = √(1 − e² cos²β) dω,  dω = sin α₀ / cos²β dσ.
//
// The integrals are taken by Gauss and Legendre's quadrature instead of series.
//
// Source: F. Bessel (1825), as in C. Karney, "Algorithms for geodesics",
// Journal of Geodesy 87 (2013), equations 7, 8 and 59 (from memory; checked
// against GeographicLib figures).

// ErrFarApart is returned for geodesics of more than a quarter of the globe,
// which no plan has.
var ErrFarApart = errors.New("more than 90 degrees apart")

// arcPiece is the longest arc, in radians, of one quadrature.
const arcPiece = 0.05

// legendre returns the nodes and weights of quadrature on -1 to 1.
var legendre = sync.OnceValues(func() (x, w [10]float64) {
	n := len(x)
	for i := range n {
		z := math.Cos(math.Pi * (float64(i) + 0.75) / (float64(n) + 0.5))
		for range 100 {
			p, q := 1.0, 0.0
			for k := range n {
				p, q = (float64((2*float64(k)+1)*z*p)-float64(float64(k)*q))/(float64(k)+1), p
			}
			slope := float64(n) * (float64(z*p) - q) / (float64(z*z) - 1)
			step := p / slope
			z -= step
			x[i], w[i] = z, 2/((1-float64(z*z))*slope*slope)
			if math.Abs(step) < 1e-16 {
				break
			}
		}
	}
	return x, w
})

// integrate returns the integral of f from a to b.
func integrate(a, b float64, f func(float64) float64) float64 {
	x, w := legendre()
	pieces := int(math.Ceil(math.Abs(b-a)/arcPiece)) + 1
	h := (b - a) / float64(pieces)
	sum := 0.0
	for k := range pieces {
		mid := a + float64((float64(k)+0.5)*h)
		for i := range x {
			sum += float64(w[i] * f(mid+float64(x[i]*h/2)))
		}
	}
	return sum * h / 2
}

// geodesic is the shortest line between two places.
type geodesic struct {
	sinAlpha0, cosAlpha0 float64
	sigma1, sigma2       float64
	e2, f, a             float64
}

// cos2 returns cos²β at an arc along the line.
func (g *geodesic) cos2(sigma float64) float64 {
	s := g.cosAlpha0 * math.Sin(sigma)
	return 1 - float64(s*s)
}

func (g *geodesic) root(sigma float64) float64 { return math.Sqrt(1 - float64(g.e2*g.cos2(sigma))) }

// between finds the geodesic from one place to another, degrees.
func (el Ellipsoid) between(lon1, lat1, lon2, lat2 float64) (*geodesic, error) {
	f := el.flattening()
	g := &geodesic{e2: f * (2 - f), f: f, a: el.A}
	beta1, beta2 := math.Atan((1-f)*math.Tan(lat1*math.Pi/180)), math.Atan((1-f)*math.Tan(lat2*math.Pi/180))
	lambda := math.Remainder(lon2-lon1, 360) * math.Pi / 180
	s1, c1 := math.Sincos(beta1)
	s2, c2 := math.Sincos(beta2)
	omega := lambda
	for k := range 30 {
		so, co := math.Sincos(omega)
		y, x := c2*so, float64(c1*s2)-float64(s1*c2*co)
		cosArc := float64(s1*s2) + float64(c1*c2*co)
		arc := math.Atan2(math.Hypot(y, x), cosArc)
		if arc > math.Pi/2 {
			return nil, ErrFarApart
		}
		alpha1 := math.Atan2(y, x)
		g.sinAlpha0 = math.Sin(alpha1) * c1
		g.cosAlpha0 = math.Hypot(math.Cos(alpha1), math.Sin(alpha1)*s1)
		g.sigma1 = math.Atan2(s1, math.Cos(alpha1)*c1)
		g.sigma2 = g.sigma1 + arc
		next := lambda + float64(g.sinAlpha0*integrate(g.sigma1, g.sigma2, func(s float64) float64 { return g.e2 / (1 + g.root(s)) }))
		done := math.Abs(next-omega) < 1e-16
		if omega = next; done && k > 0 {
			break
		}
	}
	return g, nil
}

// Distance returns the length of the geodesic between two places in degrees,
// metres.
func (el Ellipsoid) Distance(lon1, lat1, lon2, lat2 float64) (float64, error) {
	g, err := el.between(lon1, lat1, lon2, lat2)
	if err != nil {
		return 0, err
	}
	return el.A * integrate(g.sigma1, g.sigma2, g.root), nil
}

// Length returns the length of a line of longitudes and latitudes, metres.
func (el Ellipsoid) Length(line [][2]float64) (float64, error) {
	sum := 0.0
	for i := 1; i < len(line); i++ {
		d, err := el.Distance(line[i-1][0], line[i-1][1], line[i][0], line[i][1])
		if err != nil {
			return 0, fmt.Errorf("between positions %d and %d: %w", i, i+1, err)
		}
		sum += d
	}
	return sum, nil
}

// strip returns the area between the equator and a latitude for each radian of
// longitude, square metres, by the sine of the latitude.
// Source: J. Snyder, Map Projections: A Working Manual, equation 3-12, from
// memory.
func (el Ellipsoid) strip(sinPhi float64) float64 {
	f := el.flattening()
	e2 := f * (2 - f)
	e := math.Sqrt(e2)
	return el.A * el.A * (1 - e2) / 2 * (sinPhi/(1-float64(e2*sinPhi*sinPhi)) + math.Atanh(e*sinPhi)/e)
}

// Area returns the area on the ellipsoid of rings of longitudes and latitudes
// in degrees, joined by geodesics, in square metres: the first ring less the
// others, whichever way they are wound. Rings need not be closed. No ring may
// hold a pole.
//
// The area is that between each side and the equator; good to 1e-9 of itself,
// or a square millimetre a kilometre of side.
func (el Ellipsoid) Area(rings ...[][2]float64) (float64, error) {
	area := 0.0
	for i, ring := range rings {
		a, err := el.ringArea(ring)
		if err != nil {
			return 0, fmt.Errorf("ring %d: %w", i, err)
		}
		if i == 0 {
			area = math.Abs(a)
		} else {
			area -= math.Abs(a)
		}
	}
	return area, nil
}

func (el Ellipsoid) ringArea(ring [][2]float64) (float64, error) {
	if len(ring) < 3 {
		return 0, fmt.Errorf("%d positions enclose no area", len(ring))
	}
	// Taken from the latitude of the first corner instead of the equator, so
	// that small areas keep their digits.
	base := el.strip(math.Sin(ring[0][1] * math.Pi / 180))
	sum, turned := 0.0, 0.0
	for i, p := range ring {
		q := ring[(i+1)%len(ring)]
		if math.Abs(p[1]) >= 89.9 {
			return 0, fmt.Errorf("latitude %v is too near a pole", p[1])
		}
		if p == q {
			continue
		}
		turned += math.Remainder(q[0]-p[0], 360)
		g, err := el.between(p[0], p[1], q[0], q[1])
		if err != nil {
			return 0, fmt.Errorf("between positions %d and %d: %w", i+1, i+2, err)
		}
		if g.sinAlpha0 == 0 {
			continue // along a meridian
		}
		sum += integrate(g.sigma1, g.sigma2, func(s float64) float64 {
			sinBeta := g.cosAlpha0 * math.Sin(s)
			// tan β = (1 − f) tan φ
			sinPhi := sinBeta / math.Sqrt(float64((1-g.f)*(1-g.f)*(1-float64(sinBeta*sinBeta)))+float64(sinBeta*sinBeta))
			return (el.strip(sinPhi) - base) * g.root(s) * g.sinAlpha0 / g.cos2(s)
		})
	}
	if math.Abs(turned) > 1 {
		return 0, fmt.Errorf("the ring goes round a pole")
	}
	return sum, nil
}

// Areas is one area stated in its several senses, square metres.
type Areas struct {
	GridM2      float64 // on the plane of the grid, as on drawings
	EllipsoidM2 float64 // on the ellipsoid of the grid's datum
	GroundM2    float64 // at the level given
	Scale       float64 // of the grid in the middle of the area: grid over ellipsoid distance
	LevelM      float64
}

// earthRadiusM is a mean radius of the earth, for the small step from the
// ellipsoid to the ground. Source: IUGG mean radius R₁, 6371008.8 m, rounded.
const earthRadiusM = 6371000

// Areas states an area given by rings in grid metres (the first outer, the
// others holes) on the grid, on the ellipsoid, and on the ground at a level in
// metres: ellipsoid × (1 + level/6371000)². Sides are taken as straight on the
// grid and as geodesics on the ellipsoid, which differ by less than 1e-8 of the
// area over a few kilometres.
func (s *System) Areas(levelM float64, rings ...[][2]float64) (Areas, error) {
	if s.projection == nil {
		return Areas{}, fmt.Errorf("%s is never used for areas", s.Name)
	}
	out := Areas{LevelM: levelM}
	var geographic [][][2]float64
	for i, ring := range rings {
		var g [][2]float64
		plane := 0.0
		for k, p := range ring {
			if _, _, err := s.ToWGS84(p[0], p[1]); err != nil {
				return Areas{}, err
			}
			lon, lat := s.projection.Inverse(p[0], p[1])
			g = append(g, [2]float64{lon, lat})
			q := ring[(k+1)%len(ring)]
			plane += float64((p[0]-ring[0][0])*(q[1]-ring[0][1])) - float64((p[1]-ring[0][1])*(q[0]-ring[0][0]))
		}
		if i == 0 {
			out.GridM2 = math.Abs(plane) / 2
			lon, lat := 0.0, 0.0
			for _, p := range g {
				lon, lat = lon+p[0]/float64(len(g)), lat+p[1]/float64(len(g))
			}
			out.Scale = s.projection.Scale(lon, lat)
		} else {
			out.GridM2 -= math.Abs(plane) / 2
		}
		geographic = append(geographic, g)
	}
	var err error
	if out.EllipsoidM2, err = s.projection.figure().Area(geographic...); err != nil {
		return Areas{}, err
	}
	k := 1 + levelM/earthRadiusM
	out.GroundM2 = out.EllipsoidM2 * k * k
	return out, nil
}
