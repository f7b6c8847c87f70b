package judge_test

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/geo/plan"
)

func on(y int, m time.Month, d, h int) time.Time { return time.Date(y, m, d, h, 0, 0, 0, time.UTC) }

func (b *fixture) file(content string) string {
	h := book.Hash(sha256.Sum256([]byte(content)))
	b.files[h] = []byte(content)
	return h.String()
}

func record(t *testing.T, f *fixture) *judge.Record {
	t.Helper()
	r, err := judge.NewRecord(f.entries, f)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

const moundPlan = `{"type":"FeatureCollection","features":[{"type":"Feature","id":"%s","properties":{"code":"%s","kind":"stockpile"},"geometry":{"type":"Polygon","coordinates":[[[%s],[%s],[%s],[%s]]]}}]}`

func TestPlanInForceAtATime(t *testing.T) {
	f := newFixture("Europe/London")
	first := fmt.Sprintf(moundPlan, "M1", "M1", "0,0", "10,0", "10,10", "0,0")
	second := fmt.Sprintf(moundPlan, "M2", "M2", "0,0", "20,0", "20,20", "0,0")
	f.add(book.Draft{Kind: "plan.1", At: on(2026, 1, 1, 0)}, book.Object{"coordinates": "site grid", "file": f.file(first)}, 0)
	f.add(book.Draft{Kind: "plan.1", At: on(2026, 6, 1, 0)}, book.Object{"coordinates": "site grid", "file": f.file(second)}, 0)
	r := record(t, f)
	for _, x := range []struct {
		name, code string
		at         time.Time
		there      bool
	}{
		{"before any plan", "M1", on(2025, 12, 31, 0), false},
		{"on the first", "M1", on(2026, 1, 1, 0), true},
		{"not yet drawn", "M2", on(2026, 5, 31, 23), false},
		{"drawn later", "M2", on(2026, 6, 1, 0), true},
		{"gone from the later one", "M1", on(2026, 6, 1, 0), false},
	} {
		t.Run(x.name, func(t *testing.T) {
			if got := r.Feature(x.code, x.at); (got != nil) != x.there {
				t.Errorf("feature %s: %v", x.code, got)
			}
		})
	}
}

// A plan in longitude and latitude comes onto the site's grid where the grid
// has a code; the point is that of OSGB36, Ordnance Survey's worked example of
// the National Grid (Caister water tower, 651409.903 313177.270, by OSTN; the
// plain datum shift agrees to some metres).
func TestPlanInDegreesComesOntoTheGrid(t *testing.T) {
	f := newFixture("Europe/London")
	f.entries[0].Body["grid"] = "EPSG:27700"
	f.add(book.Draft{Kind: "plan.1", At: on(2026, 1, 1, 0)}, book.Object{"coordinates": "wgs84", "file": f.file(
		`{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"code":"T","kind":"control point"},"geometry":{"type":"Point","coordinates":[1.716073973,52.658007833]}}]}`)}, 0)
	got := record(t, f).Feature("T", on(2026, 2, 1, 0))
	if got == nil || got.Frame != plan.FrameSite {
		t.Fatalf("%+v", got)
	}
	p := got.Geometry.Bound().Center()
	if math.Hypot(p[0]-651409.903, p[1]-313177.270) > 10 {
		t.Errorf("%v, want 651409.903 313177.270 within 10 m", p)
	}
}

func TestSurfaceHonoursDecisions(t *testing.T) {
	const points = "point,easting,northing,level\na,0,0,10\nb,10,0,10\nc,10,10,10\nd,0,10,10\nbad,5,5,99\n"
	f := newFixture("UTC")
	decisions := []any{book.Object{"row": int64(6), "decision": "rejected", "why": "on the machine's roof"}}
	f.add(book.Draft{Kind: "survey.1", At: on(2026, 1, 1, 0)}, book.Object{"ref": "S1", "purpose": "pre-works", "file": f.file(points)}, 0)
	f.add(book.Draft{Kind: "survey.1", At: on(2026, 2, 1, 0)}, book.Object{"ref": "S2", "purpose": "pre-works", "file": f.file(points), "decisions": decisions}, 0)
	r := record(t, f)
	for ref, want := range map[string]float64{"S1": 99, "S2": 10} {
		s, e, err := r.Surface(ref)
		if err != nil || e.Body.Text("ref") != ref {
			t.Fatalf("%s: %v", ref, err)
		}
		if _, high := s.Levels(); high != want {
			t.Errorf("%s: highest level %v, want %v", ref, high, want)
		}
	}
	if _, _, err := r.Surface("S3"); err == nil || !strings.Contains(err.Error(), "S3 is not on file") {
		t.Errorf("missing survey: %v", err)
	}
}

func TestErasedSurveyIsNamed(t *testing.T) {
	f := newFixture("UTC")
	f.add(book.Draft{Kind: "survey.1", At: on(2026, 1, 1, 0)}, book.Object{"ref": "S1"}, 12)
	_, _, err := record(t, f).Surface("S1")
	var gone *judge.ErasedError
	if !errors.As(err, &gone) || gone.By != 12 {
		t.Errorf("%v", err)
	}
}

func TestProclaimedDaysJoinTheirList(t *testing.T) {
	f := newFixture("UTC")
	f.holidays(holidayText{ID: "n", Years: []int{2026, 2026}, Days: []string{"2026-12-25 Christmas Day"}})
	f.holidays(holidayText{ID: "n", Years: []int{2026, 2026}, Days: []string{"2026-06-15 One-off"}})
	f.holidays(holidayText{ID: "n", Years: []int{2027, 2027}, Days: []string{"2027-12-25 Christmas Day"}})
	f.holidays(holidayText{ID: "n", Years: []int{2030, 2030}, Days: []string{"2030-12-25 Christmas Day"}})
	h := record(t, f).Holidays("n")
	for day, want := range map[string]string{"2026-06-15": "true", "2026-06-16": "false", "2027-12-25": "true", "2028-12-25": "not covered", "2025-12-25": "not covered"} {
		d, err := calendar.ParseDate(day)
		if err != nil {
			t.Fatal(err)
		}
		is, err := h.Is(d)
		got := fmt.Sprint(is)
		if errors.Is(err, calendar.ErrNotCovered) {
			got = "not covered"
		}
		if got != want {
			t.Errorf("%s: %s, want %s", day, got, want)
		}
	}
	if record(t, f).Holidays("other") != nil {
		t.Error("a list that is not on file came back")
	}
}

func TestWithdrawingARejectionBringsReadingsBack(t *testing.T) {
	c := &goldenCase{Zone: "UTC"}
	f := newFixture("UTC")
	f.readings(t, c, readingsText{Channel: "N1", Quantity: "noise.laeq", Place: "P", Unit: "dB", From: "2026-01-01 00:00", Step: "15m", Values: "50*4"})
	rejected := f.add(book.Draft{Kind: "rejection.1", At: on(2026, 1, 1, 0), Until: on(2026, 1, 1, 1)}, book.Object{"channel": "N1", "reason": "rain"}, 0)
	marks := func() (out []series.Mark) {
		blocks, err := record(t, f).Readings("N1", on(2026, 1, 1, 0), on(2026, 1, 2, 0))
		if err != nil {
			t.Fatal(err)
		}
		for _, b := range blocks {
			out = append(out, b.Mark...)
		}
		return out
	}
	if got := marks(); fmt.Sprint(got) != fmt.Sprint([]series.Mark{series.Rain, series.Rain, series.Rain, series.Rain}) {
		t.Errorf("rejected: %v", got)
	}
	f.add(book.Draft{Kind: "rejection.1", At: rejected.At, Until: rejected.Until, Supersedes: rejected.ID, Reason: "wrong channel"}, nil, 0)
	if got := marks(); fmt.Sprint(got) != fmt.Sprint([]series.Mark{0, 0, 0, 0}) {
		t.Errorf("after withdrawal: %v", got)
	}
}

func TestReadingsOutsideTheirDeploymentAreDoubtful(t *testing.T) {
	c := &goldenCase{Zone: "UTC"}
	f := newFixture("UTC")
	f.add(book.Draft{Kind: "deployment.1", At: on(2026, 1, 1, 1), Until: on(2026, 1, 1, 2)}, book.Object{"ref": "D1", "instrument": "I1"}, 0)
	f.readings(t, c, readingsText{Channel: "N1", Quantity: "noise.laeq", Place: "P", Unit: "dB", From: "2026-01-01 00:00", Step: "1h", Values: "50*4"})
	f.entries[len(f.entries)-1].Body.Objects("channels")[0]["deployment"] = "D1"
	blocks, err := record(t, f).Readings("N1", on(2026, 1, 1, 0), on(2026, 1, 2, 0))
	if err != nil {
		t.Fatal(err)
	}
	var got []series.Mark
	for _, b := range blocks {
		got = append(got, b.Mark...)
	}
	if want := []series.Mark{series.Doubtful, series.Valid, series.Doubtful, series.Doubtful}; fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("%v, want %v", got, want)
	}
}

