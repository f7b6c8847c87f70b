package api

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/server/app"
)

// rowsOf is a mapping of rows that are sent: an instant with its offset and a
// level that stands for the minute before it.
func rowsOf(channel string, more map[string]any) map[string]any {
	m := map[string]any{"time_columns": []string{"time"}, "layout": "iso", "stamp": "end", "interval": "60", "zone": "UTC",
		"values": []any{
			map[string]any{"column": "laeq", "channel": channel, "quantity": "noise.laeq", "unit": "dB", "place": "NSR1"},
		}}
	for k, v := range more {
		m[k] = v
	}
	return m
}

// setUp sets a logger up and returns its token.
func (s *site) setUp(name string, mapping map[string]any) NewLogger {
	s.t.Helper()
	var made NewLogger
	s.as(app.Officer).send("POST", "/api/loggers", map[string]any{"name": name, "mapping": mapping}).want(http.StatusCreated).into(&made)
	return made
}

// push sends rows as a logger.
func (s *site) push(token, kind, body string) *said {
	s.t.Helper()
	return s.nobody().send("POST", "/api/push", raw{kind, []byte(body)}, "Authorization", "Bearer "+token)
}

func (a *said) pushed(kept, already int) {
	a.t.Helper()
	var got PushAnswer
	a.want(http.StatusOK).into(&got)
	if got.Kept != kept || got.Already != already {
		a.t.Errorf("kept %d, already %d; want %d and %d", got.Kept, got.Already, kept, already)
	}
}

// channel asks what a channel holds of an hour that has begun or is over.
func (s *site) channel(code string, from time.Time) Readings {
	s.t.Helper()
	var got Readings
	to := from.Add(time.Hour)
	s.as(app.Officer).send("GET", fmt.Sprintf("/api/readings?channel=%s&from=%s&to=%s&px=60", code, from.Format(time.RFC3339), to.Format(time.RFC3339)), nil).want(200).into(&got)
	return got
}

