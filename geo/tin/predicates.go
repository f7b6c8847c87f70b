package tin

import "math"

// First-stage error bounds for round-to-even float64, eps = 2^-53: results
// larger than the bound times the sum of magnitudes have the right sign.
//
// Source: Shewchuk 1997, (3 + 16 eps) eps and (10 + 96 eps) eps. Valid while
// nothing underflows, which Build makes sure of.
const (
	eps           = 1.0 / (1 << 53)
	orientBound   = (3 + 16*eps) * eps
	inCircleBound = (10 + 96*eps) * eps
)

// Orient tells on which side of the directed line a→b the point c lies:
// positive on the left, negative on the right, 0 exactly on it. The sign is
// exact; the value is twice the area of the triangle, in the square of the
// unit given, within rounding.
func Orient(ax, ay, bx, by, cx, cy float64) float64 {
	l := float64((ax - cx) * (by - cy))
	r := float64((ay - cy) * (bx - cx))
	det := l - r
	if bound := float64(orientBound * (math.Abs(l) + math.Abs(r))); det > bound || -det > bound {
		return det
	}
	return orientExact(ax, ay, bx, by, cx, cy)
}

// orientExact computes the orientation with expansions.
func orientExact(ax, ay, bx, by, cx, cy float64) float64 {
	var bufs [4][2]float64
	acx := diff(ax, cx, &bufs[0])
	acy := diff(ay, cy, &bufs[1])
	bcx := diff(bx, cx, &bufs[2])
	bcy := diff(by, cy, &bufs[3])
	var p, q, d [16]float64
	l := expMul(p[:0], acx, bcy)
	r := expMul(q[:0], acy, bcx)
	negate(r)
	return estimate(expSum(d[:0], l, r))
}

// InCircle tells whether d lies inside the circle through a, b, c, which must
// turn anticlockwise: positive inside, negative outside, 0 exactly on it. The
// sign is exact.
func InCircle(ax, ay, bx, by, cx, cy, dx, dy float64) float64 {
	adx, ady := ax-dx, ay-dy
	bdx, bdy := bx-dx, by-dy
	cdx, cdy := cx-dx, cy-dy
	bc, cb := float64(bdx*cdy), float64(cdx*bdy)
	ca, ac := float64(cdx*ady), float64(adx*cdy)
	ab, ba := float64(adx*bdy), float64(bdx*ady)
	al := float64(adx*adx) + float64(ady*ady)
	bl := float64(bdx*bdx) + float64(bdy*bdy)
	cl := float64(cdx*cdx) + float64(cdy*cdy)
	det := float64(al*(bc-cb)) + float64(bl*(ca-ac)) + float64(cl*(ab-ba))
	permanent := float64(al*(math.Abs(bc)+math.Abs(cb))) +
		float64(bl*(math.Abs(ca)+math.Abs(ac))) +
		float64(cl*(math.Abs(ab)+math.Abs(ba)))
	if bound := float64(inCircleBound * permanent); det > bound || -det > bound {
		return det
	}
	return inCircleNearTie(ax, ay, bx, by, cx, cy, dx, dy)
}

// inCircleNearTie settles what the filter could not. Corners of one upright
// rectangle, the tie of every surveyed grid, are known without arithmetic.
func inCircleNearTie(ax, ay, bx, by, cx, cy, dx, dy float64) float64 {
	if rectangle(ax, ay, bx, by, cx, cy, dx, dy) ||
		rectangle(bx, by, cx, cy, ax, ay, dx, dy) ||
		rectangle(cx, cy, ax, ay, bx, by, dx, dy) {
		return 0
	}
	return inCircleExact(ax, ay, bx, by, cx, cy, dx, dy)
}

// rectangle reports whether p, q, r, d are corners of an upright rectangle
// with its right angle at q, d opposite.
func rectangle(px, py, qx, qy, rx, ry, dx, dy float64) bool {
	return (qx == px && qy == ry && dx == rx && dy == py) ||
		(qx == rx && qy == py && dx == px && dy == ry)
}