func TestJudgementSaysWhatItRead(t *testing.T) {
	c := readCase(t, "testdata/cases/x10_bank_holiday.yaml")
	r := c.judge(t, c.build(t))
	j := find(r, "e", "")
	if fmt.Sprint(j.Reads.Kinds) != "[consent.1 observed.1]" || fmt.Sprint(j.Reads.Holidays) != "[england-and-wales]" || fmt.Sprint(j.Reads.Conditions) != "[e]" {
		t.Errorf("%+v", j.Reads)
	}
	kinds := map[string]bool{}
	for _, e := range j.Evidence {
		kinds[e.Kind] = true
	}
	if !kinds["permit.1"] || !kinds["calendar.1"] || !kinds["observed.1"] {
		t.Errorf("evidence %v", j.Evidence)
	}
	c = readCase(t, "testdata/cases/rejected_and_erased.yaml")
	j = find(c.judge(t, c.build(t)), "wind", "A")
	if fmt.Sprint(j.Reads.Channels) != "[NA]" || fmt.Sprint(j.Reads.Kinds) != "[consent.1 deployment.1 import.1 rejection.1]" {
		t.Errorf("%+v", j.Reads)
	}
}

// The digest changes with an entry the judgement rests on, and with no other.
func TestDigestFollowsTheEvidence(t *testing.T) {
	c := readCase(t, "testdata/cases/x13_deadlines.yaml")
	digests := func() map[string]string {
		out := map[string]string{}
		for _, j := range c.judge(t, c.build(t)).Judgements {
			out[j.Condition] = j.Digest
		}
		return out
	}
	before := digests()
	for i := range c.Entries {
		if c.Entries[i].Name == "sent months" {
			c.Entries[i].At = "2027-02-27"
		}
	}
	for id, d := range digests() {
		if (d != before[id]) != (id == "months") {
			t.Errorf("%s: digest %s, before %s", id, d, before[id])
		}
	}
}

