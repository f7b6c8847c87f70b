package handover

import (
	"bytes"
	"fmt"
	"strings"

	"codeberg.org/go-pdf/fpdf"

	"github.com/swardbook/swardbook/compliance/judge"
)

// cover writes the cover sheet and statement as PDF with fonts embedded; it is
// not tagged, and index.html says the same for those who need that.
type cover struct {
	*sheet
	s *statement
}

// coverText sets the cover sheet twice: the second time the number of its
// pages is known.
func coverText(s *statement) ([]byte, error) {
	pages := 0
	for {
		b, n, err := setCover(s, pages)
		if err != nil {
			return nil, fmt.Errorf("cover sheet: %w", err)
		}
		if n == pages {
			return b, nil
		}
		pages = n
	}
}

func setCover(s *statement, pages int) ([]byte, int, error) {
	foot := fmt.Sprintf("%s · entries 1 to %d · judged to %s", s.Site, s.Upto, s.At)
	sh, err := newSheet("Handover pack: "+s.Site, foot, s.instant, pages)
	if err != nil {
		return nil, 0, err
	}
	c := &cover{sh, s}
	c.front()
	c.gaps()
	c.breaches()
	c.statement()
	c.cautions()
	c.checking()
	c.signing()
	var b bytes.Buffer
	err = c.pdf.Output(&b)
	return b.Bytes(), c.pdf.PageNo(), err
}

func (c *cover) front() {
	s := c.s
	c.text(styleText, "Handover pack")
	c.gap(2)
	c.text(styleTitle, s.Site)
	if s.Location != "" {
		c.text(styleText, s.Location)
	}
	c.gap(10)
	for _, row := range [][2]string{
		{"Judged to", s.At + ", clock of " + s.Zone},
		{"Record", fmt.Sprintf("entries 1 to %d; the book was opened %s, the last entry received %s", s.Upto, s.Opened, s.Received)},
		{"With it", fmt.Sprintf("%d originals, %d runs of readings", s.Files, s.Runs)},
		{"Grid and levels", s.Grid + "; " + s.Datum},
		{"Rules, program", fmt.Sprintf("rules %d, program %s", s.Rules, s.Program)},
		{fmt.Sprintf("Hash of entry %d", s.Upto), s.Head},
		{"Signing key", s.Fingerprint},
	} {
		c.pair(row[0], row[1])
	}
	c.gap(6)
	c.text(styleSmall, "Compare the signing key's fingerprint with the one you were given by another way than this pack. The signature shows who sealed the pack and that nothing in it was changed since. It does not show that what was entered is true.")
	c.heading(fmt.Sprintf("Clauses %d, accounted for %d", s.Clauses.Total, s.Clauses.Accounted))
	for _, t := range s.Tallies {
		c.y += 15
		c.sign(edge+6, c.y-4, t.Verdict)
		c.at(edge+20, c.y, styleStrong, t.Verdict.String())
		n := fmt.Sprint(t.N)
		c.at(edge+180-c.wide(styleStrong, n), c.y, styleStrong, n)
	}
	c.gap(8)
	c.text(styleSmall, "Conditions at their places, to date. Missing data never counts as compliance. Action levels and information are listed with their clause and are no breach.")
	c.gap(4)
	if len(s.Cautions) > 0 {
		c.caution(s.Cautions[0])
	}
}

// pair sets a name with its value beside it.
func (c *cover) pair(name, value string) {
	const across = 105
	st := styleText
	if len(value) >= 64 && !strings.Contains(strings.ReplaceAll(value, " ", ""), ";") && strings.Count(value, " ") < 8 {
		st = styleMono
	}
	c.need(c.high(st, value, textWide-across))
	c.at(edge, c.y+styleText.lead*0.75, styleStrong, name)
	c.block(edge+across, textWide-across, st, value)
	c.gap(2)
}

