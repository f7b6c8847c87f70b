package api

import (
	"strings"
	"testing"

	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/server/app"
	"github.com/swardbook/swardbook/server/jobs"
)

func TestErasure(t *testing.T) {
	s := serve(t)
	boss, officer := s.as(app.Administrator), s.as(app.Officer)
	why := map[string]any{"what": "body and files", "ground": "article 17", "reason": "named a neighbour"}
	var photo FileInfo
	officer.send("POST", "/api/files", raw{"image/png", picture(t, 20, 10)}).want(201).into(&photo)
	officer.send("PUT", "/api/entries/"+newID(1), with(sample("3.33"), "files", []string{photo.SHA256})).want(201)
	officer.send("GET", condition("RI/WATER", "3-upper")+"?place=RIV1", nil).want(200).has(`"value":3.33`)
	pack := officer.ended(officer.send("POST", "/api/handover", map[string]any{}).want(202).text("job"))

	path := "/api/entries/" + newID(1) + "/erasure"
	for _, c := range []struct {
		name string
		path string
		body any
		code app.Code
		http int
	}{
		{"no ground", path, with(why, "ground", ""), app.Invalid, 422},
		{"blank reason", path, with(why, "reason", " "), app.Invalid, 422},
		{"unknown extent", path, with(why, "what", "everything"), app.Invalid, 422},
		{"unknown member", path, with(why, "seq", 3), app.Invalid, 422},
		{"no such entry", "/api/entries/" + newID(9) + "/erasure", why, app.NotFound, 404},
		{"the site itself", "/api/entries/" + idOf(t, s, "site.1") + "/erasure", why, app.Invalid, 422},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := boss.send("POST", c.path, c.body)
			got.t = t
			got.problem(c.http, c.code)
		})
	}
	var done Erased
	boss.send("POST", path, why).want(201).into(&done)
	equal(t, "erased", done.Erased, 625)
	equal(t, "seq of the erasure", done.Seq, 627)
	equal(t, "packs that still hold it", done.Packs, []string{pack.Result.Name})
	boss.send("POST", path, why).problem(409, app.Conflict)
	boss.send("POST", "/api/entries/"+done.ID+"/erasure", why).problem(422, app.Invalid)

	t.Run("nobody reads it any more", func(t *testing.T) {
		for _, p := range []*browser{officer, boss, s.as(app.Regulator)} {
			got := p.send("GET", "/api/entries/"+newID(1), nil).want(200)
			got.has(`"erased_by":627`)
			got.hasNot("3.33", `"body":`)
			p.send("GET", "/api/entries?limit=10", nil).want(200).hasNot("3.33")
			p.send("GET", "/api/files/"+photo.SHA256, nil).problem(404, app.NotFound)
			p.send("GET", "/api/files/"+photo.SHA256+"/preview", nil).problem(404, app.NotFound)
		}
		officer.send("PUT", "/api/entries/"+newID(2), with(diary("x"), "files", []string{photo.SHA256})).problem(422, app.Invalid)
	})
	t.Run("who and why stand in the book", func(t *testing.T) {
		officer.send("GET", "/api/entries/"+done.ID, nil).want(200).has("article 17", "named a neighbour", boss.id)
	})
	t.Run("what rested on it cannot be judged", func(t *testing.T) {
		var got OneCondition
		officer.send("GET", condition("RI/WATER", "3-upper")+"?place=RIV1", nil).want(200).into(&got)
		if got.Judgement.Verdict != judge.CannotBeJudged || !strings.Contains(got.Judgement.Cause, "erased by entry 627") {
			t.Errorf("%s, cause %q", got.Judgement.Verdict, got.Judgement.Cause)
		}
		officer.send("GET", "/api/today", nil).want(200).has("erased by entry 627")
		officer.send("GET", condition("RI/NOISE", "1-hours")+"?place=NSR1", nil).want(200).has(`"verdict":"not complied"`)
	})
	t.Run("the chain verifies", func(t *testing.T) {
		report, err := s.house.Verify(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if len(report.Faults) > 0 {
			t.Errorf("%v", report.Faults)
		}
	})
	t.Run("a pack of it verifies", func(t *testing.T) {
		made := officer.ended(officer.send("POST", "/api/handover", map[string]any{}).want(202).text("job"))
		checked := officer.ended(officer.send("POST", "/api/packs/"+made.Result.Name+"/verify", nil).want(202).text("job"))
		words := strings.Join(checked.Result.Lines, "\n")
		if checked.State != jobs.Done || !strings.Contains(words, "same") || strings.Contains(words, "differs") {
			t.Errorf("%s %s", checked.State, words)
		}
	})
}

// TestErasedNotice stands in the ledger though its words are gone.
func TestErasedNotice(t *testing.T) {
	s := serve(t)
	boss := s.as(app.Administrator)
	boss.send("POST", "/api/entries/"+idOf(t, s, "permit.1")+"/erasure", map[string]any{"what": "body", "ground": "test", "reason": "test"}).want(201)
	boss.send("GET", "/api/conditions", nil).want(200).has("erased by entry 625", "cannot be judged")
	boss.send("GET", "/api/handover", nil).want(200).has("erased by entry 625")
}

func idOf(t *testing.T, s *site, kind string) string {
	t.Helper()
	snap, err := s.house.App.Current(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return string(snap.View.Current(kind)[0].ID)
}
