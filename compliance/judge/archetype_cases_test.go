package judge_test

import (
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/inspection"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/site"
)

// archetypeCase is one line of testdata/archetype_cases.txt.
type archetypeCase struct {
	id, condition, place, at, verdict, evidence string
	line                                        int
}

// missingRules is what the table of archetypes says that a gap is, by row.
// Source: the project's table of condition archetypes, column "missing".
var missingRules = [4]struct {
	rule permit.Missing
	rows string
}{
	{permit.CannotBeJudged, "S04 S05 S06 S09 R01 R02 R03 R08 R09 R10 A04 N01 N02 N03 N04 N06 N07 N08 N09 N10 N13 H02 V05 D01 D02 D03 D04 W04 W06 W07 W14 W15 T02 T04 T05 F03 X02 E02 L01"},
	{permit.GapIsBreach, "S03 A03 N11 H01 H03 H05 H06 V01 V02 V03 D06 W01 W02 W03 W05 W08 W09 W10 W11 W16 T01 X03 Q01 Q03 Q04 Q05 Q07"},
	{permit.NotDone, "S01 S02 S07 S10 R04 R05 R06 R07 A01 A02 A05 N12 H04 V04 G01 W13 T07 F01 F02 X01 E01 E03 E04 E05 K01 K02 L02 Q02 Q06 Q08"},
	{permit.CountGoesOn, "S08 N05 D05 G02 W12 T03 T06"},
}

func missingOf(id string) permit.Missing {
	for _, r := range missingRules {
		if strings.Contains(" "+r.rows+" ", " "+id+" ") {
			return r.rule
		}
	}
	return ""
}

// TestArchetypesKeepTheirMissingRule holds each row's conditions against what
// the table says of its gaps; action levels follow their limit.
func TestArchetypesKeepTheirMissingRule(t *testing.T) {
	others := map[string]bool{"N05 14": true} // another clause, that the row's own stands in place of
	for id, text := range archetypeFiles(t) {
		n, err := permit.Read(strings.NewReader(text), id)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range n.Conditions {
			if c.Severity != permit.AsActionLevel && !others[id+" "+c.ID] && c.Missing != missingOf(id) {
				t.Errorf("%s %s: a gap is %q, the table says %q", id, c.ID, c.Missing, missingOf(id))
			}
		}
	}
}

var verdictSigns = map[string]string{"+": "complied", "-": "not complied", "?": "cannot be judged", "0": "not yet due", "=": "not applicable"}

func archetypeCases(t *testing.T) []archetypeCase {
	t.Helper()
	text, err := os.ReadFile("testdata/archetype_cases.txt")
	if err != nil {
		t.Fatal(err)
	}
	var out []archetypeCase
	for i, line := range strings.Split(string(text), "\n") {
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		f := strings.SplitN(line, " ", 6)
		if len(f) < 5 || verdictSigns[f[4]] == "" || !strings.HasPrefix(f[3], "@") {
			t.Fatalf("line %d cannot be read: %s", i+1, line)
		}
		c := archetypeCase{id: f[0], condition: f[1], place: f[2], at: f[3][1:], verdict: verdictSigns[f[4]], line: i + 1}
		if c.place == "-" {
			c.place = ""
		}
		if len(f) == 6 {
			c.evidence = f[5]
		}
		out = append(out, c)
	}
	return out
}

// TestArchetypeCases judges the cases of every archetype from entries of the
// kinds there are.
func TestArchetypeCases(t *testing.T) {
	list, err := catalogue.Quantities()
	if err != nil {
		t.Fatal(err)
	}
	kinds, err := catalogue.Kinds()
	if err != nil {
		t.Fatal(err)
	}
	all, seen := archetypeFiles(t), map[string]map[string]bool{}
	for _, c := range archetypeCases(t) {
		if seen[c.id] == nil {
			seen[c.id] = map[string]bool{}
		}
		seen[c.id][c.verdict] = true
		t.Run(c.id+" "+c.condition+" "+c.verdict, func(t *testing.T) { c.run(t, all[c.id], list, kinds) })
	}
	for id := range all {
		got := seen[id]
		if !got["complied"] || !got["not complied"] {
			t.Errorf("%s lacks a case that complies or one that does not: %v", id, got)
		}
		if missingOf(id) != permit.NotDone && !got["cannot be judged"] && !got["not yet due"] && !got["not applicable"] {
			t.Errorf("%s has no case in which the record is silent", id)
		}
	}
}

func (c *archetypeCase) run(t *testing.T, notice string, list *quantity.List, kinds *book.Kinds) {
	b := &evidence{fixture: newFixture("Europe/London"), c: &goldenCase{}, kinds: kinds}
	b.holidays(holidayText{ID: "england-and-wales", Years: []int{2025, 2040}})
	b.notice(t, c.id, notice)
	if c.evidence != "" {
		for _, one := range strings.Split(c.evidence, "; ") {
			b.take(t, c, one)
		}
	}
	report, err := judge.All(record(t, b.fixture), list, judge.Options{At: b.c.time(t, clock(c.at))})
	if err != nil {
		t.Fatal(err)
	}
	j := find(report, c.condition, c.place)
	if j == nil {
		t.Fatalf("line %d: no judgement of %s at %q", c.line, c.condition, c.place)
	}
	if j.Verdict.String() != c.verdict {
		t.Errorf("line %d: %s", c.line, j.Sentence)
	}
}