// sign draws a verdict's shape around a point: a full circle, a full triangle,
// a hollow diamond, a hollow circle, a dash.
func (c *cover) sign(x, y float64, v judge.Verdict) {
	c.pdf.SetLineWidth(1.1)
	c.pdf.SetDrawColor(0, 0, 0)
	c.pdf.SetFillColor(0, 0, 0)
	at := func(dx, dy float64) fpdf.PointType { return fpdf.PointType{X: hundredth(x + dx), Y: hundredth(y + dy)} }
	switch v {
	case judge.Complied:
		c.circle(at, 4.2, "F")
	case judge.NotComplied:
		c.pdf.Polygon([]fpdf.PointType{at(0, -4.8), at(5, 4.2), at(-5, 4.2)}, "F")
	case judge.CannotBeJudged:
		c.pdf.Polygon([]fpdf.PointType{at(0, -4.8), at(4.8, 0), at(0, 4.8), at(-4.8, 0)}, "D")
	case judge.NotYetDue:
		c.circle(at, 3.9, "D")
	default:
		a, b := at(-4.5, 0), at(4.5, 0)
		c.pdf.Line(a.X, a.Y, b.X, b.Y)
	}
}

// circle draws four curves; 0.5523 of the radius is the usual distance of
// their control points (a circle to within 0.03 % of its radius).
func (c *cover) circle(at func(dx, dy float64) fpdf.PointType, r float64, how string) {
	k := hundredth(r * 0.5523)
	c.pdf.Beziergon([]fpdf.PointType{
		at(r, 0), at(r, k), at(k, r), at(0, r), at(-k, r), at(-r, k), at(-r, 0),
		at(-r, -k), at(-k, -r), at(0, -r), at(k, -r), at(r, -k), at(r, 0),
	}, how)
}

func (c *cover) gaps() {
	c.heading("Known gaps, said first")
	for _, h := range c.s.Holes {
		c.text(styleText, h)
	}
	for _, g := range c.s.Gaps {
		c.need(4 + 3*styleText.lead)
		c.gap(4)
		c.text(styleStrong, g.Cause)
		if g.Remedy != "" {
			c.text(styleText, "To do: "+g.Remedy+".")
		}
		c.text(styleSmall, strings.Join(g.Where, "; ")+".")
	}
	if len(c.s.Gaps) == 0 {
		c.text(styleText, "Everything that is due could be judged.")
	}
}

func (c *cover) breaches() {
	c.heading("Not complied")
	for _, b := range c.s.Breaches {
		c.need(4 + 2*styleText.lead)
		c.gap(4)
		c.text(styleStrong, b.What)
		for _, w := range b.Windows {
			c.need(styleSmall.lead)
			c.at(edge, c.y+styleSmall.lead*0.75, styleSmall, "–")
			c.block(edge+10, textWide-10, styleSmall, w)
		}
		if b.More > 0 {
			c.block(edge+10, textWide-10, styleSmall, fmt.Sprintf("and %d more, in judgements.csv", b.More))
		}
	}
	if len(c.s.Breaches) == 0 {
		c.text(styleText, "Nothing that was judged is known to be not complied.")
	}
}

// Columns of the statement: clause, what it says and what is found, verdict.
const (
	clauseWide  = 44.0
	verdictWide = 112.0
	middle      = edge + clauseWide
	middleWide  = textWide - clauseWide - verdictWide - 10
	right       = edge + textWide - verdictWide
)

func (c *cover) statement() {
	for i, n := range c.s.Notices {
		if i == 0 {
			c.need(180)
			c.heading("Statement by clause")
		}
		c.need(120)
		c.gap(6)
		c.text(styleHead, n.Title)
		if n.Issued != "" {
			c.text(styleSmall, n.Issued)
		}
		c.again = c.columns
		c.columns()
		for k := range n.Clauses {
			c.clause(&n.Clauses[k])
		}
		c.again = nil
	}
}

// columns heads the table.
func (c *cover) columns() {
	c.y += 13
	c.at(edge, c.y, styleSmall, "Clause")
	c.at(middle, c.y, styleSmall, "What it says, and what is found")
	c.at(right, c.y, styleSmall, "Verdict")
	c.gap(3)
	c.rule(c.y, 0.6)
	c.gap(2)
}

