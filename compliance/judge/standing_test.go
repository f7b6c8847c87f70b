package judge_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
)

// historyNotice has a condition of every kind and rule whose judgement is kept
// from one state of the book to the next in another way.
const historyNotice = `
permit: {reference: P/1, type: permit, granted: 2026-03-01, zone: Europe/London, holidays: list}
clauses:
  - {number: "1", text: noise, treated: judged}
  - {number: "2", text: dust and water, treated: judged}
  - {number: "3", text: acts, treated: judged}
  - {number: "4", text: papers and terms, treated: judged}
conditions:
  - {id: n-hour, clause: "1", kind: measured, subject: noise.laeq, place: {each: [A, B]}, window: clock hour, statistic: energy mean, schedule: [{days: mon-fri, from: "07:00", to: "19:00"}, {days: sat, from: "07:00", to: "13:00"}], limit: <= 55 dB, action_level: 52 dB, coverage: 75 %, missing: breach}
  - {id: n-bg, clause: "1", kind: measured, subject: noise.laeq, place: A, window: local day, statistic: energy mean, limit: "background BG + 10 dB, floor 45, cap 60", coverage: 50 %}
  - {id: n-quiet, clause: "1", kind: measured, subject: noise.laeq, place: A, window: "shift 22:00-07:00", statistic: max, limit: <= 60 dB, phase: drilling}
  - {id: n-rival, clause: "1", kind: measured, subject: noise.laeq, place: A, window: clock hour, statistic: energy mean, limit: <= 65 dB, in place of: n-other, quota: {days: 3, per: calendar month, act: loud}}
  - {id: n-other, clause: "1", kind: measured, subject: noise.laeq, place: A, window: clock hour, statistic: energy mean, limit: <= 50 dB}
  - {id: n-month, clause: "1", kind: measured, subject: noise.laeq, place: B, window: local day, statistic: max, limit: <= 58 dB, rule: at most 2 per calendar month, monitoring: {windows: 80 %}}
  - {id: n-free, clause: "1", kind: measured, subject: noise.laeq, basis: free field, with: {drift: 0.9 dB}, place: A, window: clock hour, statistic: energy mean, limit: <= 55 dB, coverage: 75 %}
  - {id: n-sure, clause: "1", kind: measured, subject: noise.laeq, with: {checked: field check and certificate}, place: B, window: local day, statistic: energy mean, limit: <= 60 dB, coverage: 20 %}
  - {id: n-roll, clause: "1", kind: measured, subject: noise.laeq, place: B, window: rolling hour, statistic: energy mean, limit: <= 57 dB}
  - {id: n-any, clause: "1", kind: measured, subject: noise.laeq, place: {any: [A, B]}, window: local day, statistic: max, limit: <= 59 dB}
  - {id: d-day, clause: "2", kind: measured, subject: dust.pm10, place: A, window: local day, statistic: arithmetic mean, limit: <= 50 µg/m³, rule: at most 3 per calendar year}
  - {id: w-day, clause: "2", kind: measured, subject: water.flow_volume, place: A, window: day from 09:00, statistic: sum, limit: <= 900 m³, straddle: split at the change}
  - {id: w-life, clause: "2", kind: measured, subject: water.flow_volume, place: A, window: whole life, statistic: sum, limit: <= 90000 m³}
  - {id: w-tss, clause: "2", kind: measured, subject: water.tss, place: A, window: instant, limit: <= 40 mg/L, rule: {look-up table: [[4, 11, 1], [12, 99, 2]], per: calendar year}}
  - {id: w-ph, clause: "2", kind: measured, subject: water.tss, place: A, window: instant, limit: <= 60 mg/L, monitoring: {every: week from monday}}
  - {id: h-day, clause: "3", kind: counted, subject: haulage.movements, window: local day, limit: <= 6, schedule: [{days: mon-sat, from: "07:00", to: "19:00"}], missing: counting goes on}
  - {id: h-hours, clause: "3", kind: interval, subject: site.act, with: {act: haul}, schedule: [{days: mon-fri, from: "08:00", to: "18:00"}]}
  - {id: o-notice, clause: "3", kind: ordered, first: {subject: site.paper, with: {scheme: method}}, then: {subject: site.act, with: {act: dig}}}
  - {id: t-return, clause: "4", kind: dated, deadline: {within: 14 days, of: window end}, window: calendar month, done: {subject: site.paper, with: {scheme: return}}}
  - {id: t-tell, clause: "4", kind: dated, deadline: {within: 24 hours, of: {subject: site.act, with: {act: spill}}}, done: {subject: site.paper, with: {scheme: told}}}
  - {id: p-plan, clause: "4", kind: present, done: {subject: site.paper, with: {scheme: soil plan}}}
`

