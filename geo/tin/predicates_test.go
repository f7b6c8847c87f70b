package tin

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"
)

func rat(v float64) *big.Rat { return new(big.Rat).SetFloat64(v) }

func minus(a, b *big.Rat) *big.Rat { return new(big.Rat).Sub(a, b) }

func times(a, b *big.Rat) *big.Rat { return new(big.Rat).Mul(a, b) }

func plus(a, b *big.Rat) *big.Rat { return new(big.Rat).Add(a, b) }

// orientRat and inCircleRat are the determinants in exact rational arithmetic.
func orientRat(v [6]float64) int {
	ax, ay := minus(rat(v[0]), rat(v[4])), minus(rat(v[1]), rat(v[5]))
	bx, by := minus(rat(v[2]), rat(v[4])), minus(rat(v[3]), rat(v[5]))
	return minus(times(ax, by), times(ay, bx)).Sign()
}

func inCircleRat(v [8]float64) int {
	var x, y, l [3]*big.Rat
	for i := range 3 {
		x[i], y[i] = minus(rat(v[2*i]), rat(v[6])), minus(rat(v[2*i+1]), rat(v[7]))
		l[i] = plus(times(x[i], x[i]), times(y[i], y[i]))
	}
	det := new(big.Rat)
	for i := range 3 {
		j, k := (i+1)%3, (i+2)%3
		det.Add(det, times(l[i], minus(times(x[j], y[k]), times(x[k], y[j]))))
	}
	return det.Sign()
}

func sign(v float64) int {
	switch {
	case v > 0:
		return 1
	case v < 0:
		return -1
	}
	return 0
}

// awkward draws coordinates that make predicates fail: nearly equal, on
// lattices, of wildly different size, far from the origin.
func awkward(r *rand.Rand) float64 {
	switch r.IntN(6) {
	case 0:
		return float64(r.IntN(5))
	case 1:
		return 0.5 + float64(r.IntN(64))*0x1p-53
	case 2:
		return 600000 + float64(r.IntN(3)) + float64(r.IntN(16))*0x1p-33
	case 3:
		return math.Round(r.Float64()*1000) / 1000
	case 4:
		return r.Float64() * math.Pow(2, float64(r.IntN(80)-60))
	}
	return float64(r.IntN(4)) * 0.1
}

func TestPredicatesAgainstRationals(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	counts := map[int]int{}
	for range 60000 {
		var v [8]float64
		one := awkward(r)
		for i := range v {
			if v[i] = awkward(r); r.IntN(3) == 0 {
				v[i] = one
			}
		}
		six := [6]float64(v[:6])
		if got, want := sign(Orient(v[0], v[1], v[2], v[3], v[4], v[5])), orientRat(six); got != want {
			t.Fatalf("orient %v: %d, want %d", six, got, want)
		}
		want := inCircleRat(v)
		counts[want]++
		if got := sign(InCircle(v[0], v[1], v[2], v[3], v[4], v[5], v[6], v[7])); got != want {
			t.Fatalf("in circle %v: %d, want %d", v, got, want)
		}
		if got := sign(inCircleExact(v[0], v[1], v[2], v[3], v[4], v[5], v[6], v[7])); got != want {
			t.Fatalf("in circle, expansions, %v: %d, want %d", v, got, want)
		}
	}
	if counts[0] < 1000 || counts[1] < 1000 || counts[-1] < 1000 {
		t.Errorf("the cases are lopsided: %v", counts)
	}
}

// The points of a line y = x shifted by single bits: plain float64 gets the
// side wrong for many of them.
func TestOrientNearALine(t *testing.T) {
	wrong := 0
	for i := range 64 {
		for j := range 64 {
			x, y := 0.5+float64(i)*0x1p-53, 0.5+float64(j)*0x1p-53
			v := [6]float64{x, y, 12, 12, 24, 24}
			want := orientRat(v)
			if got := sign(Orient(v[0], v[1], v[2], v[3], v[4], v[5])); got != want {
				t.Fatalf("%v: %d, want %d", v, got, want)
			}
			plain := float64((v[0]-v[4])*(v[3]-v[5])) - float64((v[1]-v[5])*(v[2]-v[4]))
			if sign(plain) != want {
				wrong++
			}
		}
	}
	if wrong == 0 {
		t.Error("the cases are too easy: plain arithmetic gets all of them right")
	}
}

// The tie rule must be a property of the four points: whichever triangle is
// asked, exactly one diagonal of a cocircular quadrilateral is Delaunay.
func TestTieRuleIsConsistent(t *testing.T) {
	quads := [][]XY{
		{{0, 0}, {1, 0}, {1, 1}, {0, 1}},
		{{5, 0}, {4, 3}, {-3, 4}, {0, -5}},
		{{0, -5}, {5, 0}, {3, 4}, {-4, 3}},
		{{600000.1, 55.3}, {600000.2, 55.3}, {600000.2, 55.4}, {600000.1, 55.4}},
	}
	for _, q := range quads {
		m := &Mesh{P: q}
		if m.orient(0, 1, 2) < 0 {
			m.P = []XY{q[3], q[2], q[1], q[0]}
		}
		if InCircle(m.P[0].X, m.P[0].Y, m.P[1].X, m.P[1].Y, m.P[2].X, m.P[2].Y, m.P[3].X, m.P[3].Y) != 0 {
			t.Fatalf("%v is not on one circle", q)
		}
		first := m.insideCircle(0, 1, 2, 3)
		for k, tri := range [][4]int32{{0, 1, 2, 3}, {1, 2, 0, 3}, {2, 0, 1, 3}, {2, 3, 0, 1}, {3, 0, 2, 1}, {1, 2, 3, 0}, {0, 1, 3, 2}, {3, 0, 1, 2}} {
			want := first // triangles on the diagonal 0-2
			if k >= 5 {
				want = !first
			}
			if got := m.insideCircle(tri[0], tri[1], tri[2], tri[3]); got != want {
				t.Errorf("%v %v: %v, want %v", q, tri, got, want)
			}
		}
	}
}

func TestBoxTreeFindsAll(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	for _, n := range []int{0, 1, 7, 8, 9, 500} {
		boxes := make([]Box, n)
		for i := range boxes {
			x, y, w := r.Float64()*100, r.Float64()*100, math.Pow(r.Float64(), 4)*50
			boxes[i] = Box{x, y, x + w, y + w/3}
		}
		tree := NewBoxTree(boxes)
		for range 200 {
			x, y := r.Float64()*120-10, r.Float64()*120-10
			ask := Box{x, y, x + r.Float64()*10, y + r.Float64()*10}
			got := map[int32]bool{}
			for _, k := range tree.Append(nil, ask) {
				got[k] = true
			}
			for i, b := range boxes {
				if b.Overlaps(ask) != got[int32(i)] {
					t.Fatalf("n %d, box %d: found %v", n, i, got[int32(i)])
				}
			}
		}
	}
}
