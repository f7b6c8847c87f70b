package judge

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/act"
	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/unit"
	"github.com/swardbook/swardbook/geo/plan"
)

// Question is what a manager asks before acting.
type Question struct {
	Act    string    `json:"act"`   // of the closed list of acts
	Place  string    `json:"place"` // feature code; "" = the whole site
	From   time.Time `json:"from"`
	To     time.Time `json:"to"`
	Amount string    `json:"amount"` // how much of what is counted, such as 6 (movements) or 40 m³; "" = not said
}

// Answer is what is on file against an act, and what was not looked at. It
// gives no permission.
type Answer struct {
	Question   Question   `json:"question"`
	At         time.Time  `json:"at"`
	Words      string     `json:"words"`   // the answer in one sentence
	Refused    string     `json:"refused"` // why no answer is given; "" when one is
	Against    []Stand    `json:"against"` // clauses and holds that stand against it
	Until      *time.Time `json:"until"`   // nothing stands against it until then; nil: as far as asked
	UntilWhy   string     `json:"until_why"`
	Left       []Headroom `json:"left"`
	Running    []Running  `json:"running"` // mean levels under way
	NotChecked []Unasked  `json:"not_checked"`
	Zone       string     `json:"zone"` // of the site
}

// Unasked is what was not looked at for one reason.
type Unasked struct {
	Why     string   `json:"why"`
	Permit  string   `json:"permit"`  // "" = none of a permit
	Clauses []string `json:"clauses"` // numbers
}

// String writes it in one line.
func (u *Unasked) String() string {
	if u.Permit == "" {
		return u.Why
	}
	word := "clauses"
	if len(u.Clauses) == 1 {
		word = "clause"
	}
	return fmt.Sprintf("%s %s %s: %s", u.Permit, word, strings.Join(u.Clauses, ", "), u.Why)
}

// unasked notes a clause that was not looked at; clauses of one permit and one
// reason stand together.
func (a *Answer) unasked(permit, clause, why string) {
	for i := range a.NotChecked {
		u := &a.NotChecked[i]
		if u.Permit != permit || u.Why != why {
			continue
		}
		if clause != "" && !slices.Contains(u.Clauses, clause) {
			u.Clauses = append(u.Clauses, clause)
		}
		return
	}
	u := Unasked{Why: why, Permit: permit, Clauses: []string{}}
	if clause != "" {
		u.Clauses = append(u.Clauses, clause)
	}
	a.NotChecked = append(a.NotChecked, u)
}

// Stand is one thing that stands against an act.
type Stand struct {
	Permit    string `json:"permit"` // with clause and condition; empty of a hold
	Clause    string `json:"clause"`
	Condition string `json:"condition"`
	Place     string `json:"place"`
	Entry     int64  `json:"entry"` // the hold, or what it rests on; 0 = none
	Words     string `json:"words"`
}

// Headroom is what is left of an allowance in the window the act falls into.
type Headroom struct {
	Permit    string    `json:"permit"`
	Clause    string    `json:"clause"`
	Condition string    `json:"condition"`
	Place     string    `json:"place"`
	Title     string    `json:"title"`
	Unit      string    `json:"unit"`
	Limit     float64   `json:"limit"`
	Used      float64   `json:"used"`
	Left      float64   `json:"left"`
	From      time.Time `json:"from"` // the window
	To        time.Time `json:"to"`
	Forecast  string    `json:"forecast"` // when it runs out at the rate of the last 28 days; "" = not said
}

// Endless tells whether the allowance is for the whole life of the notice.
func (r *Headroom) Endless() bool { return !r.To.Before(endless) }

// Stands tells how an answer came out: "nothing stands", "until", "stands
// against" or "no answer".
func (a *Answer) Stands() string {
	switch {
	case len(a.Against) > 0:
		return StandsAgainst
	case a.Refused != "":
		return NoAnswer
	case a.Until != nil:
		return UntilThen
	}
	return NothingStands
}

// How an answer comes out.
const (
	NothingStands = "nothing stands"
	UntilThen     = "nothing until a time"
	StandsAgainst = "stands against it"
	NoAnswer      = "no answer"
)

