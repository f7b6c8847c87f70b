// Package tin triangulates points on the plan: Delaunay triangulation with
// exact predicates, and the constrained one with breaklines.
//
// The result is a function of the set of points (and of the set of lines)
// alone. Four points on one circle have two Delaunay diagonals; the tie is
// broken by raising every point's lifted height by an infinitesimal amount,
// infinitely larger for the point later in the order by x, then y. That
// leaves one triangulation, whatever the order of the input.
//
// Method: divide and conquer over a k-d partition of the points, with one
// symbolic point at infinity, so that no triangle at the hull can be lost.
// Source: L. Guibas and J. Stolfi, "Primitives for the manipulation of general
// subdivisions and the computation of Voronoi diagrams", ACM Transactions on
// Graphics 4 (1985); the alternating cuts after R. Dwyer (1987); the adaptive
// predicates after J. Shewchuk, "Adaptive precision floating-point arithmetic
// and fast robust geometric predicates" (1997). All three from memory.
package tin
