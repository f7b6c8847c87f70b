package handover

import (
	"bytes"
	"fmt"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/permit"
)

// conditionsText is conditions.json: every version of every condition, from
// one legal date to the next, with every default written out, the zone its
// windows are cut in and the sentence the program reads it as; and every
// notice with its clauses. One to a line.
func (j *judged) conditionsText() []byte {
	var versions, notices []book.Object
	for i := range j.versions {
		v := &j.versions[i]
		o := book.Object{"permit": v.Permit, "notice": v.Notice, "condition": permit.ConditionObject(v.Condition),
			"sentence": permit.Sentence(v.Condition, j.list), "zone": j.record.Site().Zone.String()}
		if v.Zone != nil {
			o["zone"] = v.Zone.String()
		}
		if v.Holidays != "" {
			o["holidays"] = v.Holidays
		}
		if !v.From.IsZero() {
			o["from"] = book.FormatInstant(v.From)
		}
		if !v.To.IsZero() {
			o["to"] = book.FormatInstant(v.To)
		}
		versions = append(versions, o)
	}
	for _, n := range j.notices {
		o := permit.ToObject(n)
		delete(o, "conditions")
		notices = append(notices, o)
	}
	var b bytes.Buffer
	b.WriteString(`{"at":"` + book.FormatInstant(j.report.At) + `","conditions":[`)
	lines(&b, versions)
	b.WriteString(`],"notices":[`)
	lines(&b, notices)
	fmt.Fprintf(&b, "],\"rules\":%d}\n", j.report.Rules)
	return b.Bytes()
}

func lines(b *bytes.Buffer, list []book.Object) {
	for i, o := range list {
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteByte('\n')
		b.Write(o.Bytes())
	}
	b.WriteByte('\n')
}
