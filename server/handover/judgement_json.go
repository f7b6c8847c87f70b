package handover

import (
	"io"
	"math"
	"strconv"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
)

// judgements.json is one JSON object, with keys in byte order, without spaces,
// and with a line feed before each judgement and before the end of their list,
// so that a line of it is a judgement. What there is not is left out. A number
// has as many digits as it takes to read the same value back, and no exponent.

// reportHead and reportTail are what stands around the judgements.
func reportHead(r *judge.Report) []byte {
	o := object{}
	o.text("at", book.FormatInstant(r.At))
	o.key("clauses")
	o.counts([]count{{"accounted", r.Clauses.Accounted}, {"total", r.Clauses.Total}})
	o.key("judgements")
	return append(o.b, '[')
}

func reportTail(r *judge.Report) []byte {
	o := object{b: []byte("\n]"), begun: true}
	if r.KnownAt != nil {
		o.text("known_at", book.FormatInstant(*r.KnownAt))
	}
	o.number("rules", r.Rules)
	o.text("site", r.Site)
	return append(o.close(), '\n')
}

// reportWriter writes judgements.json.
type reportWriter struct {
	w   io.Writer
	n   int
	buf []byte
}

// add writes a judgement and returns its text, which holds until the next.
func (r *reportWriter) add(report *judge.Report, j *judge.Judgement) ([]byte, error) {
	r.buf = r.buf[:0]
	if r.n == 0 {
		r.buf = append(r.buf, reportHead(report)...)
	} else {
		r.buf = append(r.buf, ',')
	}
	r.n++
	r.buf = append(r.buf, '\n')
	before := len(r.buf)
	o := object{b: r.buf}
	o.judgement(j)
	r.buf = o.b
	_, err := r.w.Write(r.buf)
	return r.buf[before:], err
}

// close writes what comes after the last judgement.
func (r *reportWriter) close(report *judge.Report) error {
	if report == nil {
		return nil
	}
	r.buf = r.buf[:0]
	if r.n == 0 {
		r.buf = append(r.buf, reportHead(report)...)
	}
	_, err := r.w.Write(append(r.buf, reportTail(report)...))
	return err
}

// judgementText is one judgement with its months and windows.
func judgementText(j *judge.Judgement) []byte {
	o := object{}
	o.judgement(j)
	return o.b
}

// object builds a JSON object whose keys come in byte order.
type object struct {
	b     []byte
	begun bool
}

type count struct {
	key string
	n   int
}

func (o *object) key(k string) {
	if o.begun {
		o.b = append(o.b, ',')
	} else {
		o.b = append(o.b, '{')
	}
	o.begun = true
	o.b = append(o.b, '"')
	o.b = append(o.b, k...)
	o.b = append(o.b, '"', ':')
}

func (o *object) close() []byte {
	if !o.begun {
		o.b = append(o.b, '{')
	}
	o.b = append(o.b, '}')
	return o.b
}

func (o *object) text(k, v string) {
	o.key(k)
	o.b = appendText(o.b, v)
}

func (o *object) optional(k, v string) {
	if v != "" {
		o.text(k, v)
	}
}

func (o *object) number(k string, n int) {
	o.key(k)
	o.b = strconv.AppendInt(o.b, int64(n), 10)
}

func (o *object) float(k string, v *float64) {
	if v == nil || math.IsInf(*v, 0) || math.IsNaN(*v) {
		return
	}
	o.key(k)
	o.b = append(o.b, plain(*v)...)
}

func (o *object) instant(k string, t time.Time) { o.text(k, book.FormatInstant(t)) }

func (o *object) counts(list []count) {
	in := object{b: o.b}
	for _, c := range list {
		in.number(c.key, c.n)
	}
	o.b = in.close()
}

func countsOf(c *judge.Counts) []count {
	return []count{{"cannot_be_judged", c.CannotBeJudged}, {"complied", c.Complied}, {"due", c.Due}, {"judged", c.Judged},
		{"not_applicable", c.NotApplicable}, {"not_complied", c.NotComplied}, {"not_yet_due", c.NotYetDue}}
}

func (o *object) judgement(j *judge.Judgement) {
	o.optional("cause", j.Cause)
	o.text("clause", j.Clause)
	o.text("condition", j.Condition)
	o.key("counts")
	o.counts(countsOf(&j.Counts))
	o.float("coverage", j.Coverage)
	o.text("digest", j.Digest)
	o.evidence(j.Evidence)
	o.excluded(j.Excluded)
	if j.Inner != nil {
		o.key("inner")
		o.counts(countsOf(j.Inner))
	}
	o.float("limit", j.Limit)
	o.text("limit_text", j.LimitText)
	o.float("margin", j.Margin)
	o.judgements("months", j.Months)
	o.text("permit", j.Permit)
	o.text("place", j.Place)
	if j.Recheck != nil {
		o.instant("recheck_at", *j.Recheck)
	}
	o.optional("remedy", j.Remedy)
	o.text("rule", j.Rule)
	o.text("sentence", j.Sentence)
	o.text("severity", j.Severity)
	o.optional("shown", j.Shown)
	o.text("title", j.Title)
	o.text("unit", j.Unit)
	o.float("value", j.Value)
	o.text("verdict", j.Verdict.String())
	o.text("version", j.Version)
	o.key("window")
	in := object{b: o.b}
	in.instant("from", j.Window.From)
	in.instant("to", j.Window.To)
	o.b = in.close()
	o.judgements("windows", j.Windows)
	o.working(j.Working)
	o.close()
}

func (o *object) judgements(k string, list []judge.Judgement) {
	if len(list) == 0 {
		return
	}
	o.list(k, len(list), func(i int, one *object) { one.judgement(&list[i]) })
}

// list writes a list of objects; each closes itself.
func (o *object) list(k string, n int, each func(i int, one *object)) {
	o.key(k)
	o.b = append(o.b, '[')
	for i := range n {
		if i > 0 {
			o.b = append(o.b, ',')
		}
		one := object{b: o.b}
		each(i, &one)
		o.b = one.b
	}
	o.b = append(o.b, ']')
}

func (o *object) evidence(list []judge.Evidence) {
	o.list("evidence", len(list), func(i int, one *object) {
		e := &list[i]
		one.text("id", e.ID)
		one.text("kind", e.Kind)
		one.optional("ref", e.Ref)
		one.number("seq", int(e.Seq))
		one.close()
	})
}

func (o *object) excluded(list []judge.Excluded) {
	o.list("excluded", len(list), func(i int, one *object) {
		x := &list[i]
		one.text("channel", x.Channel)
		one.number("count", x.Count)
		one.text("reason", x.Reason)
		one.float("seconds", &x.Seconds)
		one.close()
	})
}

func (o *object) working(list []judge.Step) {
	if len(list) == 0 {
		return
	}
	o.list("working", len(list), func(i int, one *object) {
		one.optional("value", list[i].Value)
		one.text("words", list[i].Words)
		one.close()
	})
}

// appendText writes a JSON text as the book does: escaped only where JSON
// demands it.
func appendText(b []byte, s string) []byte {
	plain := true
	for i := 0; i < len(s) && plain; i++ {
		plain = s[i] >= 0x20 && s[i] != '"' && s[i] != '\\'
	}
	if plain {
		b = append(b, '"')
		b = append(b, s...)
		return append(b, '"')
	}
	quoted := book.Object{"": s}.Bytes()
	return append(b, quoted[len(`{"":`):len(quoted)-1]...)
}