func TestLoggerPushes(t *testing.T) {
	s := serve(t)
	s.clock.pass(10*time.Hour + 5*time.Minute) // 30 April 2026, 10:05 UTC
	begin := time.Date(2026, 4, 30, 10, 0, 0, 0, time.UTC)
	made := s.setUp("noise-nm9", rowsOf("NM9-LAEQ", nil))
	if strings.Join(made.Columns, ",") != "time,laeq" || len(made.Token) < 40 {
		t.Fatalf("%+v", made)
	}
	s.push(made.Token, "text/csv", "time,laeq\n2026-04-30T10:01:00Z,61.0\n2026-04-30T10:02:00Z,62.5\n").pushed(2, 0)
	s.push(made.Token, "application/x-ndjson", `{"time":"2026-04-30T10:03:00Z","laeq":63.2}`+"\n").pushed(1, 0)
	// The answer was lost and all is sent again, the columns the other way round.
	s.push(made.Token, "text/csv", "laeq,time\n62.50,2026-04-30T10:02:00Z\n63.2,2026-04-30T10:03:00Z\n64.0,2026-04-30T10:04:00Z\n").pushed(1, 2)
	s.clock.pass(6 * time.Second)
	if got := s.channel("NM9-LAEQ", begin); got.N != 4 || got.Max == nil || *got.Max != 64 {
		t.Errorf("counts at once: %d readings, greatest %v", got.N, got.Max)
	}
	t.Run("an older minute comes late", func(t *testing.T) {
		s.push(made.Token, "text/csv", "time,laeq\n2026-04-30T10:00:00Z,55.5\n").pushed(1, 0)
	})

	for _, tt := range []struct {
		name, kind, body string
		status           int
		words            string
	}{
		{"another figure for the same minute", "text/csv", "time,laeq\n2026-04-30T10:02:00Z,50\n", 409, "line 2, time: the reading of 2026-04-30 10:01:00Z was sent before with other figures"},
		{"half a minute after another", "text/csv", "time,laeq\n2026-04-30T10:02:30Z,50\n", 409, "line 2, time: the reading before it, of 2026-04-30 10:01:00Z, lasts into it"},
		{"the clock runs ahead", "text/csv", "time,laeq\n2026-04-30T11:12:00Z,50\n", 422, "ahead of the server's clock"},
		{"no number", "text/csv", "time,laeq\n2026-04-30T10:05:00Z,60\n2026-04-30T10:06:00Z,loud\n", 422, "line 3, laeq"},
		{"no time", "application/x-ndjson", `{"laeq":63.2}`, 422, "line 1, time"},
		{"a column nobody named", "application/x-ndjson", `{"time":"2026-04-30T10:05:00Z","laeq":1,"lamax":70}`, 422, "line 1, lamax: this logger was not set up with such a column"},
		{"a column short", "text/csv", "time\n2026-04-30T10:05:00Z\n", 422, "line 1, laeq: the column is missing"},
		{"a column twice", "text/csv", "time,laeq,laeq\n", 422, "line 1, laeq: the column stands twice"},
		{"a cell short", "text/csv", "time,laeq\n2026-04-30T10:05:00Z\n", 422, "line 2: 1 cells, and 2 columns in line 1"},
		{"a cell over two lines", "application/x-ndjson", `{"time":"2026-04-30T10:05:00Z","laeq":"5\n0"}`, 422, "line 1: a cell runs over several lines"},
		{"a member twice", "application/x-ndjson", `{"time":"2026-04-30T10:05:00Z","laeq":1,"laeq":2}`, 422, `line 1: "laeq" stands twice`},
		{"a list for a number", "application/x-ndjson", `{"time":"2026-04-30T10:05:00Z","laeq":[1]}`, 422, "line 1, laeq: it is no number and no text"},
		{"no object", "application/x-ndjson", "12\n", 422, "line 1: it is no JSON object"},
		{"nothing", "text/csv", "\n", 422, "the names of the columns are missing"},
		{"a header alone", "text/csv", "time,laeq\n", 422, "it holds no reading"},
		{"another form", "text/plain", "time,laeq\n", 422, "Content-Type"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got := s.push(made.Token, tt.kind, tt.body).want(tt.status)
			var p Problem
			got.into(&p)
			words := p.Detail
			for _, f := range p.Errors {
				words += "\n" + f.Field + ": " + f.Reason
				if f.Remedy == "" {
					t.Errorf("%s: no remedy", f.Field)
				}
			}
			if !strings.Contains(words, tt.words) {
				t.Errorf("it says %s", words)
			}
		})
	}
	t.Run("a token nobody has", func(t *testing.T) {
		s.push("wrong", "text/csv", "time,laeq\n").want(http.StatusUnauthorized)
		s.nobody().send("POST", "/api/push", raw{"text/csv", []byte("time,laeq\n")}).want(http.StatusUnauthorized)
	})
	s.clock.pass(6 * time.Second)
	if got := s.channel("NM9-LAEQ", begin.Add(-time.Hour)); got.N != 1 {
		t.Errorf("nothing of what was refused is there, and the late minute is: %d readings", got.N)
	}

	// The hour is over: one original, one entry, under whoever set it up.
	if err := s.house.Loggers.Seal(t.Context()); err != nil {
		t.Fatal(err)
	}
	before := s.imports()
	s.clock.pass(time.Hour)
	for range 2 { // the second finds nothing to do
		if err := s.house.Loggers.Seal(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	if n := s.imports() - before; n != 1 {
		t.Fatalf("%d entries", n)
	}
	var list loggersAnswer
	s.as(app.Regulator).send("GET", "/api/loggers", nil).want(200).into(&list)
	if l := list.Loggers[0]; l.Spooled != 0 || l.Sealed == nil || l.Refused == nil || l.MadeBy != "Test officer" && l.MadeBy == "" || l.Stuck != "" {
		t.Errorf("%+v", l)
	}
	if got := s.channel("NM9-LAEQ", begin); got.N != 4 || *got.Max != 64 {
		t.Errorf("sealed: %d readings", got.N)
	}
	t.Run("sent again after it was sealed", func(t *testing.T) {
		s.push(made.Token, "text/csv", "time,laeq\n2026-04-30T10:02:00Z,62.5\n2026-04-30T10:03:00Z,63.2\n").pushed(0, 2)
		got := s.push(made.Token, "text/csv", "time,laeq\n2026-04-30T10:03:00Z,99\n").want(http.StatusConflict)
		if !strings.Contains(string(got.body), "the book has another figure for 2026-04-30 10:02:00Z") {
			t.Errorf("%s", got.body)
		}
	})
	t.Run("ended", func(t *testing.T) {
		s.push(made.Token, "text/csv", "time,laeq\n2026-04-30T11:05:00Z,50\n").pushed(1, 0)
		s.as(app.Officer).send("DELETE", "/api/loggers/"+made.ID, nil).want(http.StatusNoContent)
		s.push(made.Token, "text/csv", "time,laeq\n2026-04-30T11:06:00Z,50\n").want(http.StatusUnauthorized)
		if n := s.imports() - before; n != 2 {
			t.Errorf("what it had sent is sealed: %d entries", n)
		}
	})
}

// imports counts the imports in force.
func (s *site) imports() int {
	s.t.Helper()
	snap, err := s.house.App.Current(s.t.Context())
	if err != nil {
		s.t.Fatal(err)
	}
	return len(snap.View.Current("import.1"))
}

func TestLoggerIsSetUpWhole(t *testing.T) {
	s := serve(t)
	s.setUp("taken", rowsOf("T-1", nil))
	for _, tt := range []struct {
		name, logger string
		mapping      map[string]any
		field        string
	}{
		{"a name in capitals", "Logger 7", rowsOf("X-1", nil), "name"},
		{"a name in use", "taken", rowsOf("X-1", nil), "name"},
		{"a channel another sends", "other", rowsOf("T-1", nil), "values"},
		{"no zone", "other", rowsOf("X-1", map[string]any{"zone": ""}), "time.zone"},
		{"no interval", "other", rowsOf("X-1", map[string]any{"interval": ""}), "mapping"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got := s.as(app.Officer).send("POST", "/api/loggers", map[string]any{"name": tt.logger, "mapping": tt.mapping}).want(422)
			if !strings.Contains(string(got.body), `"field":"`+tt.field+`"`) {
				t.Errorf("%s", got.body)
			}
		})
	}
}