func (c *cover) clause(l *clauseLines) {
	h := c.high(styleText, l.Text, middleWide) + 8
	if len(l.Judgements) > 0 { // the clause stands with the first thing found
		h += c.verdictHigh(&l.Judgements[0])
	}
	c.need(min(h, bottom-top-60))
	c.gap(4)
	begin := c.y
	c.at(edge, c.y+styleText.lead*0.75, styleStrong, l.Number)
	c.block(middle, middleWide, styleText, l.Text)
	end := c.y
	if end > begin { // else the clause's text went on to another page
		c.y = begin
		c.block(right, verdictWide, styleSmall, l.Treated)
		c.y = max(c.y, end)
	}
	for i := range l.Judgements {
		c.verdict(&l.Judgements[i])
	}
	c.gap(4)
	c.rule(c.y, 0.2)
}

// small is what stands under a finding.
func (v *verdictLine) small() string {
	if v.Evidence == "" {
		return v.Figures
	}
	return strings.TrimPrefix(v.Figures+"; entries "+v.Evidence, "; ")
}

func (c *cover) verdictHigh(v *verdictLine) float64 {
	return 4 + c.high(styleStrong, v.What, middleWide) + c.high(styleText, v.Sentence, middleWide) + c.high(styleSmall, v.small(), middleWide)
}

func (c *cover) verdict(v *verdictLine) {
	c.need(min(c.verdictHigh(v), bottom-top-60))
	c.gap(4)
	c.sign(right+5, c.y+styleText.lead*0.75-3.5, v.Verdict)
	c.at(right+15, c.y+styleText.lead*0.75, styleStrong, v.Verdict.String())
	c.block(middle, middleWide, styleStrong, v.What)
	c.block(middle, middleWide, styleText, v.Sentence)
	if small := v.small(); small != "" {
		c.block(middle, middleWide, styleSmall, small)
	}
}

func (c *cover) cautions() {
	c.heading("Cautions")
	for _, one := range c.s.Cautions {
		c.caution(one)
	}
}

// caution sets a caution with a bar before it.
func (c *cover) caution(l cautionLine) {
	h := styleStrong.lead + c.high(styleText, l.Text, textWide-12)
	c.need(h + 6)
	c.gap(3)
	c.pdf.SetLineWidth(2)
	c.pdf.SetDrawColor(0, 0, 0)
	c.pdf.Line(edge+1, hundredth(c.y+2), edge+1, hundredth(c.y+h))
	c.block(edge+12, textWide-12, styleStrong, l.Figures)
	c.block(edge+12, textWide-12, styleText, l.Text)
	c.gap(3)
}

func (c *cover) checking() {
	c.heading("How to check it, and how to work a verdict out again")
	for i, t := range []string{
		"swardbook verify PACK --key FINGERPRINT checks form, signature, hashes and chain, and judges everything again from nothing but the record in the pack.",
		"Without the program: unpack the pack with any archive program; sha256sum -c SHA256SUMS checks every file. FORMAT.md says how to check signature and chain with common tools.",
		"To work a verdict out by hand: its row in judgements.csv names the entries it rests on and the rule of rounding, gaps and less-than results; the entries are lines of record/book.jsonl, and rows of the tables in record/registers.",
		"Times in tables are UTC. Windows follow the clock of " + c.s.Zone + ", so a day has 23 or 25 hours when the clocks change. Values are compared and written unrounded, that is, to 1e-9 of their unit.",
	} {
		c.need(2 * styleText.lead)
		c.at(edge, c.y+styleText.lead*0.75, styleText, fmt.Sprint(i+1))
		c.block(edge+14, textWide-14, styleText, t)
		c.gap(2)
	}
	if absent := c.missing(); len(absent) > 0 {
		c.gap(4)
		c.text(styleSmall, "Characters that the fonts of this sheet do not have are written by their number: "+strings.Join(absent, ", ")+". index.html shows them.")
	}
}

// signing leaves room for the operator's hand.
func (c *cover) signing() {
	c.need(120)
	c.heading("For the operator")
	c.text(styleText, "This statement was made from the record named on its first page. Signed by hand it ties this paper to that record.")
	for _, l := range []string{"Name and position", "Date", "Signature"} {
		c.y += 26
		c.at(edge, c.y, styleText, l)
		c.pdf.SetLineWidth(0.4)
		c.pdf.Line(edge+105, hundredth(c.y+2), edge+textWide, hundredth(c.y+2))
	}
}
