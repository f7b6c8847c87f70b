package weather

import (
	"fmt"
	"slices"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/duty"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/unit"
)

// Duties returns what of this folder makes duties.
func Duties() []duty.Source { return []duty.Source{rainDuties} }

// lookBack is how far back storms are looked for: what a storm asked for and
// nobody did is listed that long.
const lookBack = 400 * 24 * time.Hour

// source of rain: one gauge read by hand, or one channel. Sources are not added
// up, so that a gauge read both ways does not count twice.
type rainSource struct {
	name  string
	falls []Fall
	entry map[time.Time]*book.Entry // by end, of what was read by hand
}

// rainDuties are what the rain rules ask for after each storm, from whichever
// source told of it first.
func rainDuties(rec quantity.Record, at time.Time) []duty.Duty {
	var out []duty.Duty
	rules := rec.Entries("rain_rule.1")
	if len(rules) == 0 {
		return nil
	}
	sources := rainSources(rec, at)
	for _, rule := range rules {
		if rule.Body == nil || rule.At.After(at) {
			continue
		}
		for _, s := range stormsFor(rule, sources, at) {
			out = append(out, s.duty(rec, at))
		}
	}
	return out
}

// struck is a storm as one rule sees it.
type struck struct {
	rule  *book.Entry
	storm Storm
	by    *rainSource
}

// stormsFor finds the storms of a rule; storms of several sources that fall within
// the rule's hours of one another are one, told by the earliest.
func stormsFor(rule *book.Entry, sources []rainSource, at time.Time) []struck {
	depth, err := unit.ParseDecimal(rule.Body.Text("depth"))
	if err != nil {
		return nil
	}
	within := time.Duration(rule.Body.Integer("hours")) * time.Hour
	var all []struck
	for i := range sources {
		storms, err := Storms(sources[i].falls, depth.Float(), within)
		if err != nil {
			return nil
		}
		for _, s := range storms {
			if s.Crossed.Before(rule.At) || !rule.Until.IsZero() && !s.Crossed.Before(rule.Until) {
				continue
			}
			all = append(all, struck{rule, s, &sources[i]})
		}
	}
	slices.SortStableFunc(all, func(a, b struck) int { return a.storm.Crossed.Compare(b.storm.Crossed) })
	var out []struck
	for _, s := range all {
		if n := len(out); n > 0 && s.by != out[n-1].by && s.storm.Crossed.Sub(out[n-1].storm.Crossed) < within {
			continue
		}
		out = append(out, s)
	}
	return out
}

// words of what a rule asks for, and the entry that does it.
var asked = map[string]struct {
	what string
	kind string
	fill map[string]string
}{
	askInspection: {"inspection after rain", "inspection.1", nil},
	askSoilTest:   {"soil test before soil is moved again", "paper.1", map[string]string{"scheme": "soil state test", "stage": "complied with"}},
	askSample:     {"extra water sample after rain", "sample.1", nil},
}

func (s *struck) duty(rec quantity.Record, at time.Time) duty.Duty {
	b := s.rule.Body
	a := asked[b.Text("asks")]
	d := duty.Duty{
		What: a.what, Entry: s.rule, From: s.storm.Crossed, More: 1, Kinds: []string{a.kind}, Fill: map[string]string{},
		By: s.storm.Crossed.Add(time.Duration(b.Integer("within")) * time.Hour),
	}
	for k, v := range a.fill {
		d.Fill[k] = v
	}
	if c := b.Text("checklist"); c != "" {
		d.Fill["checklist"], d.What = c, d.What+", checklist "+c
	}
	if stop := b.Text("stops"); stop != "" {
		d.What += "; " + stop + " waits for it"
	}
	if len(s.rule.Places) > 0 {
		d.Place = s.rule.Places[0]
	}
	d.Why = fmt.Sprintf("%.4g mm in %d h by %s at %s; the rule is %s mm", s.storm.Depth, b.Integer("hours"), s.by.name,
		s.storm.Crossed.In(rec.Site().Zone).Format("2 Jan 2006 15:04 MST"), b.Text("depth"))
	if from := b.Text("source"); from != "" {
		d.Why += ", " + from
	}
	if e := s.by.entry[s.storm.Crossed]; e != nil {
		d.Why += fmt.Sprintf(" (entry %d)", e.Seq)
	}
	for _, e := range rec.Entries(a.kind) {
		if e.Body == nil || e.At.Before(s.storm.Crossed) || e.At.After(at) || d.Place != "" && !slices.Contains(e.Places, d.Place) || !says(e.Body, d.Fill) {
			continue
		}
		d.More, d.Done = 0, []*book.Entry{e}
		break
	}
	return d
}

func says(o book.Object, want map[string]string) bool {
	for k, v := range want {
		if o.Text(k) != v {
			return false
		}
	}
	return true
}

// rainSources reads the gauges: each channel of rain, and each gauge read by hand.
func rainSources(rec quantity.Record, at time.Time) []rainSource {
	var out []rainSource
	from := at.Add(-lookBack)
	for _, c := range rec.Channels("weather.rain", "") {
		blocks, err := rec.Readings(c.Code, from, at)
		if err != nil {
			continue
		}
		s := rainSource{name: c.Code}
		for _, b := range blocks {
			for i := range b.Start {
				end := time.UnixMilli(b.Start[i] + b.Span).UTC()
				if mm := b.Value(i).Float(); b.Mark[i].Counts() && mm > 0 && !end.After(at) {
					s.falls = append(s.falls, Fall{end, mm})
				}
			}
		}
		out = append(out, s)
	}
	byGauge := map[string]int{}
	for _, e := range rec.Entries("rain.1") {
		if e.Body == nil || e.Until.After(at) || e.Until.Before(from) {
			continue
		}
		d, err := unit.ParseDecimal(e.Body.Text("depth"))
		if err != nil || d.Coefficient <= 0 {
			continue
		}
		name := "gauge " + e.Body.Text("gauge")
		if e.Body.Text("gauge") == "" {
			name = "the rain gauge"
		}
		i, known := byGauge[name]
		if !known {
			i = len(out)
			byGauge[name] = i
			out = append(out, rainSource{name: name, entry: map[time.Time]*book.Entry{}})
		}
		out[i].falls = append(out[i].falls, Fall{e.Until, d.Float()})
		out[i].entry[e.Until] = e
	}
	return out
}

// Waiting lists the duties not yet done that an act waits for at an instant.
func Waiting(rec quantity.Record, at time.Time, name string) []duty.Duty {
	var out []duty.Duty
	for _, d := range rainDuties(rec, at) {
		if d.More > 0 && d.Entry.Body.Text("stops") == name {
			out = append(out, d)
		}
	}
	return out
}