// holdKind is the kind of entry that stops an act.
const holdKind = "hold.1"

const whileItGoesOn = "judged on what is measured while the work goes on"

// noPermission ends every answer.
const noPermission = "This gives no permission: it says what is on file, and the person in charge decides."

// MayI answers whether anything on file stands against an act, as known to the
// record at an instant. Of conditions it asks those on hours, on what must come
// first, and on amounts; holds; and lists what it could not ask. What is wrong
// with the question comes back as a *book.Fault.
func MayI(rec *Record, list *quantity.List, q Question, at time.Time) (*Answer, error) {
	if f := q.fault(at); f != nil {
		return nil, f
	}
	if places := rec.Features(q.From); q.Place != "" && len(places) > 0 && !slices.ContainsFunc(places, func(f *plan.Feature) bool { return f.Code == q.Place }) {
		return nil, &book.Fault{Field: "place", Reason: "the plan has no place " + q.Place, Remedy: "name a place of the plan, or none for the whole site"}
	}
	a := &Answer{Question: q, At: at.UTC(), Against: []Stand{}, Left: []Headroom{}, Running: []Running{}, NotChecked: []Unasked{}, Zone: rec.site.Zone.String()}
	s := &session{rec: rec, list: list, opts: Options{At: at.UTC(), Rules: Rules}}
	var clauses Clauses
	lost, err := s.open(&clauses)
	if err != nil {
		return nil, err
	}
	for _, l := range lost {
		a.unasked("", "", l.Sentence)
	}
	a.holds(rec, q)
	a.start(rec)
	for _, l := range s.lines {
		if err := a.line(s, l); err != nil {
			return nil, err
		}
	}
	a.attested(s)
	a.unasked("", "", "weather and ground, services and drains, people's safety, and notices that are not on file")
	a.say(rec.site.Zone)
	return a, nil
}

// fault returns what is wrong with a question asked at an instant, nil when
// nothing is.
func (q *Question) fault(at time.Time) error {
	switch {
	case !act.Known(q.Act):
		return &book.Fault{Field: "act", Reason: fmt.Sprintf("%q is no act", q.Act), Remedy: "name one of " + strings.Join(act.Names(), ", ")}
	case !q.To.After(q.From):
		return &book.Fault{Field: "to", Reason: "the act ends before it begins", Remedy: "give an end after the beginning"}
	case q.To.Sub(q.From) > longestAct:
		return &book.Fault{Field: "to", Reason: "the act lasts longer than 31 days", Remedy: "ask for a shorter time"}
	case q.From.Before(at.Add(-time.Hour)):
		return &book.Fault{Field: "from", Reason: "the act lies in the past", Remedy: "look at its judgement instead"}
	case q.Amount == "":
		return nil
	}
	if _, err := unit.ParseDecimal(strings.Fields(q.Amount + " ?")[0]); err != nil {
		return &book.Fault{Field: "amount", Reason: fmt.Sprintf("%q is no amount", q.Amount), Remedy: "write a number, with its unit where it has one: 6, or 40 m³"}
	}
	return nil
}

// longestAct is how long an act asked about may last.
const longestAct = 31 * 24 * time.Hour

// holds looks for stops on the act at the place.
func (a *Answer) holds(rec *Record, q Question) {
	for _, e := range rec.Entries(holdKind) {
		if e.Body == nil || e.Body.Flag("released") || e.Body.Text("act") != q.Act && e.Body.Text("act") != act.AllWorks {
			continue
		}
		if q.Place != "" && len(e.Places) > 0 && !named(e.Places, q.Place) {
			continue
		}
		if q.Place == "" && len(e.Places) > 0 {
			if (e.Until.IsZero() || e.Until.After(q.From)) && e.At.Before(q.To) {
				a.unasked("", "", fmt.Sprintf("a hold at %s, %s: ask for the place", strings.Join(e.Places, ", "), e.Body.Text("reason")))
			}
			continue
		}
		to := e.Until
		if to.IsZero() {
			to = endless
		}
		words := fmt.Sprintf("a hold, %s; %s may lift it", e.Body.Text("reason"), e.Body.Text("released_by"))
		switch {
		case !e.At.After(q.From) && to.After(q.From):
			a.Against = append(a.Against, Stand{Entry: e.Seq, Words: words})
		case e.At.After(q.From) && e.At.Before(q.To):
			a.until(e.At, words)
		}
	}
}