// historyVariation changes two conditions from a date.
const historyVariation = `
permit: {reference: P/1/V%d, varies: P/1, granted: %[2]s, effective: %[2]s, zone: Europe/London, holidays: list}
clauses: [{number: "1", text: noise, treated: judged}]
conditions:
  - {id: n-hour, clause: "1", kind: measured, subject: noise.laeq, place: {each: [A, B]}, window: clock hour, statistic: energy mean, schedule: [{days: mon-sat, from: "08:00", to: "18:00"}], limit: <= %[3]d dB, coverage: 75 %%, missing: breach}
  - {id: w-day, clause: "1", kind: measured, subject: water.flow_volume, place: A, window: day from 09:00, statistic: sum, limit: <= %[4]d m³, straddle: split at the change}
`

// history grows a book at random.
type history struct {
	t    *testing.T
	rng  *rand.Rand
	f    *fixture
	at   time.Time
	open []*book.Entry  // heads that can be corrected
	sent *judge.Pending // what is not yet sealed; never changed, only replaced
}

var historyBegins = time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)

// when is an instant of the last weeks, now and then one of the first or one
// ahead of the time of judging.
func (h *history) when() time.Time {
	span := h.at.Sub(historyBegins)
	switch h.rng.IntN(8) {
	case 0:
		return historyBegins.Add(time.Duration(h.rng.Int64N(int64(span)))).Truncate(time.Minute)
	case 1:
		return h.at.Add(time.Duration(h.rng.Int64N(int64(72 * time.Hour)))).Truncate(time.Minute)
	}
	return h.at.Add(-time.Duration(h.rng.Int64N(int64(20 * 24 * time.Hour)))).Truncate(time.Minute)
}

func (h *history) pick(words ...string) string { return words[h.rng.IntN(len(words))] }

// step adds one entry of any kind.
func (h *history) step() {
	if len(h.open) > 0 && h.rng.IntN(4) == 0 {
		h.correct()
		return
	}
	switch n := h.rng.IntN(20); {
	case n < 6:
		h.imported(book.Draft{})
	case n < 8:
		h.add(book.Draft{Kind: "rejection.1"}, book.Object{"channel": h.pick("NA", "NB", "PA", "FA"), "reason": h.pick("wind", "rain", "calibrating")}, 30*time.Hour)
	case n < 9:
		h.varied()
	case n < 10:
		h.add(book.Draft{Kind: "background.1"}, book.Object{"name": "BG", "quantity": "noise.laeq", "value": strconv.Itoa(35 + h.rng.IntN(12)), "unit": "dB"}, 0)
	case n < 11:
		h.add(book.Draft{Kind: "phase.1"}, book.Object{"name": "drilling"}, time.Duration(h.rng.IntN(2))*400*time.Hour)
	case n < 12:
		h.add(book.Draft{Kind: "consent.1", Places: []string{h.pick("A", "B")}}, book.Object{"permit": "P/1", "condition": h.pick("n-hour", "h-hours", "n-other"), "act": "all works", "reference": "C", "limit": h.pick("", "<= 60 dB")}, 60*time.Hour)
	case n < 13:
		h.calendar()
	case n < 14:
		h.instrument()
	default:
		h.observed(book.Draft{})
	}
}

