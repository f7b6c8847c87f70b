package api

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/unit"
	"github.com/swardbook/swardbook/server/app"
)

// TestReductionLosesNoPeak asks for random spans at random widths and holds
// every column against the raw readings in it.
func TestReductionLosesNoPeak(t *testing.T) {
	s := serve(t)
	p := s.as(app.Regulator)
	snap, err := s.house.App.Current(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(7, 11))
	begin := time.Date(2025, 3, 20, 0, 0, 0, 0, time.UTC)
	for n := range 40 {
		from := begin.Add(time.Duration(rng.IntN(10*24*60)) * time.Minute)
		to := from.Add(time.Duration(1+rng.IntN(5*24*60)) * time.Minute)
		px := 1 + rng.IntN(1200)
		var got Readings
		p.send("GET", fmt.Sprintf("/api/readings?channel=NSR1-LAEQ&from=%s&to=%s&px=%d", from.Format(time.RFC3339), to.Format(time.RFC3339), px), nil).want(200).into(&got)
		blocks, err := snap.Record.Readings("NSR1-LAEQ", from, to)
		if err != nil {
			t.Fatal(err)
		}
		var at []int64
		var values []float64
		all := 0
		for _, b := range blocks {
			for i, start := range b.Start {
				if start < from.UnixMilli() || start >= to.UnixMilli() {
					continue
				}
				all++
				if b.Mark[i].Counts() {
					at, values = append(at, start), append(values, unit.Decimal{Coefficient: b.Coefficient[i], Places: b.Places}.Float())
				}
			}
		}
		what := fmt.Sprintf("case %d, %v to %v at %d", n, from, to, px)
		equal(t, what+": readings", []int{got.N, got.Valid}, []int{all, len(values)})
		if len(got.Columns) > px {
			t.Errorf("%s: %d columns", what, len(got.Columns))
		}
		if len(values) == 0 {
			equal(t, what+": columns", len(got.Columns), 0)
			continue
		}
		equal(t, what+": greatest", *got.Max, slices.Max(values))
		checkColumns(t, what, got.Columns, at, values)
	}
}

// checkColumns sees that the columns part the readings, each with its first,
// least, greatest and last.
func checkColumns(t *testing.T, what string, columns []Column, at []int64, values []float64) {
	t.Helper()
	i := 0
	for n, c := range columns {
		end := int64(math.MaxInt64)
		if n+1 < len(columns) {
			end = columns[n+1].T
		}
		begin := i
		for i < len(at) && at[i] < end {
			i++
		}
		in := values[begin:i]
		if len(in) == 0 || at[begin] != c.T || c.First != in[0] || c.Last != in[len(in)-1] || c.Min != slices.Min(in) || c.Max != slices.Max(in) {
			t.Errorf("%s: column %d is %+v of %d readings", what, n, c, len(in))
			return
		}
	}
	equal(t, what+": readings in columns", i, len(at))
}