// inCircleExact computes the in-circle determinant with expansions. Each
// difference of two coordinates is one number or two; parts that are zero are
// dropped on the way, so that whole-number coordinates cost little.
func inCircleExact(ax, ay, bx, by, cx, cy, dx, dy float64) float64 {
	var bufs [6][2]float64
	adx, ady := diff(ax, dx, &bufs[0]), diff(ay, dy, &bufs[1])
	bdx, bdy := diff(bx, dx, &bufs[2]), diff(by, dy, &bufs[3])
	cdx, cdy := diff(cx, dx, &bufs[4]), diff(cy, dy, &bufs[5])
	var t1, t2, t3 [512]float64
	a := cofactor(t1[:0], adx, ady, bdx, bdy, cdx, cdy)
	b := cofactor(t2[:0], bdx, bdy, cdx, cdy, adx, ady)
	c := cofactor(t3[:0], cdx, cdy, adx, ady, bdx, bdy)
	var ab [1024]float64
	var abc [1536]float64
	return estimate(expSum(abc[:0], expSum(ab[:0], a, b), c))
}

// cofactor returns (px²+py²)(qx·ry - rx·qy) as an expansion.
func cofactor(out, px, py, qx, qy, rx, ry []float64) []float64 {
	var xx, yy, l, r [8]float64
	var lift, minor [16]float64
	lf := expSum(lift[:0], expMul(xx[:0], px, px), expMul(yy[:0], py, py))
	rr := expMul(r[:0], rx, qy)
	negate(rr)
	mn := expSum(minor[:0], expMul(l[:0], qx, ry), rr)
	return expMul(out, lf, mn)
}

// less orders places by x, then y: the order of the symbolic perturbation.
func less(ax, ay, bx, by float64) bool { return ax < bx || (ax == bx && ay < by) }

// insideCircle is InCircle with ties broken by the symbolic perturbation: it
// is never undecided. a, b, c turn anticlockwise; all four are distinct.
func (m *Mesh) insideCircle(a, b, c, d int32) bool {
	pa, pb, pc, pd := &m.P[a], &m.P[b], &m.P[c], &m.P[d]
	adx, ady := pa.X-pd.X, pa.Y-pd.Y
	bdx, bdy := pb.X-pd.X, pb.Y-pd.Y
	cdx, cdy := pc.X-pd.X, pc.Y-pd.Y
	bc, cb := float64(bdx*cdy), float64(cdx*bdy)
	ca, ac := float64(cdx*ady), float64(adx*cdy)
	ab, ba := float64(adx*bdy), float64(bdx*ady)
	al := float64(adx*adx) + float64(ady*ady)
	bl := float64(bdx*bdx) + float64(bdy*bdy)
	cl := float64(cdx*cdx) + float64(cdy*cdy)
	det := float64(al*(bc-cb)) + float64(bl*(ca-ac)) + float64(cl*(ab-ba))
	permanent := float64(al*(math.Abs(bc)+math.Abs(cb))) +
		float64(bl*(math.Abs(ca)+math.Abs(ac))) +
		float64(cl*(math.Abs(ab)+math.Abs(ba)))
	if bound := float64(inCircleBound * permanent); det > bound || -det > bound {
		return det > 0
	}
	return m.insideNearTie(pa, pb, pc, pd)
}

func (m *Mesh) insideNearTie(a, b, c, d *XY) bool {
	if det := inCircleNearTie(a.X, a.Y, b.X, b.Y, c.X, c.Y, d.X, d.Y); det != 0 {
		return det > 0
	}
	// On one circle: the last of the four in order is raised. Raising d puts
	// it outside; raising another puts d inside where that corner's minor of
	// the determinant is positive.
	last, sign := d, -1.0
	if less(last.X, last.Y, a.X, a.Y) {
		last, sign = a, Orient(d.X, d.Y, b.X, b.Y, c.X, c.Y)
	}
	if less(last.X, last.Y, b.X, b.Y) {
		last, sign = b, Orient(d.X, d.Y, c.X, c.Y, a.X, a.Y)
	}
	if less(last.X, last.Y, c.X, c.Y) {
		sign = Orient(d.X, d.Y, a.X, a.Y, b.X, b.Y)
	}
	return sign > 0
}

// orient is Orient for vertices.
func (m *Mesh) orient(a, b, c int32) float64 {
	pa, pb, pc := &m.P[a], &m.P[b], &m.P[c]
	l := float64((pa.X - pc.X) * (pb.Y - pc.Y))
	r := float64((pa.Y - pc.Y) * (pb.X - pc.X))
	det := l - r
	if bound := float64(orientBound * (math.Abs(l) + math.Abs(r))); det > bound || -det > bound {
		return det
	}
	return orientExact(pa.X, pa.Y, pb.X, pb.Y, pc.X, pc.Y)
}