// instrument adds what may be said of the instruments that measured.
func (h *history) instrument() {
	of := h.pick("M1", "M2")
	switch h.rng.IntN(4) {
	case 0:
		h.add(book.Draft{Kind: "deployment.1", Places: []string{h.pick("A", "B")}}, book.Object{"ref": h.pick("D1", "D2"), "instrument": of, "position": "façade"}, time.Duration(1+h.rng.IntN(2))*500*time.Hour)
	case 1:
		h.add(book.Draft{Kind: "calibration.1"}, book.Object{"instrument": of, "certificate": "C", "valid_until": "2026-04-02", "outcome": h.pick("within tolerance", "out of tolerance")}, 0)
	default:
		h.add(book.Draft{Kind: "field_check.1"}, book.Object{"instrument": of, "expected": "94.0", "shown": h.pick("94.0", "94.4", "93.3", "92.8"), "unit": "dB", "outcome": h.pick("within tolerance", "adjusted")}, 0)
	}
}

func (h *history) add(d book.Draft, body book.Object, longest time.Duration) {
	if d.At = h.when(); longest > 0 {
		d.Until = d.At.Add(time.Duration(1+h.rng.Int64N(int64(longest/time.Minute))) * time.Minute)
	}
	h.open = append(h.open, h.f.add(d, body, 0))
}

// correct takes an entry back, or puts another in its place.
func (h *history) correct() {
	i := h.rng.IntN(len(h.open))
	e := h.open[i]
	h.open = append(h.open[:i], h.open[i+1:]...)
	d := book.Draft{Kind: e.Kind, At: e.At, Until: e.Until, Places: e.Places, Supersedes: e.ID, Reason: "test"}
	switch {
	case h.rng.IntN(3) == 0:
		h.f.add(d, nil, 0)
	case e.Kind == "import.1":
		h.imported(d)
	case e.Kind == "observed.1":
		h.observed(d)
	default:
		d.At = d.At.Add(time.Duration(h.rng.IntN(48)-24) * time.Hour)
		if !d.Until.IsZero() && !d.Until.After(d.At) {
			d.Until = d.At.Add(time.Hour)
		}
		h.open = append(h.open, h.f.add(d, e.Body, 0))
	}
}

// imported brings readings of a channel; a correction those of any channel.
func (h *history) imported(d book.Draft) {
	type channel struct {
		code, quantity, place, unit string
		least, spread               int64
	}
	c := []channel{
		{"NA", "noise.laeq", "A", "dB", 400, 200}, {"NB", "noise.laeq", "B", "dB", 420, 200}, {"NB2", "noise.laeq", "B", "dB", 420, 200},
		{"PA", "dust.pm10", "A", "µg/m³", 100, 600}, {"FA", "water.flow_volume", "A", "m³", 10, 500},
	}[h.rng.IntN(5)]
	if c.code == "NB2" && h.rng.IntN(6) > 0 {
		c.code = "NB" // two channels at one place are a conflict where they overlap
	}
	step := []time.Duration{5 * time.Minute, 15 * time.Minute, time.Hour, 26 * time.Hour}[h.rng.IntN(4)]
	from := h.when()
	b := &series.Block{Span: step.Milliseconds(), Places: 1}
	for i := range 1 + h.rng.IntN(120) {
		if h.rng.IntN(12) == 0 {
			continue
		}
		b.Start = append(b.Start, from.UnixMilli()+int64(i)*b.Span)
		b.Coefficient = append(b.Coefficient, c.least+h.rng.Int64N(c.spread))
		b.Mark = append(b.Mark, []series.Mark{series.Valid, series.Valid, series.Valid, series.Valid, series.Blank}[h.rng.IntN(5)])
	}
	if b.Len() == 0 {
		return
	}
	sealed := series.Channel{Code: c.code, Quantity: c.quantity, Place: c.place, Unit: c.unit, Deployment: h.pick("", "", "D1"), Instrument: h.pick("", "M1", "M2")}
	if d.Supersedes == "" && h.rng.IntN(3) == 0 {
		h.send(sealed, b)
		return
	}
	h.keep(d, sealed, b)
}

