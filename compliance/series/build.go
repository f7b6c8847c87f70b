package series

// builder collects the readings of one channel into blocks by UTC day.
type builder struct {
	blocks []*Block
	day    int64
	valid  int64
	last   cell // for telling repeated rows
}

// add appends a reading; start must be above the one before.
func (b *builder) add(start, span int64, c cell) {
	b.last = c
	if c.mark.Counts() {
		b.valid++
	}
	var block *Block
	if n := len(b.blocks); n > 0 {
		block = b.blocks[n-1]
	}
	day := floorDay(start)
	if block == nil || day != b.day || block.Span != span || !block.fit(c.places) || !block.holds(&c) {
		block = &Block{Span: span, Places: c.places}
		b.blocks = append(b.blocks, block)
		b.day = day
	}
	block.Start = append(block.Start, start)
	block.Coefficient = append(block.Coefficient, c.coefficient)
	block.Mark = append(block.Mark, c.mark)
}

// holds brings the cell to the places of the block and tells whether it fits.
func (b *Block) holds(c *cell) bool {
	by, ok := power(b.Places - c.places)
	if !ok {
		return false
	}
	scaled, ok := times(c.coefficient, by)
	if ok {
		c.coefficient, c.places = scaled, b.Places
	}
	return ok
}

// fit gives the block at least the places, where all its values still fit.
func (b *Block) fit(places int8) bool {
	if places <= b.Places {
		return true
	}
	by, ok := power(places - b.Places)
	if !ok {
		return false
	}
	for _, c := range b.Coefficient {
		if _, ok := times(c, by); !ok {
			return false
		}
	}
	for i := range b.Coefficient {
		b.Coefficient[i] *= by
	}
	b.Places = places
	return true
}

func power(n int8) (int64, bool) {
	if n < 0 || n > 18 {
		return 0, false
	}
	p := int64(1)
	for ; n > 0; n-- {
		p *= 10
	}
	return p, true
}

// times multiplies where the product keeps to 18 digits.
func times(c, by int64) (int64, bool) {
	limit := int64(maxCoefficient-1) / by
	if c > limit || c < -limit {
		return 0, false
	}
	return c * by, true
}
