package meter

import (
	"fmt"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/observe"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

// Observations turns the readings of one meter, in order of time, into what
// was counted between them. Each rests on the later reading and stands for the
// time between the two. name is what the meter belongs to, symbol its unit. A
// step in doubt carries no value and is marked doubtful.
func Observations(readings []*book.Entry, ask quantity.Ask, name, symbol string) []quantity.Observation {
	var out []quantity.Observation
	for _, s := range Steps(readings) {
		if !observe.During(ask, s.From.At, s.To.At) {
			continue
		}
		o := observe.Of(s.To, ask)
		o.From, o.To, o.Name = s.From.At, s.To.At, name
		o.Precision = coarser(s.From.Precision, s.To.Precision)
		if s.Doubt != "" {
			o.Value, o.Mark, o.Note = 0, series.Doubtful, s.Doubt
		} else {
			o.Value, o.Text = unit.Round9(s.Counted.Float()), s.Counted.String()
			o.Note = working(s, symbol)
		}
		out = append(out, o)
	}
	return out
}

func working(s Step, symbol string) string {
	begin := s.From.Body.Text("reading")
	if s.From.Body.Flag("replaced") {
		begin = s.From.Body.Text("start") + " on a new meter"
	}
	w := fmt.Sprintf("entry %d: %s; entry %d: %s; counted %s %s", s.From.Seq, begin, s.To.Seq, s.To.Body.Text("reading"), s.Counted, symbol)
	if s.Note != "" {
		w += "; " + s.Note
	}
	return w
}

// coarser returns the precision that is known less closely.
func coarser(a, b book.Precision) book.Precision {
	order := map[book.Precision]int{book.ToMillisecond: 0, book.ToMinute: 1, book.ToDay: 2}
	if order[b] > order[a] {
		return b
	}
	return a
}