// keep makes readings an import.
func (h *history) keep(d book.Draft, c series.Channel, list ...*series.Block) {
	last := list[len(list)-1]
	d.Kind, d.Places = "import.1", []string{c.Place}
	d.At, d.Until = time.UnixMilli(list[0].Start[0]).UTC(), time.UnixMilli(last.Start[last.Len()-1]+last.Span).UTC()
	e := h.f.add(d, book.Object{"channels": []any{book.Object{"channel": c.Code, "quantity": c.Quantity, "place": c.Place, "unit": c.Unit, "deployment": c.Deployment, "instrument": c.Instrument}}}, 0)
	h.f.blocks[e.ID] = map[string][]*series.Block{c.Code: list}
	h.open = append(h.open, e)
}

// send adds readings to what is not yet sealed; where they do not follow on,
// or now and then, what was there is sealed first.
func (h *history) send(c series.Channel, b *series.Block) {
	next := &judge.Pending{Blocks: map[string][]*series.Block{}}
	if h.sent != nil {
		for _, other := range h.sent.Channels {
			list := h.sent.Blocks[other.Code]
			last := list[len(list)-1]
			follows := last.Start[last.Len()-1]+last.Span <= b.Start[0]
			switch {
			case other.Code == c.Code && follows && other == c && h.rng.IntN(4) > 0:
				next.Blocks[c.Code] = list[:len(list):len(list)]
			case other.Code == c.Code || h.rng.IntN(4) == 0:
				h.keep(book.Draft{}, other, list...)
			default:
				next.Channels, next.Blocks[other.Code] = append(next.Channels, other), list
			}
		}
	}
	next.Channels = append(next.Channels, c)
	next.Blocks[c.Code] = append(next.Blocks[c.Code], b)
	h.sent = next
}

// observed adds a result, an act or a paper.
func (h *history) observed(d book.Draft) {
	d.Kind, d.At, d.Until, d.Places = "observed.1", h.when(), time.Time{}, nil
	body := book.Object{"quantity": h.pick("water.tss", "water.tss", "haulage.movements", "site.act", "site.paper")}
	switch body.Text("quantity") {
	case "water.tss":
		d.Places, body["value"] = []string{"A"}, h.pick("12", "39", "41", "<5", "80")
	case "haulage.movements":
		body["value"] = h.pick("1", "2", "3")
	case "site.act":
		body["name"] = h.pick("haul", "dig", "spill", "loud")
		d.Until = d.At.Add(time.Duration(1+h.rng.IntN(300)) * time.Minute)
	case "site.paper":
		body["scheme"] = h.pick("method", "return", "told", "soil plan")
	}
	if h.rng.IntN(5) == 0 {
		d.Precision, d.At, d.Until = book.ToDay, d.At.Truncate(24*time.Hour), time.Time{}
	}
	h.open = append(h.open, h.f.add(d, body, 0))
}

func (h *history) varied() {
	day := historyBegins.AddDate(0, 0, 20+h.rng.IntN(90)).Format("2006-01-02")
	h.f.notice(h.t, "variation", fmt.Sprintf(historyVariation, len(h.f.entries), day, 50+h.rng.IntN(10), 500+h.rng.IntN(800)))
}

// calendar proclaims a day, or brings a further year.
func (h *history) calendar() {
	day := h.at.AddDate(0, 0, h.rng.IntN(10)-5)
	h.f.add(book.Draft{Kind: "calendar.1", At: historyBegins}, book.Object{
		"id": "list", "source": "test", "from_year": int64(2026), "to_year": int64(2026 + h.rng.IntN(2)),
		"days": []any{book.Object{"date": day.Format("2006-01-02"), "title": "proclaimed"}},
	}, 0)
}

