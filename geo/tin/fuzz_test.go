package tin

import (
	"encoding/binary"
	"errors"
	"math"
	"slices"
	"testing"
)

// decodePoints turns bytes into points that tend to coincide, line up and
// share circles: small lattices, nudges of 1e-9 and a few free numbers.
func decodePoints(data []byte) []Point {
	var pts []Point
	for len(data) >= 4 && len(pts) < 400 {
		x, y := float64(int8(data[0])), float64(int8(data[1]))
		switch data[2] % 8 {
		case 0, 1, 2:
			x, y = math.Trunc(x/8), math.Trunc(y/8)
		case 3:
			x += float64(int8(data[3])) * 1e-9
		case 4:
			y = x
		case 5:
			x, y = x*0.1+600000, y*0.1+5500000
		case 6:
			x, y = x*1e-3, y*1e-3
		case 7:
			if len(data) >= 12 {
				x = math.Float64frombits(binary.LittleEndian.Uint64(data[4:]))
			}
		}
		pts = append(pts, Point{x, y, float64(data[3])})
		data = data[4:]
	}
	return pts
}

func FuzzBuild(f *testing.F) {
	f.Add([]byte("\x00\x00\x06\x01\x10\x00\x06\x01\x00\x10\x06\x01\x10\x10\x06\x01"), uint8(1))
	f.Add([]byte("a grid of letters makes points as well as anything else could"), uint8(3))
	f.Fuzz(func(t *testing.T, data []byte, nlines uint8) {
		pts := decodePoints(data)
		m, err := Build(pts)
		var ce *CoordinateError
		if errors.Is(err, ErrTooFew) || errors.Is(err, ErrCollinear) || errors.As(err, &ce) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		if err := m.Check(); err != nil {
			t.Fatal(err)
		}
		back := slices.Clone(pts)
		slices.Reverse(back)
		again, err := Build(back)
		if err != nil || !slices.Equal(m.Origin, again.Origin) || !slices.Equal(m.P, again.P) {
			t.Fatalf("reversed input gives another mesh (%v)", err)
		}
		fuzzLines(t, pts, int(nlines)%16)
	})
}

func fuzzLines(t *testing.T, pts []Point, n int) {
	var lines []Line
	for i := range min(n, len(pts)/2) {
		lines = append(lines, Line{pts[i], pts[len(pts)-1-i]})
	}
	net, err := Node(pts, lines, NodeLimits{SnapM: 1e-6, Flat: true})
	if err != nil {
		return // points nearer than the snap distance, or lines that cannot be told apart
	}
	m, err := BuildConstrained(net.Points, net.Segments)
	if err != nil {
		t.Fatal(err)
	}
	if err := m.Check(); err != nil {
		t.Fatal(err)
	}
}
