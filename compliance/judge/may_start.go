package judge

import (
	"slices"
	"strings"

	"github.com/swardbook/swardbook/compliance/act"
	"github.com/swardbook/swardbook/compliance/duty"
)

// start asks of the beginning of works whether what is needed before it is on
// file: consents got, and the land recorded as it was.
func (a *Answer) start(rec *Record) {
	if a.Question.Act != act.Commencement {
		return
	}
	list := rec.Entries(duty.NeededKind)
	missing := duty.Baselines()
	for _, e := range list {
		b := e.Body
		if b == nil {
			continue
		}
		missing = slices.DeleteFunc(missing, func(s string) bool { return s == b.Text("sort") })
		switch {
		case b.Text("not_needed") != "":
		case b.Text("got") == "":
			words := b.Text("name") + " is needed before the start and "
			if asked := b.Text("asked"); asked != "" {
				words += "not on file as got; it was asked for on " + asked
			} else {
				words += "has not been asked for"
			}
			a.Against = append(a.Against, Stand{Entry: e.Seq, Words: words})
		case duty.IsBaseline(b.Text("sort")) && b.Text("agreed") == "":
			a.unasked("", "", b.Text("name")+", the land as it was: nobody is on record as having agreed it")
		}
	}
	if len(missing) > 0 {
		a.unasked("", "", "the land as it was: nothing is listed for "+strings.Join(missing, ", "))
	}
}