// A variation may change what a condition is, not only its limit; each window
// is judged by the words that stood when it began.
func TestVariationThatChangesTheWindow(t *testing.T) {
	c := &goldenCase{Zone: "UTC"}
	f := newFixture("UTC")
	f.notice(t, "first", `
permit: {reference: P/1, type: permit, granted: 2026-01-01, zone: UTC}
conditions:
  - {id: n, clause: "1", kind: measured, subject: noise.laeq, place: P, window: clock hour, statistic: energy mean, limit: <= 55 dB, coverage: 75 %}
  - {id: gone, clause: "2", kind: measured, subject: noise.laeq, place: P, window: clock hour, statistic: energy mean, limit: <= 55 dB, coverage: 75 %}
`)
	f.notice(t, "second", `
permit: {reference: P/1/V1, type: variation, granted: 2026-01-01, varies: P/1, effective: 2026-01-02, zone: UTC}
conditions:
  - {id: n, clause: "1", kind: measured, subject: noise.laeq, place: P, window: 15 minutes, statistic: energy mean, limit: <= 50 dB, coverage: 75 %}
removes: [gone]
`)
	f.readings(t, c, readingsText{Channel: "N1", Quantity: "noise.laeq", Place: "P", Unit: "dB", From: "2026-01-01 00:00", Step: "15m", Values: "52*192"})
	r := judgeFixture(t, f, on(2026, 1, 3, 0))
	j := find(r, "n", "P")
	if j.Counts.Complied != 24 || j.Counts.NotComplied != 96 {
		t.Errorf("%+v", j.Counts)
	}
	if gone := find(r, "gone", "P"); gone.Counts.Due != 24 || gone.Verdict != judge.Complied {
		t.Errorf("%+v", gone.Counts)
	}
	if len(j.Months) != 1 || j.Months[0].Counts != j.Counts {
		t.Errorf("%+v", j.Months)
	}
}

func TestMonthsAddUpToTheWhole(t *testing.T) {
	c := readCase(t, "testdata/cases/x12_blasts.yaml")
	for _, j := range c.judge(t, c.build(t)).Judgements {
		var sum judge.Counts
		for _, m := range j.Months {
			sum.Due += m.Counts.Due
			sum.Complied += m.Counts.Complied
			sum.NotComplied += m.Counts.NotComplied
			sum.CannotBeJudged += m.Counts.CannotBeJudged
		}
		if sum.Due != j.Counts.Due || sum.Complied != j.Counts.Complied || sum.NotComplied != j.Counts.NotComplied {
			t.Errorf("%s: months %+v, whole %+v", j.Condition, sum, j.Counts)
		}
	}
}

func TestClausesAreCounted(t *testing.T) {
	c := readCase(t, "testdata/cases/hours_and_statements.yaml")
	if got := c.judge(t, c.build(t)).Clauses; got.Total != 3 || got.Accounted != 2 {
		t.Errorf("%+v, want 3 clauses, 2 accounted for", got)
	}
}

func TestSiteWithoutZoneCannotBeJudged(t *testing.T) {
	f := &fixture{blocks: map[book.ID]map[string][]*series.Block{}, files: map[book.Hash][]byte{}, refs: map[string]book.ID{}}
	f.notice(t, "n", "permit: {reference: P/1, type: permit, granted: 2026-01-01}\nconditions:\n  - {id: n, clause: \"1\", kind: present, done: {subject: site.paper}}\n")
	r := judgeFixture(t, f, on(2026, 2, 1, 0))
	if j := find(r, "n", ""); j.Verdict != judge.CannotBeJudged || j.Cause != "the site is not on file" {
		t.Errorf("%+v", j)
	}
}
