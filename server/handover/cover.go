package handover

import (
	"bytes"
	"fmt"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"

	"github.com/swardbook/swardbook/compliance/judge"
)

// Measures of the sheet, A4 in mm, and type in points.
const (
	edge      = 18.0
	width     = 210 - 2*edge
	lineSmall = 4.4
	lineText  = 5.2
)

// cover writes the cover sheet and statement as PDF 1.4 with fonts embedded;
// it is not tagged, and index.html says the same for those who need that.
type cover struct {
	*fpdf.Fpdf
	s     *statement
	known *sfnt.Font
	buf   sfnt.Buffer
}

func coverText(s *statement, at time.Time) ([]byte, error) {
	known, err := sfnt.Parse(goregular.TTF)
	if err != nil {
		return nil, fmt.Errorf("cover sheet: %w", err)
	}
	c := &cover{Fpdf: fpdf.New("P", "mm", "A4", ""), s: s, known: known}
	c.SetCatalogSort(true)
	c.SetCreationDate(at)
	c.SetModificationDate(at)
	c.SetProducer("Swardbook", true)
	c.SetTitle("Handover pack: "+s.Site, true)
	c.AddUTF8FontFromBytes("go", "", goregular.TTF)
	c.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	c.AddUTF8FontFromBytes("mono", "", gomono.TTF)
	c.SetMargins(edge, edge, edge)
	c.SetAutoPageBreak(true, edge+6)
	c.SetFooterFunc(c.footer)
	c.AliasNbPages("{pages}")
	c.AddPage()
	c.front()
	c.gaps()
	for _, n := range s.Notices {
		c.notice(n)
	}
	c.closing()
	var b bytes.Buffer
	if err := c.Output(&b); err != nil {
		return nil, fmt.Errorf("cover sheet: %w", err)
	}
	return b.Bytes(), nil
}

// glyphs replaces what the font cannot draw by its code, so that nothing is
// printed as an empty box.
func (c *cover) glyphs(s string) string {
	var b strings.Builder
	for _, r := range s {
		if g, err := c.known.GlyphIndex(&c.buf, r); r != '\n' && (err != nil || g == 0) {
			fmt.Fprintf(&b, "U+%04X", r)
			continue
		}
		b.WriteRune(r)
	}
	return b.String()
}

func (c *cover) text(style string, size, line float64, s string) {
	c.SetFont("go", style, size)
	c.SetTextColor(0, 0, 0)
	c.MultiCell(width, line, c.glyphs(s), "", "L", false)
}

func (c *cover) footer() {
	c.SetY(-edge)
	c.SetFont("go", "", 8)
	c.SetTextColor(60, 60, 60)
	c.CellFormat(width/2, 5, c.glyphs(c.s.Site+", entries 1 to "+fmt.Sprint(c.s.Upto)), "T", 0, "L", false, 0, "")
	c.CellFormat(width/2, 5, fmt.Sprintf("page %d of {pages}", c.PageNo()), "T", 0, "R", false, 0, "")
}

func (c *cover) front() {
	s := c.s
	c.text("", 10, lineText, "Handover pack")
	c.text("B", 20, 9, s.Site)
	c.text("", 10, lineText, s.Location)
	c.Ln(3)
	for _, row := range [][2]string{
		{"Judged to", s.At + ", zone " + s.Zone},
		{"Record", fmt.Sprintf("entries 1 to %d, from %s; %d originals, %d runs of readings", s.Upto, s.From, s.Files, s.Chunks)},
		{"Grid and levels", s.Grid + "; " + s.Datum},
		{"Rules, program", fmt.Sprintf("rules %d, program %s", s.Rules, s.Program)},
		{"Last entry's hash", s.Head},
		{"Key's fingerprint", s.Fingerprint},
	} {
		c.pair(row[0], row[1])
	}
	c.Ln(3)
	c.text("", 9, lineSmall, "Compare the fingerprint with the one you were given by another way than this pack. The signature proves who sealed the pack, not that what was entered is true.")
	c.heading(fmt.Sprintf("Statement: clauses %d, accounted for %d", s.Clauses.Total, s.Clauses.Accounted))
	for _, v := range []judge.Verdict{judge.NotComplied, judge.CannotBeJudged, judge.Complied, judge.NotYetDue, judge.NotApplicable} {
		c.sign(v)
		c.SetFont("go", "B", 11)
		c.CellFormat(50, 6.5, v.String(), "", 0, "L", false, 0, "")
		c.CellFormat(20, 6.5, fmt.Sprint(s.Counts[v]), "", 1, "R", false, 0, "")
	}
	c.Ln(2)
	c.text("", 9, lineSmall, "Conditions and places, to date. Missing data never counts as compliance. Action levels and information are listed and are no breach.")
	c.Ln(2)
	for _, line := range s.Cautions {
		y := c.GetY()
		c.SetX(edge + 4)
		c.SetFont("go", "", 9)
		c.MultiCell(width-4, lineSmall, c.glyphs(line), "", "L", false)
		if c.GetY() > y {
			c.SetLineWidth(0.8)
			c.Line(edge+1, y+0.4, edge+1, c.GetY()-0.4)
		}
		c.Ln(1)
	}
}

