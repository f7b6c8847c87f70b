package catalogue

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/duty"
	"github.com/swardbook/swardbook/compliance/observe/recordtest"
)

type row = recordtest.Row

// listed are the duties of single entries at an instant, a line each.
func listed(t *testing.T, at string, rows ...row) []string {
	t.Helper()
	rec := recordtest.New()
	rec.Add(t, rows...)
	now := recordtest.At(t, at)
	var all []duty.Duty
	for _, source := range Duties() {
		all = append(all, source(rec, now)...)
	}
	var out []string
	for _, d := range duty.List(rec, all, now) {
		by := ""
		if !d.By.IsZero() {
			by = ", by " + d.By.Format("2006-01-02")
		}
		out = append(out, fmt.Sprintf("%s: %s [%s]%s", d.State, d.What, d.Post, by))
	}
	return out
}

func TestDutiesOfEntries(t *testing.T) {
	paper := func(at, stage string, more ...string) row {
		body := book.Object{"scheme": "soil handling", "stage": stage}
		for i := 0; i+1 < len(more); i += 2 {
			body[more[i]] = more[i+1]
		}
		return row{Kind: "paper.1", At: at, Body: body}
	}
	finding := row{Kind: "finding.1", At: "2026-03-02", Body: book.Object{"number": "F-1", "what": "silt fence down", "severity": "major", "owner": "foreman", "due": "2026-03-04"}}
	remedy := func(at, stage string) row {
		return row{Kind: "remedy.1", At: at, Body: book.Object{"finding": "F-1", "stage": stage, "what": "put up"}}
	}
	needed := func(more ...string) row {
		body := book.Object{"name": "survey of drains", "sort": "drains", "needed_by": "2026-03-31", "lead": int64(30)}
		for i := 0; i+1 < len(more); i += 2 {
			body[more[i]] = more[i+1]
		}
		return row{Kind: "needed.1", At: "2026-01-05", Body: body}
	}
	inUse := row{Kind: "deployment.1", At: "2026-01-01", Body: book.Object{"instrument": "SLM-1"}}
	certificate := func(until string) row {
		return row{Kind: "calibration.1", At: "2025-06-01", Body: book.Object{"instrument": "SLM-1", "certificate": "C1", "valid_until": until}}
	}
	for _, tt := range []struct {
		name, at string
		rows     []row
		want     []string
	}{
		{name: "nothing on file, nothing to do", at: "2026-03-02"},
		// Eight weeks that begin with the day after receipt on Monday 2 March
		// end with Monday 27 April: the Development Management Procedure (England)
		// Order 2015 art. 27(2) counts so.
		{name: "a decision is awaited eight weeks", at: "2026-03-10", rows: []row{paper("2026-03-02", "submitted", "clock", "8 weeks")},
			want: []string{"ahead: decision awaited: soil handling [officer], by 2026-04-28"}},
		{name: "their time is over, and nothing is granted", at: "2026-05-01", rows: []row{paper("2026-03-02", "submitted", "clock", "8 weeks")},
			want: []string{"overdue: decision awaited: soil handling [officer], by 2026-04-28"}},
		{name: "approved ends the wait", at: "2026-05-01", rows: []row{paper("2026-03-02", "submitted", "clock", "8 weeks"), paper("2026-04-20", "approved")}},
		{name: "a notice awaits nothing", at: "2026-05-01", rows: []row{paper("2026-03-02", "submitted")}},
		{name: "refused is to be dealt with", at: "2026-05-01", rows: []row{paper("2026-03-02", "submitted", "clock", "8 weeks"), paper("2026-04-20", "refused")},
			want: []string{"no date set: refused: soil handling [officer]"}},
		{name: "a finding, on its day", at: "2026-03-04 09:00", rows: []row{finding}, want: []string{"due today: put right: silt fence down [foreman], by 2026-03-05"}},
		{name: "a finding, the day after", at: "2026-03-05", rows: []row{finding}, want: []string{"overdue: put right: silt fence down [foreman], by 2026-03-05"}},
		{name: "put right is to be checked", at: "2026-03-03", rows: []row{finding, remedy("2026-03-03", "put right")},
			want: []string{"due within seven days: check that it was put right: silt fence down [officer], by 2026-03-05"}},
		{name: "not accepted is to be put right again", at: "2026-03-03", rows: []row{finding, remedy("2026-03-03", "put right"), remedy("2026-03-03", "checked and not accepted")},
			want: []string{"due within seven days: put right: silt fence down [foreman], by 2026-03-05"}},
		{name: "accepted is done, and goes", at: "2026-03-06", rows: []row{finding, remedy("2026-03-03", "put right"), remedy("2026-03-03", "checked and accepted")},
			want: []string{"done: put right: silt fence down [foreman], by 2026-03-05"}},
		{name: "accepted is gone", at: "2026-03-30", rows: []row{finding, remedy("2026-03-03", "checked and accepted")}},
		{name: "a finding of an inspection", at: "2026-03-01", rows: []row{
			{Kind: "inspection.1", At: "2026-03-01", Body: book.Object{"ref": "INS-7", "findings": []any{
				book.Object{"what": "bund full", "severity": "minor", "owner": "foreman", "due": "2026-03-20"},
				book.Object{"what": "lid off", "severity": "minor", "owner": "foreman", "due": "2026-03-20"},
			}}},
			{Kind: "remedy.1", At: "2026-03-01", Body: book.Object{"finding": "INS-7.2", "stage": "not a finding after all", "what": "it was on"}},
		}, want: []string{"ahead: put right: bund full [foreman], by 2026-03-21", "done: put right: lid off [foreman], by 2026-03-21"}},
		{name: "to be asked for its lead earlier", at: "2026-02-20", rows: []row{needed()}, want: []string{"ahead: ask for, begin: survey of drains [officer], by 2026-03-02"}},
		{name: "asked for, to be got", at: "2026-03-29", rows: []row{needed("asked", "2026-02-20")}, want: []string{"due within seven days: get, complete: survey of drains [officer], by 2026-04-01"}},
		{name: "got, to be agreed", at: "2026-03-29", rows: []row{needed("asked", "2026-02-20", "got", "2026-03-01")}, want: []string{"due within seven days: agree: survey of drains [officer], by 2026-04-01"}},
		{name: "agreed", at: "2026-03-29", rows: []row{needed("got", "2026-03-01", "agreed", "2026-03-02", "agreed_with", "tenant")}},
		{name: "not needed", at: "2026-03-29", rows: []row{needed("not_needed", "no drains here")}},
		{name: "a certificate that runs out", at: "2026-05-30", rows: []row{inUse, certificate("2026-05-31")}, want: []string{"due within seven days: calibration of SLM-1 [officer], by 2026-06-01"}},
		{name: "an instrument in store needs none", at: "2026-05-30", rows: []row{certificate("2026-05-31")}},
		{name: "an incident nobody was told of", at: "2026-05-30", rows: []row{{Kind: "incident.1", At: "2026-05-29", Body: book.Object{"sort": "spill"}}},
			want: []string{"overdue: tell the authority: spill [officer], by 2026-05-29"}},
		{name: "a complaint nobody looked into", at: "2026-05-30", rows: []row{{Kind: "complaint.1", At: "2026-05-29", Body: book.Object{"about": "noise"}}},
			want: []string{"no date set: look into the complaint about noise [officer]"}},
		{name: "work past the hours, and nobody told", at: "2026-05-30", rows: []row{{Kind: "consent.1", At: "2026-05-29 19:00", Until: "2026-05-29 21:00", Body: book.Object{"act": "pour", "condition": "12"}}},
			want: []string{"overdue: say who was told of pour past what condition 12 allows [officer], by 2026-05-29"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got, want := strings.Join(listed(t, tt.at, tt.rows...), "\n"), strings.Join(tt.want, "\n"); got != want {
				t.Errorf("listed:\n%s\nwant:\n%s", got, want)
			}
		})
	}
}

