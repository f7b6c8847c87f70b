package judge

import (
	"fmt"
	"math"
	"sort"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
)

// Episode is a run of windows that were not complied, one after another, with
// the worst of them and what else was on record at the time.
type Episode struct {
	From, To  time.Time
	Windows   int
	Worst     Judgement // of the windows: the one farthest from its limit
	Meanwhile []Meanwhile
}

// Meanwhile is something on record at the time of an episode. It is no cause.
type Meanwhile struct {
	Words string
	Entry *book.Entry // nil for readings and counts
}

// Episodes groups the windows of a judgement that were not complied: windows that
// touch or overlap make one episode. The latest comes first; no more than most
// are looked into.
func Episodes(rec *Record, list *quantity.List, windows []Judgement, most int) ([]Episode, error) {
	var out []Episode
	for i := range windows {
		w := &windows[i]
		if w.Verdict != NotComplied {
			continue
		}
		if n := len(out); n > 0 && !w.Window.From.After(out[n-1].To) {
			e := &out[n-1]
			e.To, e.Windows = later(e.To, w.Window.To), e.Windows+1
			if farther(w, &e.Worst) {
				e.Worst = *w
			}
			continue
		}
		out = append(out, Episode{From: w.Window.From, To: w.Window.To, Windows: 1, Worst: *w})
	}
	sort.SliceStable(out, func(i, k int) bool { return out[i].From.After(out[k].From) })
	if len(out) > most {
		out = out[:most]
	}
	for i := range out {
		if err := out[i].meanwhile(rec, list); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func farther(a, b *Judgement) bool {
	return a.Margin != nil && (b.Margin == nil || *a.Margin < *b.Margin)
}

// mostMeanwhile is how many acts are listed one by one.
const mostMeanwhile = 8

// loads is the quantity of lorry movements; the others are weather's.
const (
	movements = "haulage.movements"
	wind      = "weather.wind"
	rain      = "weather.rain"
)

// meanwhile looks for acts, lorries, wind and rain at the time.
func (e *Episode) meanwhile(rec *Record, list *quantity.List) error {
	zone := rec.site.Zone
	span := calendar.Span{From: e.From, To: later(e.To, e.From.Add(time.Millisecond))}
	observed := func(code string) ([]quantity.Observation, error) {
		q := list.Named(code)
		if q == nil || q.Observe == nil {
			return nil, nil
		}
		all, err := q.Observe(rec, quantity.Ask{From: span.From.AddDate(0, 0, -2), To: span.To})
		var in []quantity.Observation
		for _, o := range all {
			if o.From.Before(span.To) && (o.To.After(span.From) || !o.From.Before(span.From)) {
				in = append(in, o)
			}
		}
		return in, err
	}
	acts, err := observed(actQuantity)
	if err != nil {
		return err
	}
	for i, o := range acts {
		if i == mostMeanwhile {
			e.Meanwhile = append(e.Meanwhile, Meanwhile{Words: fmt.Sprintf("and %d more acts", len(acts)-i)})
			break
		}
		words := o.Name + ", " + spanText(calendar.Span{From: o.From, To: later(o.To, o.From)}, zone)
		if o.Entry != nil && len(o.Entry.Places) > 0 {
			words = o.Name + " at " + o.Entry.Places[0] + ", " + spanText(calendar.Span{From: o.From, To: later(o.To, o.From)}, zone)
		}
		e.Meanwhile = append(e.Meanwhile, Meanwhile{words, o.Entry})
	}
	lorries, err := observed(movements)
	if err != nil {
		return err
	}
	n := 0.0
	for i := range lorries {
		n += lorries[i].Value
	}
	if n > 0 {
		e.Meanwhile = append(e.Meanwhile, Meanwhile{Words: fmt.Sprintf("%g lorry movements", n)})
	}
	return e.weather(rec, span)
}

// weather gives the mean and the greatest wind and the rain of the time, where a
// channel has them.
func (e *Episode) weather(rec *Record, span calendar.Span) error {
	for _, code := range []string{wind, rain} {
		for _, c := range rec.Channels(code, "") {
			blocks, err := rec.Readings(c.Code, span.From, span.To)
			if err != nil {
				return err
			}
			stat := map[string]string{wind: series.ArithmeticMean, rain: series.Sum}[code]
			got, err := series.Windows(blocks, []calendar.Span{span}, series.Request{Stat: stat})
			if err != nil || !got[0].OK {
				continue
			}
			words := fmt.Sprintf("rain %.1f %s (%s)", got[0].Value, c.Unit, c.Code)
			if code == wind {
				most, err := series.Windows(blocks, []calendar.Span{span}, series.Request{Stat: series.Maximum})
				if err != nil || !most[0].OK || math.IsNaN(most[0].Value) {
					continue
				}
				words = fmt.Sprintf("wind %.1f %s in the mean, %.1f at most (%s)", got[0].Value, c.Unit, most[0].Value, c.Code)
			}
			e.Meanwhile = append(e.Meanwhile, Meanwhile{Words: words})
		}
	}
	return nil
}
