package grid

import "math"

// XYZ is a geocentric place, metres.
type XYZ struct{ X, Y, Z float64 }

// Geocentric turns longitude and latitude in degrees and ellipsoidal height in
// metres into geocentric metres.
func (el Ellipsoid) Geocentric(lon, lat, height float64) XYZ {
	f := el.flattening()
	e2 := f * (2 - f)
	sinPhi, cosPhi := math.Sincos(lat * math.Pi / 180)
	sinL, cosL := math.Sincos(lon * math.Pi / 180)
	nu := el.A / math.Sqrt(1-e2*sinPhi*sinPhi)
	return XYZ{(nu + height) * cosPhi * cosL, (nu + height) * cosPhi * sinL, (nu*(1-e2) + height) * sinPhi}
}

// Geographic is the inverse of Geocentric, by iteration to the last digit.
// Meant for places near the ground.
func (el Ellipsoid) Geographic(p XYZ) (lon, lat, height float64) {
	f := el.flattening()
	e2 := f * (2 - f)
	rho := math.Hypot(p.X, p.Y)
	phi := math.Atan2(p.Z, rho*(1-e2))
	for range 10 {
		s := math.Sin(phi)
		nu := el.A / math.Sqrt(1-e2*s*s)
		next := math.Atan2(p.Z+e2*nu*s, rho)
		if next == phi {
			break
		}
		phi = next
	}
	s, c := math.Sincos(phi)
	nu := el.A / math.Sqrt(1-e2*s*s)
	height = rho*c + p.Z*s - el.A*el.A/nu
	return math.Atan2(p.Y, p.X) * 180 / math.Pi, phi * 180 / math.Pi, height
}

// Helmert is a shift between datums with seven parameters in the position
// vector form: metres, seconds of arc, parts per million.
//
// Source: EPSG guidance note 7-2, method 9606 (rotations small).
type Helmert struct{ TX, TY, TZ, RX, RY, RZ, PPM float64 }

// matrix returns the 3 × 3 part of the shift.
func (h Helmert) matrix() [3][3]float64 {
	const second = math.Pi / 180 / 3600
	rx, ry, rz, m := h.RX*second, h.RY*second, h.RZ*second, 1+h.PPM*1e-6
	return [3][3]float64{{m, -m * rz, m * ry}, {m * rz, m, -m * rx}, {-m * ry, m * rx, m}}
}

// Apply shifts a place.
func (h Helmert) Apply(p XYZ) XYZ {
	q := times(h.matrix(), p)
	return XYZ{q.X + h.TX, q.Y + h.TY, q.Z + h.TZ}
}

// Undo is the true inverse of Apply. Turning the signs of the parameters
// instead would miss by some 4 mm in Great Britain.
func (h Helmert) Undo(p XYZ) XYZ {
	return times(inverse(h.matrix()), XYZ{p.X - h.TX, p.Y - h.TY, p.Z - h.TZ})
}

func times(m [3][3]float64, p XYZ) XYZ {
	return XYZ{m[0][0]*p.X + m[0][1]*p.Y + m[0][2]*p.Z, m[1][0]*p.X + m[1][1]*p.Y + m[1][2]*p.Z, m[2][0]*p.X + m[2][1]*p.Y + m[2][2]*p.Z}
}

// inverse inverts a matrix by its cofactors.
func inverse(m [3][3]float64) [3][3]float64 {
	cof := func(i, j int) float64 {
		a, b := (i+1)%3, (i+2)%3
		c, d := (j+1)%3, (j+2)%3
		return m[a][c]*m[b][d] - m[a][d]*m[b][c]
	}
	det := m[0][0]*cof(0, 0) + m[0][1]*cof(0, 1) + m[0][2]*cof(0, 2)
	var out [3][3]float64
	for i := range 3 {
		for j := range 3 {
			out[j][i] = cof(i, j) / det
		}
	}
	return out
}