// evidence makes entries of the words of a case.
type evidence struct {
	*fixture
	c     *goldenCase
	kinds *book.Kinds
}

// clock turns "2026-01-12T08:00" into what golden cases write.
func clock(s string) string { return strings.Replace(s, "T", " ", 1) }

// take makes one piece of evidence.
func (b *evidence) take(t *testing.T, c *archetypeCase, text string) {
	t.Helper()
	place := c.place
	if rest, found := strings.CutPrefix(text, "at "); found {
		place, text, _ = strings.Cut(rest, " ")
	}
	verb, rest, _ := strings.Cut(text, " ")
	f := strings.Fields(rest)
	switch verb {
	case "read":
		b.readings(t, b.c, readingsText{Channel: f[0] + "@" + place, Quantity: f[0], Place: place, Unit: f[1], From: clock(f[2]), Step: f[3], Values: strings.Join(f[4:], " ")})
		return
	case "mound":
		b.mound(t, place, f[0], f[1], f[2])
		return
	case "levels":
		b.levels(t, place, f[0], "approved levels", f[1])
		return
	case "placed":
		b.levels(t, place, f[0], "formation", f[1])
		return
	case "channel":
		b.readings(t, b.c, readingsText{Channel: f[0], Quantity: f[1], Place: place, Unit: f[2], From: clock(f[3]), Step: f[4], Values: strings.Join(f[5:], " ")})
		return
	}
	d := book.Draft{}
	if place != "" {
		d.Places = []string{place}
	}
	if verb == "tickets" { // one a minute, as many as the last word says
		n, err := strconv.Atoi(f[4])
		if err != nil {
			t.Fatal(err)
		}
		at := b.c.time(t, clock(f[0]))
		for i := range n {
			b.add(book.Draft{Kind: "ticket.1", At: at.Add(time.Duration(i) * time.Minute), Precision: book.ToMinute, Places: []string{place}}, book.Object{"number": strconv.Itoa(i), "direction": f[1], "material": f[2], "net": f[3]}, 0)
		}
		return
	}
	if verb == "samples" { // one a day
		at := b.c.time(t, clock(f[0]))
		for _, value := range f[3:] {
			value, times, _ := strings.Cut(value, "*")
			n, err := strconv.Atoi("0" + times)
			if err != nil {
				t.Fatal(err)
			}
			for range max(n, 1) {
				b.add(book.Draft{Kind: "sample.1", At: at, Precision: book.ToMinute, Places: []string{place}}, book.Object{"results": []any{book.Object{"determinand": f[1], "result": value, "unit": f[2]}}}, 0)
				at = at.Add(24 * time.Hour)
			}
		}
		return
	}
	from, until, lasts := strings.Cut(f[0], "/")
	d.At, d.Precision = b.c.time(t, clock(from)), precisionOf(clock(from))
	if lasts {
		if len(until) == len("12:00") {
			until = from[:len("2026-01-12T")] + until
		}
		d.Until = b.c.time(t, clock(until))
	}
	var body book.Object
	d.Kind, body = b.words(t, verb, f[1:])
	if d.Kind == "phase.1" || d.Kind == "background.1" {
		d.Places = nil
	}
	d.Body, d.By, d.Role, d.ID = body, "p1", "officer", book.RowID("test", d.Kind, "row", text)
	if faults := b.kinds.Check(&d); len(faults) > 0 {
		t.Fatalf("%s: %v", text, faults)
	}
	b.add(d, body, 0)
}