// What is judged step by step is what is judged at once, and what is judged
// month by month is what is judged in one go: whatever is added, corrected,
// withdrawn or varied, and however the clock moves. SWARDBOOK_HISTORIES sets
// how many histories are tried.
func TestStandingIsWholeJudgement(t *testing.T) {
	list := testQuantities(t)
	histories := 60
	if s := os.Getenv("SWARDBOOK_HISTORIES"); s != "" {
		histories, _ = strconv.Atoi(s)
	}
	for n := range histories {
		h := &history{t: t, rng: rand.New(rand.NewPCG(uint64(n), 11)), f: newFixture("Europe/London"), at: historyBegins.AddDate(0, 1, 3).Add(10*time.Hour + 20*time.Minute)}
		if h.rng.IntN(6) > 0 {
			h.calendar()
		}
		h.f.notice(t, "notice", historyNotice)
		for range h.rng.IntN(25) {
			h.step()
		}
		st := standing(t, h, list)
		for step := range 8 {
			before := len(h.f.entries)
			if h.rng.IntN(4) > 0 {
				for range 1 + h.rng.IntN(3) {
					h.step()
				}
			}
			if h.rng.IntN(3) > 0 {
				h.at = h.at.Add(time.Duration(h.rng.Int64N(int64([]time.Duration{20 * time.Minute, 8 * time.Hour, 9 * 24 * time.Hour}[h.rng.IntN(3)]))))
			}
			next, err := st.Advance(h.f.entries[before:], h.f, h.at, h.sent)
			if err != nil {
				t.Fatalf("history %d, step %d: %v", n, step, err)
			}
			compareReports(t, fmt.Sprintf("history %d, step %d, at %s", n, step, h.at.Format(time.RFC3339)), next.Report(), judgedAtOnce(t, h, list))
			st = next
			if step%4 == 3 {
				compareReports(t, fmt.Sprintf("history %d, step %d, in one go", n, step), next.Report(), judgedInOneGo(t, h, list))
			}
		}
	}
}

func standing(t *testing.T, h *history, list *quantity.List) *judge.Standing {
	t.Helper()
	rec := h.record(t)
	st, err := judge.NewStanding(rec, list, judge.Options{At: h.at})
	if err != nil {
		t.Fatal(err)
	}
	compareReports(t, "at the beginning", st.Report(), judgedAtOnce(t, h, list))
	return st
}

// record opens the history anew, with what is not yet sealed.
func (h *history) record(t *testing.T) *judge.Record {
	t.Helper()
	rec, err := judge.NewRecord(h.f.entries, h.f)
	if err == nil {
		rec, err = rec.WithPending(h.sent)
	}
	if err != nil {
		t.Fatal(err)
	}
	return rec
}

func judgedAtOnce(t *testing.T, h *history, list *quantity.List) *judge.Report {
	t.Helper()
	rec := h.record(t)
	report, err := judge.All(rec, list, judge.Options{At: h.at})
	if err != nil {
		t.Fatal(err)
	}
	return report
}

// judgedInOneGo judges without months apart.
func judgedInOneGo(t *testing.T, h *history, list *quantity.List) *judge.Report {
	t.Helper()
	rec := h.record(t)
	report, err := judge.Whole(rec, list, judge.Options{At: h.at})
	if err != nil {
		t.Fatal(err)
	}
	return report
}

func compareReports(t *testing.T, what string, got, want *judge.Report) {
	t.Helper()
	if len(got.Judgements) != len(want.Judgements) {
		t.Fatalf("%s: %d judgements, at once %d", what, len(got.Judgements), len(want.Judgements))
	}
	for i := range want.Judgements {
		a, b := asJSON(t, &got.Judgements[i]), asJSON(t, &want.Judgements[i])
		if !bytes.Equal(a, b) {
			t.Fatalf("%s: %s at %q\n  step by step %s\n  at once      %s", what, want.Judgements[i].Condition, want.Judgements[i].Place, a, b)
		}
	}
	if a, b := asJSON(t, got), asJSON(t, want); !bytes.Equal(a, b) {
		t.Fatalf("%s: the reports differ beside their judgements", what)
	}
}

func asJSON(t *testing.T, v any) []byte {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return b
}