func TestDutiesBelongToPosts(t *testing.T) {
	finding := row{Kind: "finding.1", At: "2026-03-02", Body: book.Object{"number": "F-1", "what": "x", "severity": "major", "owner": "foreman", "due": "2026-03-04"}}
	post := func(name, at, until, successor string, answers ...any) row {
		return row{Kind: "post.1", At: at, Until: until, Body: book.Object{"post": name, "successor": successor, "answers": answers}}
	}
	held := func(role, at, until string) row {
		return row{Kind: "role.1", At: at, Until: until, Body: book.Object{"role": role}}
	}
	sow := duty.Duty{Permit: "P/1", Condition: "10", What: "sow", From: time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC), By: time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC), More: 1}
	for _, tt := range []struct {
		name         string
		rows         []row
		own          bool // of the condition, not the finding
		post, before string
		vacant       bool
	}{
		{name: "the post named", rows: []row{finding}, post: "foreman"},
		{name: "nobody named: the officer", own: true, post: "officer"},
		{name: "the post that answers for the condition", own: true, rows: []row{post("soil specialist", "2026-01-01", "", "", book.Object{"permit": "P/1", "condition": "10"}), post("agent", "2026-01-01", "", "", book.Object{"permit": "P/1"})}, post: "soil specialist"},
		{name: "the post that answers for the notice", own: true, rows: []row{post("agent", "2026-01-01", "", "", book.Object{"permit": "P/1"})}, post: "agent"},
		{name: "the successor of one whose time is over", rows: []row{finding, post("foreman", "2026-01-01", "2026-03-01", "caretaker")}, post: "caretaker", before: "foreman"},
		{name: "its successor's successor", rows: []row{finding, post("foreman", "2026-01-01", "2026-02-01", "caretaker"), post("caretaker", "2026-02-01", "2026-03-01", "tenant")}, post: "tenant", before: "foreman"},
		{name: "posts that name each other end somewhere", rows: []row{finding, post("foreman", "2026-01-01", "2026-02-01", "caretaker"), post("caretaker", "2026-02-01", "2026-03-01", "foreman")}, post: "foreman", before: "foreman", vacant: true},
		{name: "not yet over", rows: []row{finding, post("foreman", "2026-01-01", "2026-04-01", "caretaker")}, post: "foreman"},
		{name: "over, and nobody after", rows: []row{finding, post("foreman", "2026-01-01", "2026-03-01", "")}, post: "foreman", vacant: true},
		{name: "a role nobody holds any more", own: true, rows: []row{held("officer", "2026-01-01", "2026-03-01")}, post: "officer", vacant: true},
		{name: "a role somebody holds", own: true, rows: []row{held("officer", "2026-01-01", "2026-03-01"), held("officer", "2026-03-01", "")}, post: "officer"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			rec := recordtest.New()
			rec.Add(t, tt.rows...)
			now := recordtest.At(t, "2026-03-03")
			var all []duty.Duty
			if tt.own {
				all = []duty.Duty{sow}
			} else {
				for _, source := range Duties() {
					all = append(all, source(rec, now)...)
				}
			}
			list := duty.List(rec, all, now)
			if len(list) != 1 {
				t.Fatalf("%d duties", len(list))
			}
			if d := &list[0]; d.Post != tt.post || d.Before != tt.before || d.Vacant != tt.vacant {
				t.Errorf("post %q, before %q, vacant %v; want %q, %q, %v", d.Post, d.Before, d.Vacant, tt.post, tt.before, tt.vacant)
			}
		})
	}
}

