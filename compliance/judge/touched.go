package judge

import (
	"maps"
	"slices"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/series"
)

// touched is what entries that were added change of a record.
type touched struct {
	all      bool
	kinds    map[string]bool
	channels map[string]calendar.Span // readings changed in these spans
	of       []series.Channel         // those channels, as they were and as they are
	altered  map[string]bool          // channels that became known, went, or are of something else
}

// touchedBy finds what was added changes between two states of a record.
func touchedBy(more []*book.Entry, before, after *session) (*touched, error) {
	t := &touched{kinds: map[string]bool{}, channels: map[string]calendar.Span{}, altered: map[string]bool{}}
	for _, e := range more {
		t.kinds[e.Kind] = true
	}
	t.all = t.kinds["site.1"]
	for _, e := range more {
		for _, one := range after.rec.view.Line(e.ID) {
			if err := t.readings(one, before, after); err != nil {
				return nil, err
			}
		}
	}
	return t, t.unsealed(before, after)
}

// readings notes the readings that an import or a rejection changes.
func (t *touched) readings(e *book.Entry, before, after *session) error {
	codes := map[string]bool{}
	switch {
	case e.Body == nil:
		return nil // a withdrawal: what it withdraws stands in the same line
	case e.Kind == "import.1":
		channelsOf(e, codes)
	case e.Kind == "rejection.1":
		codes[e.Body.Text("channel")] = true
	}
	from, to := e.Span()
	for code := range codes {
		if err := t.channel(code, calendar.Span{From: from, To: to}, before, after); err != nil {
			return err
		}
	}
	return nil
}

// channel notes that readings of a channel in a span may be others than they
// were.
func (t *touched) channel(code string, span calendar.Span, before, after *session) error {
	was, now := before.rec.channel(code), after.rec.channel(code)
	t.of = append(t.of, was, now)
	if was != now || before.rec.began(code, before.opts.At) != after.rec.began(code, after.opts.At) {
		t.altered[code] = true
	}
	for _, rec := range []*Record{before.rec, after.rec} {
		wide, err := rec.extent(code, span)
		if err != nil {
			return err
		}
		t.channels[code] = hull(t.channels[code], hull(span, wide))
	}
	return nil
}

// channel returns the channel with that code; the zero Channel when there is
// none.
func (r *Record) channel(code string) series.Channel {
	for _, c := range r.channels {
		if c.Code == code {
			return c
		}
	}
	return series.Channel{}
}

// extent is the span of the readings that touch a span: one long reading may
// give way to a short one that falls into it.
func (r *Record) extent(code string, span calendar.Span) (calendar.Span, error) {
	each, err := r.received(code, span.From, span.To, asTheyCame)
	if err != nil {
		return span, err
	}
	return reachOf(each, span.From, span.To), nil
}

func hull(a, b calendar.Span) calendar.Span {
	switch {
	case a == (calendar.Span{}):
		return b
	case b == (calendar.Span{}):
		return a
	}
	return calendar.Span{From: earlier(a.From, b.From), To: later(a.To, b.To)}
}

// whole tells whether what changed may change a judgement beyond its months.
func (t *touched) whole(k *heard) bool {
	rec := k.rec
	for kind := range t.kinds {
		_, read := rec.kinds[kind]
		switch kind {
		case "import.1", "rejection.1":
			if read || k.memory == nil && len(t.months(k)) > 0 {
				return true
			}
		case "plan.1":
			if len(rec.notes[notePlace]) > 1 || !rec.notes[notePlace][""] || read {
				return true
			}
		case "calendar.1":
			if len(rec.notes[noteHolidays]) > 0 || read {
				return true
			}
		case "survey.1":
			if len(rec.notes[noteSurvey]) > 0 || read {
				return true
			}
		case deploymentKind:
			if len(rec.notes[noteChannel]) > 0 || read {
				return true
			}
		default:
			if read {
				return true
			}
		}
	}
	for i := range t.of {
		c := &t.of[i]
		noted := rec.notes[noteChannel][c.Code]
		if noted && t.altered[c.Code] || !noted && rec.wantsChannel(c) {
			return true
		}
	}
	return false
}

// wantsChannel tells whether a channel is one that was asked for by what it
// measures and where.
func (t *tracked) wantsChannel(c *series.Channel) bool {
	for ask := range t.wants {
		if c.Code != "" && (ask[0] == "" || ask[0] == c.Quantity) && (ask[1] == "" || ask[1] == c.Place) {
			return true
		}
	}
	return false
}

// months returns the spans of the channels a judgement read in which readings
// changed.
func (t *touched) months(k *heard) []calendar.Span {
	var out []calendar.Span
	for _, code := range slices.Sorted(maps.Keys(t.channels)) {
		if k.rec.notes[noteChannel][code] {
			out = append(out, t.channels[code])
		}
	}
	return out
}

// touches tells whether a window that begins in a month can rest on readings
// in one of the spans.
func touches(spans []calendar.Span, month calendar.Span, l *line) bool {
	var longest time.Duration
	for i := range l.versions {
		longest = max(longest, reach(l.versions[i].cond.Window))
	}
	for _, s := range spans {
		if month.From.Before(s.To.Add(time.Second)) && month.To.After(s.From.Add(-longest)) {
			return true
		}
	}
	return false
}