// until notes that nothing stands against the act before an instant.
func (a *Answer) until(t time.Time, why string) {
	if a.Until == nil || t.Before(*a.Until) {
		t = t.UTC()
		a.Until, a.UntilWhy = &t, why
	}
}

// line asks one condition, in the version that holds when the act begins.
func (a *Answer) line(s *session, l *line) error {
	q := a.Question
	for i := range l.versions {
		v := &l.versions[i]
		if q.From.Before(v.span.From) || !q.From.Before(v.span.To) {
			continue
		}
		c := v.cond
		if c.Severity == permit.AsActionLevel || c.Severity == permit.AsInformation {
			continue
		}
		for _, place := range placesOf(c) {
			if place != "" && q.Place != "" && place != q.Place && c.Kind != permit.Measured {
				continue
			}
			h := &hearing{s: s, rec: newTracked(s.rec, later(s.opts.At, q.To), s.opts.Rules), line: l, run: []version{*v}, place: place, at: s.opts.At, zone: v.zone, q: s.list.Named(c.Subject)}
			a.condition(h)
		}
	}
	return nil
}

// condition asks one condition at one place.
func (a *Answer) condition(h *hearing) {
	c := h.cond()
	q := a.Question
	switch {
	case c.Phase != "" && !h.duringPhase(&h.run[0], q.From):
		return
	case c.Kind == permit.Interval && h.concerns(q.Act):
		a.hours(h)
	case c.Kind == permit.Ordered && c.Then != nil && c.Then.Subject == actQuantity && c.Then.With["act"] == q.Act:
		a.first(h)
	case (c.Kind == permit.Counted || c.Kind == permit.Measured) && h.q != nil && slices.ContainsFunc(act.Uses(q.Act), func(p string) bool { return strings.HasPrefix(h.q.Code, p) }):
		if h.place == "" || q.Place == "" || h.place == q.Place {
			a.amount(h)
		}
	case c.Kind == permit.Measured && h.q != nil && (h.place == "" || q.Place == "" || h.place == q.Place || h.q.Form == quantity.Series):
		a.running(h)
		a.notChecked(h, whileItGoesOn)
	case c.Kind == permit.Stated:
		a.notChecked(h, "stated by the "+c.Role)
	}
}

// untold refuses an answer because a condition on the very act cannot be asked:
// what is missing never counts as nothing standing against it.
func (a *Answer) untold(h *hearing, why string) {
	a.refuse(fmt.Sprintf("clause %s of %s, %s: %s", h.line.clause, h.line.permit, h.cond().Title, why))
}

func (a *Answer) refuse(why string) {
	a.Refused = strings.TrimPrefix(a.Refused+"; "+why, "; ")
}

func (a *Answer) notChecked(h *hearing, why string) { a.unasked(h.line.permit, h.line.clause, why) }

// concerns tells whether a condition on acts is about an act.
func (h *hearing) concerns(name string) bool {
	c := h.cond()
	if c.Subject == actQuantity {
		return c.With["act"] == "" || c.With["act"] == name
	}
	return h.q != nil && slices.ContainsFunc(act.Uses(name), func(p string) bool { return strings.HasPrefix(h.q.Code, p) })
}

func (a *Answer) against(h *hearing, words string, e *book.Entry) {
	s := Stand{Permit: h.line.permit, Clause: h.line.clause, Condition: h.line.id, Place: h.place, Words: fmt.Sprintf("clause %s of %s, %s: %s", h.line.clause, h.line.permit, h.cond().Title, words)}
	if e != nil {
		s.Entry = e.Seq
	}
	a.Against = append(a.Against, s)
}