// TestGapsAreToldOf takes a span that begins before the first reading and holds
// a rejection.
func TestGapsAreToldOf(t *testing.T) {
	s := serve(t)
	p := s.as(app.Officer)
	read := func(from, to string) Readings {
		t.Helper()
		var got Readings
		p.send("GET", "/api/readings?channel=NSR1-LAEQ&px=100&from="+from+"&to="+to, nil).want(200).into(&got)
		return got
	}
	before := read("2025-03-20T00:00:00Z", "2025-03-22T00:00:00Z")
	if len(before.Missing) == 0 || !before.Missing[0].From.Equal(time.Date(2025, 3, 20, 0, 0, 0, 0, time.UTC)) || before.Coverage == nil || *before.Coverage >= 1 {
		t.Errorf("missing %+v, coverage %v", before.Missing, before.Coverage)
	}
	whole := read("2025-03-24T07:00:00Z", "2025-03-24T08:00:00Z")
	equal(t, "missing in a whole hour", whole.Missing, []Stretch{})
	equal(t, "coverage of a whole hour", *whole.Coverage, 1)
	p.send("PUT", "/api/entries/"+newID(1), map[string]any{"kind": "rejection.1", "at": "2025-03-24T07:15:00.000Z", "until": "2025-03-24T07:30:00.000Z", "at_precision": "minute",
		"body": map[string]any{"channel": "NSR1-LAEQ", "reason": "wind"}}).want(201)
	blown := read("2025-03-24T07:00:00Z", "2025-03-24T08:00:00Z")
	equal(t, "excluded", blown.Excluded, []Stretch{{time.Date(2025, 3, 24, 7, 15, 0, 0, time.UTC), time.Date(2025, 3, 24, 7, 30, 0, 0, time.UTC), "rejected: wind"}})
	equal(t, "coverage", *blown.Coverage, 0.75)
	for _, bad := range []string{"channel=NONE&from=2025-03-20T00:00:00Z&to=2025-03-22T00:00:00Z"} {
		p.send("GET", "/api/readings?"+bad, nil).problem(404, app.NotFound)
	}
	for _, bad := range []string{"channel=NSR1-LAEQ&from=2025-03-22T00:00:00Z&to=2025-03-22T00:00:00Z", "channel=NSR1-LAEQ&from=x&to=y", "channel=NSR1-LAEQ", "channel=NSR1-LAEQ&from=2025-03-20T00:00:00Z&to=2025-03-22T00:00:00Z&px=0"} {
		p.send("GET", "/api/readings?"+bad, nil).problem(422, app.Invalid)
	}
}

// What was taken out keeps its values for the chart, apart from what counts; the
// condition tells its limit as a line over the time it is in force.
func TestChartKeepsWhatWasTakenOut(t *testing.T) {
	s := serve(t)
	p := s.as(app.Officer)
	ask := func() (got Readings) {
		t.Helper()
		p.send("GET", "/api/readings?channel=NSR1-LAEQ&from=2025-03-21T07:00:00Z&to=2025-03-21T09:00:00Z&px=120", nil).want(200).into(&got)
		return got
	}
	before := ask()
	s.clock.pass(time.Hour)
	p.send("PUT", "/api/entries/"+newID(1), map[string]any{"kind": "rejection.1", "at": "2025-03-21T08:00:00Z", "until": "2025-03-21T08:30:00Z", "at_precision": "minute",
		"body": map[string]any{"channel": "NSR1-LAEQ", "reason": "wind"}}).want(201)
	after := ask()
	if len(before.Rejected) != 0 || len(after.Rejected) < 30 || len(after.Rejected) > 31 || after.Valid+len(after.Rejected) != before.Valid {
		t.Fatalf("%d taken out, %d of %d count", len(after.Rejected), after.Valid, before.Valid)
	}
	were := map[int64]float64{}
	for _, c := range before.Columns {
		were[c.T] = c.Max
	}
	for _, c := range after.Rejected {
		if v, had := were[c.T]; !had || v != c.Max || c.Min != c.Max || c.Reason != "rejected: wind" {
			t.Errorf("%+v was %v", c, v)
		}
	}
	var known Readings
	p.send("GET", "/api/readings?channel=NSR1-LAEQ&from=2025-03-21T07:00:00Z&to=2025-03-21T09:00:00Z&px=120&known_at="+judgeAt.Add(30*time.Minute).Format(time.RFC3339), nil).want(200).into(&known)
	equal(t, "taken out, as known before", len(known.Rejected), 0)
	equal(t, "count, as known before", known.Valid, before.Valid)
	var one OneCondition
	p.send("GET", noisy+"?place=NSR1", nil).want(200).into(&one)
	if len(one.Lines) != 1 || one.Lines[0].Value != 55 || one.Lines[0].Action || one.Lines[0].To == nil {
		t.Errorf("lines %+v", one.Lines)
	}
}
