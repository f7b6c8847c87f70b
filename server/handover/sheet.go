package handover

import (
	"fmt"
	"math"
	"sort"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
)

// Measures of a sheet of A4 in points. Positions are laid out here and not by
// the PDF library, and rounded to hundredths of a point, so that the same
// statement gives the same bytes on every processor.
const (
	edge     = 56.0
	top      = 58.0
	bottom   = 770.0
	textWide = 483.0
	footLine = 800.0
)

// style is how a text is set.
type style struct {
	font string // "regular", "bold", "mono"
	size float64
	lead float64 // from line to line
}

var (
	styleTitle  = style{"bold", 22, 27}
	styleHead   = style{"bold", 13, 17}
	styleStrong = style{"bold", 9.5, 13}
	styleText   = style{"regular", 9.5, 13}
	styleSmall  = style{"regular", 8, 10.5}
	styleMono   = style{"mono", 8, 11.5}
)

// sheet is a document being set line by line from the top.
type sheet struct {
	pdf    *fpdf.Fpdf
	y      float64
	fonts  map[string]*sfnt.Font
	buf    sfnt.Buffer
	absent map[rune]bool // characters no font here has
	foot   string
	pages  int    // of the whole, once known
	again  func() // sets the head of a table anew on each page
}

func newSheet(title, foot string, at time.Time, pages int) (*sheet, error) {
	s := &sheet{fonts: map[string]*sfnt.Font{}, absent: map[rune]bool{}, foot: foot, pages: pages}
	s.pdf = fpdf.New("P", "pt", "A4", "")
	s.pdf.SetCatalogSort(true)
	s.pdf.SetCompression(false) // the pack deflates it
	s.pdf.SetCreationDate(at.UTC())
	s.pdf.SetModificationDate(at.UTC())
	s.pdf.SetProducer("Swardbook", true)
	s.pdf.SetTitle(title, true)
	s.pdf.SetLang("en-GB")
	s.pdf.SetAutoPageBreak(false, 0)
	s.pdf.SetMargins(0, 0, 0)
	s.pdf.SetLineCapStyle("butt")
	for _, f := range []struct {
		name string
		ttf  []byte
	}{{"regular", goregular.TTF}, {"bold", gobold.TTF}, {"mono", gomono.TTF}} {
		parsed, err := sfnt.Parse(f.ttf)
		if err != nil {
			return nil, fmt.Errorf("font %s: %w", f.name, err)
		}
		s.fonts[f.name] = parsed
		s.pdf.AddUTF8FontFromBytes(f.name, "", f.ttf)
	}
	s.page()
	return s, nil
}

// page begins a page with its foot.
func (s *sheet) page() {
	s.pdf.AddPage()
	s.rule(footLine-12, 0.4)
	s.at(edge, footLine, styleSmall, s.foot)
	number := fmt.Sprintf("page %d of %d", s.pdf.PageNo(), max(s.pages, s.pdf.PageNo()))
	s.at(edge+textWide-s.wide(styleSmall, number), footLine, styleSmall, number)
	s.y = top
	if s.again != nil {
		s.again()
	}
}

// need begins a page where less than h is left on this one.
func (s *sheet) need(h float64) {
	if s.y+h > bottom {
		s.page()
	}
}

func (s *sheet) gap(h float64) { s.y += h }

func hundredth(v float64) float64 { return math.Round(v*100) / 100 }

// at sets one line with its foot at y.
func (s *sheet) at(x, y float64, st style, text string) {
	s.pdf.SetFont(st.font, "", st.size)
	s.pdf.SetTextColor(0, 0, 0)
	s.pdf.Text(hundredth(x), hundredth(y), s.printable(st, text))
}

// printable writes characters that the font lacks by their number, since they
// would come out as empty boxes.
func (s *sheet) printable(st style, text string) string {
	var b strings.Builder
	for _, r := range text {
		g, err := s.fonts[st.font].GlyphIndex(&s.buf, r)
		switch {
		case r == '\t' || r == '\u00a0':
			b.WriteByte(' ')
		case err != nil || g == 0 || r > 0xFFFF:
			s.absent[r] = true
			fmt.Fprintf(&b, "U+%04X", r)
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

func (s *sheet) wide(st style, text string) float64 {
	s.pdf.SetFont(st.font, "", st.size)
	return s.pdf.GetStringWidth(s.printable(st, text))
}

// wrap breaks a text into lines no wider than w; a word wider than that is cut.
func (s *sheet) wrap(st style, text string, w float64) []string {
	var out []string
	for _, paragraph := range strings.Split(text, "\n") {
		line := ""
		for _, word := range strings.Fields(paragraph) {
			if line != "" && s.wide(st, line+" "+word) <= w {
				line += " " + word
				continue
			}
			if line != "" {
				out = append(out, line)
			}
			for s.wide(st, word) > w {
				n := s.fits(st, word, w)
				if n == len(word) {
					break
				}
				out = append(out, word[:n])
				word = word[n:]
			}
			line = word
		}
		out = append(out, line)
	}
	return out
}

// fits returns how many bytes of a word fit w, whole characters, one at least.
func (s *sheet) fits(st style, word string, w float64) int {
	n := 0
	for i, r := range word {
		next := i + len(string(r))
		if n > 0 && s.wide(st, word[:next]) > w {
			break
		}
		n = next
	}
	return n
}

// block sets a text at x within w, over pages where it must.
func (s *sheet) block(x, w float64, st style, text string) {
	for _, line := range s.wrap(st, text, w) {
		s.need(st.lead)
		s.y += st.lead
		s.at(x, s.y-st.lead*0.25, st, line)
	}
}

func (s *sheet) text(st style, text string) { s.block(edge, textWide, st, text) }

// high is how high a text stands within w.
func (s *sheet) high(st style, text string, w float64) float64 {
	return float64(len(s.wrap(st, text, w))) * st.lead
}

// rule draws a line across at y.
func (s *sheet) rule(y, thick float64) {
	s.pdf.SetDrawColor(0, 0, 0)
	s.pdf.SetLineWidth(thick)
	s.pdf.Line(edge, hundredth(y), edge+textWide, hundredth(y))
}

// heading begins a part of the document, with an entry in the outline.
func (s *sheet) heading(text string) {
	s.need(70)
	s.gap(16)
	s.rule(s.y, 0.8)
	s.pdf.Bookmark(s.printable(styleHead, text), 0, s.y)
	s.gap(5)
	s.text(styleHead, text)
	s.gap(3)
}

// missing lists the characters that were written by their number.
func (s *sheet) missing() []string {
	var list []rune
	for r := range s.absent {
		list = append(list, r)
	}
	sort.Slice(list, func(i, j int) bool { return list[i] < list[j] })
	out := make([]string, len(list))
	for i, r := range list {
		out[i] = fmt.Sprintf("U+%04X", r)
	}
	return out
}
