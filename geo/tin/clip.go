package tin

// ClipTriangle cuts a convex polygon down to its part inside a triangle that
// turns anticlockwise, and returns it in out or spare, which must not share
// memory with poly. Fewer than three corners mean that nothing is left. A
// polygon that only touches the triangle leaves nothing.
func ClipTriangle(poly []XY, a, b, c XY, out, spare []XY) []XY {
	out = clipHalf(poly, a, b, out[:0])
	if len(out) < 3 {
		return out[:0]
	}
	spare = clipHalf(out, b, c, spare[:0])
	if len(spare) < 3 {
		return spare[:0]
	}
	out = clipHalf(spare, c, a, out[:0])
	if len(out) < 3 {
		return out[:0]
	}
	return out
}

// clipHalf keeps the part of a convex polygon left of a→b.
func clipHalf(poly []XY, a, b XY, out []XY) []XY {
	ux, uy := b.X-a.X, b.Y-a.Y
	last := poly[len(poly)-1]
	// The products are rounded apart, so that an end of the edge itself lies
	// exactly on it.
	sLast := float64(ux*(last.Y-a.Y)) - float64(uy*(last.X-a.X))
	for _, p := range poly {
		s := float64(ux*(p.Y-a.Y)) - float64(uy*(p.X-a.X))
		if (s > 0 && sLast < 0) || (s < 0 && sLast > 0) {
			t := sLast / (sLast - s)
			out = append(out, XY{last.X + float64(t*(p.X-last.X)), last.Y + float64(t*(p.Y-last.Y))})
		}
		if s >= 0 {
			out = append(out, p)
		}
		last, sLast = p, s
	}
	return out
}

// PolygonArea returns the area of a polygon that turns anticlockwise, in the
// square of its unit, relative to its first corner so that coordinates far
// from the origin cost no digits.
func PolygonArea(poly []XY) float64 {
	var twice float64
	for i := 1; i+1 < len(poly); i++ {
		p, q := poly[i], poly[i+1]
		twice += float64((p.X-poly[0].X)*(q.Y-poly[0].Y)) - float64((p.Y-poly[0].Y)*(q.X-poly[0].X))
	}
	return twice / 2
}