// A file brought in by hand for a channel that a logger sends comes after what
// the logger sent: the later received counts.
func TestFileAfterPushedReadings(t *testing.T) {
	s := serve(t)
	s.clock.pass(10*time.Hour + 30*time.Minute)
	made := s.setUp("noise-nm9", rowsOf("NM9-LAEQ", nil))
	s.push(made.Token, "text/csv", "time,laeq\n2026-04-30T10:01:00Z,61.0\n2026-04-30T10:02:00Z,62.5\n").pushed(2, 0)
	p := s.as(app.Officer)
	file := p.sendFile("time,laeq\n2026-04-30T10:02:00Z,70.0\n2026-04-30T10:03:00Z,50.0\n")
	ask := map[string]any{"file": file, "name": "corrected.csv", "mapping": rowsOf("NM9-LAEQ", nil)}
	got := p.send("PUT", "/api/imports/"+newID(1), ask).want(422)
	if !strings.Contains(string(got.body), "one reading differs") {
		t.Errorf("%s", got.body)
	}
	ask["changed"] = true
	p.send("PUT", "/api/imports/"+newID(2), ask).want(http.StatusCreated)
	read := s.channel("NM9-LAEQ", time.Date(2026, 4, 30, 10, 0, 0, 0, time.UTC))
	if read.N != 3 || *read.Max != 70 {
		t.Errorf("%d readings, greatest %v", read.N, *read.Max)
	}
}

// What a logger sends is judged before it is part of the book, and is marked so.
func TestPushedReadingsAreJudgedAtOnce(t *testing.T) {
	s := serve(t)
	at := time.Date(2025, 3, 28, 12, 0, 0, 0, time.UTC) // within the condition's time; no reading of this place is on file then
	made := s.setUp("noise-late", rowsOf("NSR1-LATE", nil))
	ask := func() (out OneCondition) {
		t.Helper()
		s.as(app.Officer).send("GET", noisy+"?place=NSR1", nil).want(200).into(&out)
		return out
	}
	before := ask()
	if before.Unsealed != nil {
		t.Fatal("something is unsealed")
	}
	var rows strings.Builder
	rows.WriteString("time,laeq\n")
	for i := range 60 {
		fmt.Fprintf(&rows, "%s,%d\n", at.Add(time.Duration(i+1)*time.Minute).Format(time.RFC3339), 80)
	}
	s.push(made.Token, "text/csv", rows.String()).pushed(60, 0)
	s.clock.pass(6 * time.Second)
	after := ask()
	if after.Unsealed == nil || after.Unsealed.Readings != 60 || !after.Unsealed.From.Equal(at) {
		t.Errorf("unsealed: %+v", after.Unsealed)
	}
	if before.Judgement.Counts == after.Judgement.Counts {
		t.Errorf("nothing was judged otherwise: %+v", after.Judgement.Counts)
	}
	if err := s.house.Loggers.SealAll(t.Context()); err != nil {
		t.Fatal(err)
	}
	s.clock.pass(6 * time.Second)
	sealed := ask()
	if sealed.Unsealed != nil || sealed.Judgement.Counts != after.Judgement.Counts {
		t.Errorf("sealed, it is judged as it was: %+v %+v", sealed.Unsealed, sealed.Judgement.Counts)
	}
}
