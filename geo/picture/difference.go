// Package picture draws what package surface computes: plans of differences of
// level with legend, scale bar and north. Pictures are for looking at; figures
// come from the surfaces themselves.
package picture

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"github.com/swardbook/swardbook/geo/survey"
)

// Options steer Difference.
type Options struct {
	Title      string
	Notes      []string      // lines under the legend: cautions, what is compared
	ToleranceM float64       // ±, metres; 0: classes by the largest difference
	Lines      [][]orb.Point // drawn over the plan: contours, boundaries; grid metres
	WidthPx    int           // of the plan; default 1000
}

// Sizes in pixels.
const (
	margin      = 24
	legendWidth = 300
	lineHeight  = 22
	maxSidePx   = 4000
)

// The ramp runs from orange, lowered, over a near white to purple, raised: told
// apart by people who see no red or green. Source: the PuOr scheme of
// C. Brewer, 7 classes, from memory.
var ramp = [7]color.RGBA{
	{0xb3, 0x58, 0x06, 0xff}, {0xf1, 0xa3, 0x40, 0xff}, {0xfe, 0xe0, 0xb6, 0xff}, {0xf7, 0xf7, 0xf7, 0xff},
	{0xd8, 0xda, 0xeb, 0xff}, {0x99, 0x8e, 0xc3, 0xff}, {0x54, 0x27, 0x88, 0xff},
}

var (
	paper = color.RGBA{0xff, 0xff, 0xff, 0xff}
	ink   = color.RGBA{0x22, 0x22, 0x22, 0xff}
	faint = color.RGBA{0xc4, 0xc4, 0xc4, 0xff}
)

// Bounds returns the six limits between the seven classes, metres: at one, two
// and three times the tolerance to either side, or at rounded steps up to the
// largest difference.
func Bounds(g *survey.Grid, toleranceM float64) [6]float64 {
	step := toleranceM
	if !(step > 0) {
		largest := 0.0
		for _, v := range g.Levels {
			if !math.IsNaN(v) {
				largest = max(largest, math.Abs(v))
			}
		}
		step = niceBelow(largest / 3)
		if step == 0 {
			step = 0.01
		}
	}
	return [6]float64{-3 * step, -2 * step, -step, step, 2 * step, 3 * step}
}

// niceBelow returns the largest 1, 2 or 5 times a power of ten not above v.
func niceBelow(v float64) float64 {
	if !(v > 0) || math.IsInf(v, 0) {
		return 0
	}
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, k := range [3]float64{5, 2, 1} {
		if k*p <= v*(1+1e-12) {
			return k * p
		}
	}
	return p
}

// class returns the place of a difference in the ramp. What lies on a limit
// belongs to the class nearer to 0.
func class(v float64, bounds [6]float64) int {
	switch {
	case v < bounds[0]:
		return 0
	case v < bounds[1]:
		return 1
	case v < bounds[2]:
		return 2
	case v <= bounds[3]:
		return 3
	case v <= bounds[4]:
		return 4
	case v <= bounds[5]:
		return 5
	}
	return 6
}

// labels are the words of the legend, signed, highest first.
func labels(b [6]float64) [7]string {
	m := func(v float64) string {
		s := strconv.FormatFloat(math.Abs(v), 'f', 3, 64)
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
		if v < 0 {
			return "−" + s
		}
		return "+" + s
	}
	return [7]string{
		"above " + m(b[5]) + " m", m(b[4]) + " to " + m(b[5]) + " m", m(b[3]) + " to " + m(b[4]) + " m",
		m(b[2]) + " to " + m(b[3]) + " m",
		m(b[2]) + " to " + m(b[1]) + " m", m(b[1]) + " to " + m(b[0]) + " m", "below " + m(b[0]) + " m",
	}
}

// Difference draws a grid of differences of level, later less earlier, in
// seven classes; cells without a difference are hatched.
func Difference(g *survey.Grid, o Options) (*image.RGBA, error) {
	if g.Cols < 1 || g.Rows < 1 || len(g.Levels) != g.Cols*g.Rows {
		return nil, fmt.Errorf("a grid of %d by %d cells cannot be drawn", g.Cols, g.Rows)
	}
	width := o.WidthPx
	if width == 0 {
		width = 1000
	}
	east, north := float64(g.Cols)*g.DE, float64(g.Rows)*g.DN
	scale := float64(width) / east // pixels a metre
	if north*scale > maxSidePx || east*scale > maxSidePx {
		scale = maxSidePx / max(north, east)
	}
	w, h := max(int(math.Ceil(east*scale)), 1), max(int(math.Ceil(north*scale)), 1)
	top := margin
	if o.Title != "" {
		top += lineHeight + 8
	}
	body := max(h+60, 9*lineHeight+120)
	img := image.NewRGBA(image.Rect(0, 0, w+legendWidth+3*margin, top+body+len(o.Notes)*lineHeight+margin))
	draw.Draw(img, img.Bounds(), image.NewUniform(paper), image.Point{}, draw.Src)
	pen, err := newPen(img)
	if err != nil {
		return nil, err
	}
	if o.Title != "" {
		pen.text(margin, margin+14, o.Title, true)
	}
	bounds := Bounds(g, o.ToleranceM)
	at := func(e, n float64) (x, y float64) {
		return margin + (e-(g.E0-g.DE/2))*scale, float64(top+h) - (n-(g.N0-g.DN/2))*scale
	}
	for y := range h {
		row := min(int((float64(h-1-y)+0.5)/scale/g.DN), g.Rows-1)
		for x := range w {
			col := min(int((float64(x)+0.5)/scale/g.DE), g.Cols-1)
			v := g.At(col, row)
			c := paper
			switch {
			case !math.IsNaN(v):
				c = ramp[class(v, bounds)]
			case (x+y)%8 == 0:
				c = faint
			}
			img.SetRGBA(margin+x, top+y, c)
		}
	}
	for _, l := range o.Lines {
		for i := 1; i < len(l); i++ {
			x0, y0 := at(l[i-1][0], l[i-1][1])
			x1, y1 := at(l[i][0], l[i][1])
			pen.line(x0, y0, x1, y1, image.Rect(margin, top, margin+w, top+h))
		}
	}
	pen.frame(image.Rect(margin-1, top-1, margin+w+1, top+h+1))
	pen.legend(w+2*margin, top, bounds, o.ToleranceM)
	pen.northArrow(w+2*margin+8, top+9*lineHeight+24)
	pen.scaleBar(margin, top+h+26, east, scale)
	for i, n := range o.Notes {
		pen.text(margin, top+body+(i+1)*lineHeight-6, n, false)
	}
	return img, nil
}