func TestOverdueIsCarriedUp(t *testing.T) {
	rec := recordtest.New()
	d := duty.Duty{Condition: "1", What: "x", Post: "gate", By: time.Date(2026, 3, 3, 0, 0, 0, 0, time.UTC), More: 1}
	for _, tt := range []struct {
		at    string
		level duty.Level
		falls []string
		other []string
	}{
		{"2026-03-02 12:00", duty.NotOver, []string{"gate"}, []string{"manager", "officer"}},
		{"2026-03-03 00:00", duty.ToPost, []string{"gate"}, []string{"manager", "officer"}},
		{"2026-03-04 23:59", duty.ToPost, []string{"gate"}, []string{"manager", "officer"}},
		{"2026-03-05 00:00", duty.ToLead, []string{"gate", "manager"}, []string{"officer"}},
		{"2026-03-16 00:00", duty.ToEveryone, []string{"gate", "manager", "officer", "regulator"}, nil},
	} {
		t.Run(tt.at, func(t *testing.T) {
			one := duty.List(rec, []duty.Duty{d}, recordtest.At(t, tt.at))[0]
			if one.Level != tt.level {
				t.Errorf("level %v, want %v", one.Level, tt.level)
			}
			for _, p := range tt.falls {
				if !one.Falls(p) {
					t.Errorf("it does not fall to the %s", p)
				}
			}
			for _, p := range tt.other {
				if one.Falls(p) {
					t.Errorf("it falls to the %s", p)
				}
			}
		})
	}
}
