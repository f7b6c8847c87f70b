package picture

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"math"
	"strconv"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
)

// pen draws on one picture.
type pen struct {
	img         *image.RGBA
	plain, bold font.Face
}

func newPen(img *image.RGBA) (*pen, error) {
	p := &pen{img: img}
	for _, f := range []struct {
		face *font.Face
		ttf  []byte
	}{{&p.plain, goregular.TTF}, {&p.bold, gobold.TTF}} {
		parsed, err := opentype.Parse(f.ttf)
		if err != nil {
			return nil, fmt.Errorf("font: %w", err)
		}
		if *f.face, err = opentype.NewFace(parsed, &opentype.FaceOptions{Size: 14, DPI: 72, Hinting: font.HintingFull}); err != nil {
			return nil, fmt.Errorf("font: %w", err)
		}
	}
	return p, nil
}

// text writes a line with its foot at y.
func (p *pen) text(x, y int, s string, bold bool) {
	face := p.plain
	if bold {
		face = p.bold
	}
	d := font.Drawer{Dst: p.img, Src: image.NewUniform(ink), Face: face, Dot: fixed.P(x, y)}
	d.DrawString(s)
}

func (p *pen) fill(r image.Rectangle, c color.RGBA) {
	draw.Draw(p.img, r, image.NewUniform(c), image.Point{}, draw.Src)
}

// frame draws the outline of a rectangle.
func (p *pen) frame(r image.Rectangle) {
	p.fill(image.Rect(r.Min.X, r.Min.Y, r.Max.X, r.Min.Y+1), ink)
	p.fill(image.Rect(r.Min.X, r.Max.Y-1, r.Max.X, r.Max.Y), ink)
	p.fill(image.Rect(r.Min.X, r.Min.Y, r.Min.X+1, r.Max.Y), ink)
	p.fill(image.Rect(r.Max.X-1, r.Min.Y, r.Max.X, r.Max.Y), ink)
}

// line draws a thin straight line, as far as it lies inside within.
func (p *pen) line(x0, y0, x1, y1 float64, within image.Rectangle) {
	n := int(min(math.Ceil(max(math.Abs(x1-x0), math.Abs(y1-y0))), 1e5))
	for i := 0; i <= n; i++ {
		f := 0.0
		if n > 0 {
			f = float64(i) / float64(n)
		}
		at := image.Pt(int(math.Floor(x0+f*(x1-x0))), int(math.Floor(y0+f*(y1-y0))))
		if at.In(within) {
			p.img.SetRGBA(at.X, at.Y, ink)
		}
	}
}

// legend lists the classes, highest first, and what hatching means.
func (p *pen) legend(x, y int, bounds [6]float64, tolerance float64) {
	p.text(x, y+14, "later less earlier level", true)
	for i, words := range labels(bounds) {
		box := image.Rect(x, y+(i+1)*lineHeight+2, x+28, y+(i+2)*lineHeight-2)
		p.fill(box, ramp[6-i])
		p.frame(box)
		if i == 3 && tolerance > 0 {
			words += " (within tolerance)"
		}
		p.text(x+38, y+(i+2)*lineHeight-6, words, false)
	}
	box := image.Rect(x, y+8*lineHeight+2, x+28, y+9*lineHeight-2)
	for py := box.Min.Y; py < box.Max.Y; py++ {
		for px := box.Min.X; px < box.Max.X; px++ {
			if (px+py)%8 == 0 {
				p.img.SetRGBA(px, py, faint)
			}
		}
	}
	p.frame(box)
	p.text(x+38, y+9*lineHeight-6, "not on both surveys, or outside the area", false)
}

// northArrow draws an arrow to grid north.
func (p *pen) northArrow(x, y int) {
	for i := range 34 {
		half := i / 3
		p.fill(image.Rect(x+12-half, y+i, x+13+half, y+i+1), ink)
	}
	p.text(x+34, y+24, "grid north", false)
}

// scaleBar draws a bar of a round length of at most a third of the plan.
func (p *pen) scaleBar(x, y int, east, scale float64) {
	length := niceBelow(east / 3)
	if length == 0 {
		return
	}
	w := int(math.Round(length * scale))
	p.fill(image.Rect(x, y, x+w/2, y+8), ink)
	p.frame(image.Rect(x, y, x+w, y+8))
	words := strconv.FormatFloat(length, 'f', -1, 64) + " m"
	p.text(x+w+8, y+10, words, false)
}