// hours asks whether the act lies inside the hours, or under a consent.
func (a *Answer) hours(h *hearing) {
	q, v := a.Question, &h.run[0]
	if v.cond.Schedule == nil {
		a.notChecked(h, "where the act takes place is judged from its entry")
		return
	}
	days, err := h.holidays(v)
	if err == nil {
		var open []calendar.Span
		open, err = v.cond.Schedule.Open(calendar.Span{From: q.From, To: q.To.Add(ahead)}, v.zone, days)
		if err == nil {
			a.inHours(h, open)
			return
		}
	}
	a.untold(h, asFault(err).cause)
}

func (a *Answer) inHours(h *hearing, open []calendar.Span) {
	q := a.Question
	for _, o := range open {
		if !q.From.Before(o.From) && q.From.Before(o.To) {
			if o.To.Before(q.To) {
				a.until(o.To, fmt.Sprintf("clause %s of %s, %s, ends its hours", h.line.clause, h.line.permit, h.cond().Title))
			}
			return
		}
	}
	given, _ := h.consents(calendar.Span{From: q.From, To: q.From})
	for _, e := range given {
		if of := e.Body.Text("act"); e.Body.Text("limit") == "" && (of == act.AllWorks || of == q.Act) {
			if _, to := e.Span(); to.Before(q.To) {
				a.until(to, "consent "+e.Body.Text("reference")+" ends")
			}
			return
		}
	}
	words := "outside its hours"
	if len(open) > 0 {
		words += ", which begin again " + when(open[0].From, h.zone)
	}
	a.against(h, words, nil)
}

// first asks whether what must come first has come, and still holds good.
func (a *Answer) first(h *hearing) {
	firsts, err := h.happenings(h.cond().First, time.Time{})
	if err != nil {
		a.untold(h, asFault(err).cause)
		return
	}
	q := a.Question
	o, err := h.judgeOrder(&quantity.Observation{From: q.From, To: q.From, Precision: book.ToMillisecond, Place: h.place, Name: q.Act}, firsts, &h.run[0])
	switch {
	case err != nil:
		a.untold(h, asFault(err).cause)
	case o.verdict == NotComplied:
		a.against(h, h.happeningText(h.cond().First)+" has to come first: "+o.reason, lastEntry(o.entries))
	case o.verdict == CannotBeJudged:
		a.untold(h, o.cause)
	}
}

func lastEntry(list []*book.Entry) *book.Entry {
	if len(list) == 0 {
		return nil
	}
	return list[len(list)-1]
}

// attested lists the clauses that no computing asks.
func (a *Answer) attested(s *session) {
	for _, kind := range []string{"permit.1", "variation.1"} {
		for _, e := range s.rec.Entries(kind) {
			n, err := permit.FromObject(e.Body)
			if err != nil || s.legalDate(n).After(s.opts.At) {
				continue
			}
			for _, c := range n.Clauses {
				switch c.Treated {
				case permit.Attested:
					a.unasked(n.Reference, c.Number, "attested by the "+c.Role)
				case permit.NotEntered, "":
					a.unasked(n.Reference, c.Number, "not yet entered")
				}
			}
		}
	}
}

// say puts the answer into words.
func (a *Answer) say(zone *time.Location) {
	switch a.Stands() {
	case StandsAgainst:
		var words []string
		for _, s := range a.Against {
			words = append(words, s.Words)
		}
		a.Words = "Stands against it: " + strings.Join(words, "; ") + "."
		a.Until, a.UntilWhy = nil, ""
	case NoAnswer:
		a.Words = "No answer: " + a.Refused + "."
	case UntilThen:
		a.Words = fmt.Sprintf("Nothing on file stands against it until %s: then %s.", when(*a.Until, zone), a.UntilWhy)
	default:
		a.Words = "Nothing on file stands against it."
	}
	for i := range a.Running {
		if r := &a.Running[i]; r.MayBe == nil {
			a.Words += fmt.Sprintf(" Clause %s of %s, %s, is exceeded in the window under way, whatever comes.", r.Clause, r.Permit, r.Title)
		}
	}
	a.Words += " " + noPermission
}
