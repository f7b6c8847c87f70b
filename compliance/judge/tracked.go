package judge

import (
	"fmt"
	"maps"
	"slices"
	"sort"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/geo/plan"
	"github.com/swardbook/swardbook/geo/surface"
)

// Reads is what a judgement asked of the record: whatever changes none of it
// leaves the verdict as it is. Lists are sorted, each name once.
type Reads struct {
	Conditions []string  `json:"conditions"` // ids, of the same notice
	Kinds      []string  `json:"kinds"`      // of entries
	Channels   []string  `json:"channels"`   //
	Places     []string  `json:"places"`     // feature codes; "" = the whole site
	Holidays   []string  `json:"holidays"`   // ids of lists
	Surveys    []string  `json:"surveys"`    // refs
	From       time.Time `json:"from"`       // interval of readings and entries that mattered
	To         time.Time `json:"to"`
}

// tracked is a record as one judgement sees it: cut to the time of judging,
// and noting what is asked for. It is used by one goroutine.
type tracked struct {
	*Record
	at    time.Time
	kinds map[string][]*book.Entry // cut to at; also which were asked for
	notes [5]map[string]bool       // channels, places, holidays, surveys, conditions
	used  []*book.Entry            // entries that files and lists came from
	lost  []*book.Entry            // erased entries of the kinds asked for
	asked []string                 // kinds asked for since it was last emptied
	bad   error                    // why a plan cannot be read; nil when none was asked for or all can
	wants map[[2]string]bool       // quantity and place that channels were asked for by
	soon  time.Time                // earliest instant after at from which the answers may differ; zero = never
	rules int                      // that readings are marked by

	instruments map[instrumentKey]*Instrument
	abouts      map[aboutKey]bearings
	channelsOf  map[instrumentKey]bearings // by channel
}

const (
	noteChannel = iota
	notePlace
	noteHolidays
	noteSurvey
	noteCondition
)

func newTracked(r *Record, at time.Time, rules int) *tracked {
	t := &tracked{Record: r, at: at, rules: rules, kinds: map[string][]*book.Entry{}, wants: map[[2]string]bool{}}
	for i := range t.notes {
		t.notes[i] = map[string]bool{}
	}
	return t
}

// carry takes over what an earlier judgement of the same condition asked for.
func (t *tracked) carry(before *tracked) {
	for kind := range before.kinds {
		t.Entries(kind)
	}
	for i := range before.notes {
		maps.Copy(t.notes[i], before.notes[i])
	}
	maps.Copy(t.wants, before.wants)
	t.used = append(t.used, before.used...)
	t.asked = nil
}

// Entries returns the entries of a kind that had happened by the time of
// judging.
func (t *tracked) Entries(kind string) []*book.Entry {
	if !slices.Contains(t.asked, kind) {
		t.asked = append(t.asked, kind)
	}
	all := t.Record.Entries(kind)
	if list, seen := t.kinds[kind]; seen {
		if len(list) < len(all) {
			t.turn(all[len(list)].At)
		}
		return list
	}
	list := t.cut(all)
	t.kinds[kind] = list
	t.lost = append(t.lost, t.cut(t.Erased(kind))...)
	return list
}

// cut drops the entries after the time of judging, and notes the first.
func (t *tracked) cut(list []*book.Entry) []*book.Entry {
	past := until(list, t.at)
	if len(past) < len(list) {
		t.turn(list[len(past)].At)
	}
	return past
}

// turn notes an instant after the time of judging from which what was answered
// may be answered otherwise.
func (t *tracked) turn(at time.Time) {
	if at.After(t.at) && at.Before(endless) && (t.soon.IsZero() || at.Before(t.soon)) {
		t.soon = at
	}
}

// moving notes that what was answered goes with the time of judging itself.
func (t *tracked) moving() { t.turn(t.at.Add(time.Millisecond)) }

// until cuts entries, in order of At, to those not later than at.
func until(list []*book.Entry, at time.Time) []*book.Entry {
	return list[:sort.Search(len(list), func(i int) bool { return list[i].At.After(at) })]
}