func (c *cover) pair(name, value string) {
	y := c.GetY()
	c.SetFont("go", "B", 9.5)
	c.CellFormat(38, lineText, c.glyphs(name), "", 0, "L", false, 0, "")
	if len(value) >= 64 && !strings.Contains(value, "; ") {
		c.SetFont("mono", "", 8)
	} else {
		c.SetFont("go", "", 9.5)
	}
	c.SetXY(edge+38, y)
	c.MultiCell(width-38, lineText, c.glyphs(value), "", "L", false)
}

func (c *cover) heading(s string) {
	if c.GetY() > 250 {
		c.AddPage()
	}
	c.Ln(4)
	c.SetLineWidth(0.4)
	c.Line(edge, c.GetY(), edge+width, c.GetY())
	c.Ln(2)
	c.text("B", 13, 6.5, s)
	c.Ln(1)
}

// sign draws a verdict's shape at the cursor and moves past it.
func (c *cover) sign(v judge.Verdict) {
	x, y := c.GetX()+2.2, c.GetY()+3
	c.SetLineWidth(0.4)
	c.SetDrawColor(0, 0, 0)
	c.SetFillColor(0, 0, 0)
	switch v {
	case judge.Complied:
		c.Circle(x, y, 1.6, "F")
	case judge.NotComplied:
		c.Polygon([]fpdf.PointType{{X: x, Y: y - 1.8}, {X: x + 1.9, Y: y + 1.6}, {X: x - 1.9, Y: y + 1.6}}, "F")
	case judge.CannotBeJudged:
		c.Polygon([]fpdf.PointType{{X: x, Y: y - 1.9}, {X: x + 1.9, Y: y}, {X: x, Y: y + 1.9}, {X: x - 1.9, Y: y}}, "D")
	case judge.NotYetDue:
		c.Circle(x, y, 1.5, "D")
	default:
		c.Line(x-1.6, y, x+1.6, y)
	}
	c.SetX(c.GetX() + 6)
}

func (c *cover) gaps() {
	c.heading("Known gaps first")
	if len(c.s.NotEntered) > 0 {
		c.text("", 9.5, lineText, "Clauses not yet entered: "+strings.Join(c.s.NotEntered, "; ")+".")
	}
	for _, g := range c.s.Gaps {
		c.text("B", 9.5, lineText, g.Cause)
		if g.Remedy != "" {
			c.text("", 9.5, lineText, "To do: "+g.Remedy+".")
		}
		c.text("", 9, lineSmall, strings.Join(g.Where, "; ")+".")
		c.Ln(1.5)
	}
	if len(c.s.NotEntered)+len(c.s.Gaps) == 0 {
		c.text("", 9.5, lineText, "Everything due could be judged, and every clause is entered.")
	}
}

func (c *cover) notice(n noticeLines) {
	c.heading(n.Title)
	c.text("", 9, lineSmall, n.Issued)
	for _, line := range n.Lines {
		if c.GetY() > 255 {
			c.AddPage()
		}
		c.Ln(1.5)
		c.text("B", 9.5, lineText, line.Number+"  "+line.Treated)
		c.text("", 9, lineSmall, line.Text)
		for _, v := range line.Judgements {
			c.verdict(v)
		}
	}
}

func (c *cover) verdict(v verdictLine) {
	c.sign(v.Verdict)
	c.SetFont("go", "B", 9)
	c.CellFormat(32, lineText, v.Verdict.String(), "", 0, "L", false, 0, "")
	c.SetFont("go", "", 9)
	c.SetX(edge + 38)
	c.MultiCell(width-38, lineSmall, c.glyphs(v.What+". "+v.Sentence), "", "L", false)
	small := v.Counts
	if v.Figures != "" {
		small = strings.TrimPrefix(small+"; "+v.Figures, "; ")
	}
	if v.Evidence != "" {
		small = strings.TrimPrefix(small+"; entries "+v.Evidence, "; ")
	}
	if small != "" {
		c.SetX(edge + 38)
		c.SetFont("go", "", 8)
		c.MultiCell(width-38, 3.8, c.glyphs(small), "", "L", false)
	}
}

func (c *cover) closing() {
	c.heading("How to check it")
	c.text("", 9.5, lineText, "1  Unpack the pack with any archive program; sha256sum -c SHA256SUMS checks every file in it.\n"+
		"2  swardbook verify PACK --key FINGERPRINT checks form, signature, hashes and chain, and judges everything again from the record in the pack.\n"+
		"3  Without the program: record/book.jsonl is the record, one entry a line; judgements.csv has each window with value, limit and entries; record/files holds the originals by their SHA-256; FORMAT.md says how values are rounded, days are cut, gaps and less-than results are treated.")
}
