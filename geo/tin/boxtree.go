package tin

import (
	"math"
	"math/bits"
	"slices"
)

// Box is an upright rectangle on the plan.
type Box struct{ MinX, MinY, MaxX, MaxY float64 }

// EmptyBox holds nothing; extending it by a box gives that box.
func EmptyBox() Box {
	return Box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
}

// Overlaps reports whether two boxes share at least a point.
func (b Box) Overlaps(c Box) bool {
	return b.MinX <= c.MaxX && c.MinX <= b.MaxX && b.MinY <= c.MaxY && c.MinY <= b.MaxY
}

// Extend returns the smallest box around both.
func (b Box) Extend(c Box) Box {
	return Box{min(b.MinX, c.MinX), min(b.MinY, c.MinY), max(b.MaxX, c.MaxX), max(b.MaxY, c.MaxY)}
}

// Grow returns the box widened by d on every side.
func (b Box) Grow(d float64) Box {
	return Box{b.MinX - d, b.MinY - d, b.MaxX + d, b.MaxY + d}
}

// BoxTree finds the boxes of a fixed list that overlap a given one. It is a
// balanced tree over the boxes in the order of a Hilbert curve, good for any
// mix of sizes. Safe for use by several goroutines.
type BoxTree struct {
	items []int32 // indices of the boxes in curve order
	boxes []Box   // in the same order
	nodes []Box   // heap order, node 1 is the root
	first int     // node number of the first leaf
}

const leafSize = 8

// NewBoxTree makes the tree. The order in which Visit meets boxes is a
// function of the list.
func NewBoxTree(boxes []Box) *BoxTree {
	t := &BoxTree{items: hilbertOrder(boxes), boxes: make([]Box, len(boxes))}
	for i, item := range t.items {
		t.boxes[i] = boxes[item]
	}
	leaves := max(1, (len(boxes)+leafSize-1)/leafSize)
	t.first = 1 << bits.Len(uint(leaves-1))
	t.nodes = make([]Box, 2*t.first)
	for i := range t.first {
		b := EmptyBox()
		for k := i * leafSize; k < min((i+1)*leafSize, len(boxes)); k++ {
			b = b.Extend(t.boxes[k])
		}
		t.nodes[t.first+i] = b
	}
	for i := t.first - 1; i > 0; i-- {
		t.nodes[i] = t.nodes[2*i].Extend(t.nodes[2*i+1])
	}
	return t
}

// Order returns the indices of the boxes along the curve.
func (t *BoxTree) Order() []int32 { return t.items }

// Append appends to found the indices of all boxes that overlap b, in a fixed
// order, and returns it.
func (t *BoxTree) Append(found []int32, b Box) []int32 {
	var stack [64]int32
	stack[0] = 1
	for top := 1; top > 0; {
		top--
		node := stack[top]
		if !t.nodes[node].Overlaps(b) {
			continue
		}
		if int(node) < t.first {
			stack[top], stack[top+1] = 2*node+1, 2*node
			top += 2
			continue
		}
		lo := (int(node) - t.first) * leafSize
		for k := lo; k < min(lo+leafSize, len(t.boxes)); k++ {
			if t.boxes[k].Overlaps(b) {
				found = append(found, t.items[k])
			}
		}
	}
	return found
}

// hilbertOrder sorts boxes by the place of their middle on a Hilbert curve.
func hilbertOrder(boxes []Box) []int32 {
	all := EmptyBox()
	for _, b := range boxes {
		all = all.Extend(b)
	}
	scale := 65535 / max(all.MaxX-all.MinX, all.MaxY-all.MinY, 1e-300)
	type keyed struct {
		key  uint32
		item int32
	}
	keys := make([]keyed, len(boxes))
	for i, b := range boxes {
		x := uint32(((b.MinX+b.MaxX)/2 - all.MinX) * scale)
		y := uint32(((b.MinY+b.MaxY)/2 - all.MinY) * scale)
		keys[i] = keyed{hilbert(x, y), int32(i)}
	}
	slices.SortFunc(keys, func(a, b keyed) int {
		if a.key != b.key {
			if a.key < b.key {
				return -1
			}
			return 1
		}
		return int(a.item) - int(b.item)
	})
	order := make([]int32, len(keys))
	for i, k := range keys {
		order[i] = k.item
	}
	return order
}

// hilbert returns the distance along the curve of a cell of the 2^16 grid.
func hilbert(x, y uint32) uint32 {
	var d uint32
	for s := uint32(1 << 15); s > 0; s >>= 1 {
		var rx, ry uint32
		if x&s != 0 {
			rx = 1
		}
		if y&s != 0 {
			ry = 1
		}
		d += s * s * ((3 * rx) ^ ry)
		if ry == 0 {
			if rx == 1 {
				x, y = 65535-x, 65535-y
			}
			x, y = y, x
		}
	}
	return d
}