// Channels returns the channels that had readings by the time of judging, and
// notes the place and channels asked for.
func (t *tracked) Channels(code, place string) []series.Channel {
	t.place(place)
	t.wants[[2]string{code, place}] = true
	var out []series.Channel
	for _, c := range t.Record.Channels(code, place) {
		if t.begun(c.Code) {
			t.notes[noteChannel][c.Code] = true
			out = append(out, c)
		}
	}
	return out
}

// begun tells whether a channel had readings by the time of judging.
func (t *tracked) begun(channel string) bool {
	if t.began(channel, t.at) {
		return true
	}
	for _, e := range t.imports[channel] {
		t.turn(e.At)
	}
	t.turn(t.pending.span(channel).From)
	return false
}

// began tells whether a channel had readings by an instant.
func (r *Record) began(channel string, at time.Time) bool {
	if s := r.pending.span(channel); s != (calendar.Span{}) && !s.From.After(at) {
		return true
	}
	return slices.ContainsFunc(r.imports[channel], func(e *book.Entry) bool { return !e.At.After(at) })
}

// Readings notes the channel.
func (t *tracked) Readings(channel string, from, to time.Time) ([]*series.Block, error) {
	return t.readings(channel, from, to, asks{rules: t.rules})
}

// readings is Readings by what a condition asks of instruments.
func (t *tracked) readings(channel string, from, to time.Time, by asks) ([]*series.Block, error) {
	t.notes[noteChannel][channel] = true
	for _, e := range t.imports[channel] {
		if e.Until.After(t.at) {
			t.moving() // readings of times ahead are on file
		}
	}
	if t.pending.span(channel).To.After(t.at) {
		t.moving()
	}
	return t.Record.readings(channel, from, to, t.marking(by))
}

// Surface notes the survey.
func (t *tracked) Surface(ref string) (*surface.Surface, *book.Entry, error) {
	t.notes[noteSurvey][ref] = true
	s, e, err := t.Record.Surface(ref)
	if e != nil && e.At.After(t.at) {
		t.turn(e.At)
		return nil, nil, &fault{cause: "survey " + ref + " was not yet made", remedy: "judge at a later time"}
	}
	if e != nil {
		t.used = append(t.used, e)
	}
	return s, e, err
}

// Feature notes the plan revision it came from.
func (t *tracked) Feature(code string, at time.Time) *plan.Feature {
	t.place(code)
	f, e, err := t.feature(code, earlier(at, t.at))
	for _, p := range t.plans {
		t.turn(p.entry.At)
	}
	if err != nil {
		t.bad = fmt.Errorf("the plan of entry %d cannot be read: %w", e.Seq, err)
	}
	if e != nil {
		t.used = append(t.used, e)
	}
	return f
}

// Holidays notes the list and the entries it is made of.
func (t *tracked) Holidays(id string) *calendar.Holidays {
	h, from := t.holidays(id)
	if !t.notes[noteHolidays][id] {
		t.notes[noteHolidays][id] = true
		t.used = append(t.used, from...)
	}
	return h
}

func (t *tracked) place(code string) { t.notes[notePlace][code] = true }

func (t *tracked) bySeq(seq int64) *book.Entry { return t.BySeq(seq) }

// reads says what was asked for, over the interval given.
func (t *tracked) reads(span calendar.Span) *Reads {
	out := &Reads{
		Channels: names(t.notes[noteChannel]), Places: names(t.notes[notePlace]),
		Holidays: names(t.notes[noteHolidays]), Surveys: names(t.notes[noteSurvey]), Conditions: names(t.notes[noteCondition]),
		From: span.From.UTC(), To: span.To.UTC(),
	}
	kinds := map[string]bool{}
	for k := range t.kinds {
		kinds[k] = true
	}
	if len(out.Channels) > 0 {
		kinds["import.1"], kinds["rejection.1"], kinds[deploymentKind] = true, true, true
	}
	out.Kinds = names(kinds)
	return out
}

func names(set map[string]bool) []string {
	out := make([]string, 0, len(set))
	for n := range set {
		out = append(out, n)
	}
	sort.Strings(out)
	return out
}

var _ quantity.Record = (*tracked)(nil)