// words makes the body of one verb.
func (b *evidence) words(t *testing.T, verb string, f []string) (string, book.Object) {
	t.Helper()
	rest := func(i int) string { return strings.Join(f[i:], " ") }
	switch verb {
	case "act":
		return "diary.1", book.Object{"act": rest(0)}
	case "paper":
		for _, stage := range site.Stages {
			if scheme, found := strings.CutPrefix(rest(0), stage+" "); found && !strings.HasPrefix(scheme, "in part ") {
				return "paper.1", book.Object{"scheme": scheme, "stage": stage}
			}
		}
	case "check":
		items := []any{}
		for _, l := range inspection.Checklists() {
			for _, i := range l.Items {
				switch {
				case l.ID == f[0] && i.ID == f[1]:
					items = append(items, book.Object{"item": i.ID, "answer": rest(2)})
				case l.ID == f[0]:
					items = append(items, book.Object{"item": i.ID, "answer": "not seen"})
				}
			}
		}
		return "inspection.1", book.Object{"checklist": f[0], "items": items}
	case "strip":
		return "strip.1", book.Object{"horizon": f[0], "depth_mean": f[1], "depth_least": f[2], "moisture": "dry and friable"}
	case "ticket":
		return "ticket.1", ticketBody(f)
	case "sample":
		return "sample.1", book.Object{"taken": f[3], "results": []any{book.Object{"determinand": f[0], "result": f[1], "unit": f[2]}}}
	case "spot":
		return "spot.1", spotBody(f)
	case "state":
		n := len(f)
		answer, end := f[n-1], n-1
		if f[n-2] == "not" {
			answer, end = "not met", n-2
		}
		return "statement.1", book.Object{"permit": "EX/" + strings.Split(t.Name(), "/")[1][:3], "clause": f[0], "role": strings.Join(f[1:end], " "), "answer": answer, "text": "x"}
	case "complaint":
		return "complaint.1", book.Object{"about": f[0], "what": "x", "justified": f[1]}
	case "incident":
		o := book.Object{"sort": rest(1), "what": "x"}
		if f[0] != "-" {
			o["told_at"] = book.FormatInstant(b.c.time(t, clock(f[0])))
		}
		return "incident.1", o
	case "blast":
		return "blast.1", book.Object{"charge_per_delay": f[0], "distance": f[1]}
	case "phase":
		return "phase.1", book.Object{"name": rest(0)}
	case "background":
		return "background.1", book.Object{"name": f[0], "value": f[1], "unit": "dB"}
	case "consent":
		return "consent.1", book.Object{"condition": f[0], "act": rest(1), "reference": "C/1", "reason": "x", "decided_by": "y"}
	case "hours":
		return "hour_meter.1", book.Object{"machine": f[0], "reading": f[1]}
	case "water":
		n := len(f)
		return "totaliser.1", book.Object{"meter": "M", "of": strings.Join(f[:n-1], " "), "reading": f[n-1]}
	}
	t.Fatalf("evidence %s %v cannot be read", verb, f)
	return "", nil
}

// spotBody reads "soil depth 0.31 topsoil": the words up to the result are what
// was measured.
func spotBody(f []string) book.Object {
	for i, w := range f {
		if strings.ContainsAny(w[:1], "0123456789<>") {
			o := book.Object{"what": strings.Join(f[:i], " "), "result": w}
			if i+1 < len(f) {
				o["layer"] = f[i+1]
			}
			return o
		}
	}
	return book.Object{"what": strings.Join(f, " ")}
}

// square is a plan of one place, 20 m by 20 m.
const square = `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"code":"%s","kind":"stockpile"},"geometry":{"type":"Polygon","coordinates":[[[0,0],[20,0],[20,20],[0,20],[0,0]]]}}]}`

// surface surveys the square, its corners at one level and its middle higher.
func (b *evidence) surface(t *testing.T, day, ref, purpose string, corners, middle float64) {
	t.Helper()
	text := "point,easting,northing,level\n"
	for i, p := range [][2]float64{{0, 0}, {20, 0}, {20, 20}, {0, 20}} {
		text += fmt.Sprintf("%d,%g,%g,%g\n", i, p[0], p[1], corners)
	}
	text += fmt.Sprintf("m,10,10,%g\n", middle)
	b.add(book.Draft{Kind: "survey.1", At: b.c.time(t, day), Precision: book.ToDay}, book.Object{"ref": ref, "purpose": purpose, "file": b.file(text)}, 0)
}

// mound surveys a pyramid of that height over level ground, and enters it.
func (b *evidence) mound(t *testing.T, place, day, holds, height string) {
	t.Helper()
	h, err := strconv.ParseFloat(height, 64)
	if err != nil {
		t.Fatal(err)
	}
	b.add(book.Draft{Kind: "plan.1", At: on(2026, 1, 1, 0)}, book.Object{"coordinates": "site grid", "file": b.file(fmt.Sprintf(square, place))}, 0)
	b.surface(t, "2026-01-02", "before", "pre-works", 100, 100)
	b.surface(t, day, "mound", "stockpile", 100, 100+h)
	b.add(book.Draft{Kind: "stockpile.1", At: b.c.time(t, day), Precision: book.ToDay, Places: []string{place}},
		book.Object{"holds": holds, "survey": "mound", "base": "survey", "base_survey": "before"}, 0)
}

// levels surveys what restored levels are held against and, so much higher,
// those restored.
func (b *evidence) levels(t *testing.T, place, day, before, higher string) {
	t.Helper()
	h, err := strconv.ParseFloat(higher, 64)
	if err != nil {
		t.Fatal(err)
	}
	b.add(book.Draft{Kind: "plan.1", At: on(2026, 1, 1, 0)}, book.Object{"coordinates": "site grid", "file": b.file(fmt.Sprintf(square, place))}, 0)
	b.surface(t, "2026-01-02", before, before, 100, 100)
	b.surface(t, day, "as restored", "as restored", 100+h, 100+h)
}

// ticketBody reads "out spoil 18.5"; a ticket may lack its mass.
func ticketBody(f []string) book.Object {
	o := book.Object{"number": "1", "direction": f[0], "material": f[1]}
	if len(f) > 2 {
		o["net"] = f[2]
	}
	return o
}
