package api

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math/rand/v2"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/swardbook/swardbook/server/app"
)

func TestPutEntry(t *testing.T) {
	s := serve(t)
	p := s.as(app.Officer)
	path := "/api/entries/" + newID(1)
	meter := map[string]any{"kind": "hour_meter.1", "at": "2026-04-29T17:00:00.000Z", "at_precision": "minute", "made": "2026-04-29T17:00:05.123Z",
		"body": map[string]any{"machine": "EX1", "reading": "1204.5"}}

	var made, again Made
	p.send("PUT", path, meter).want(201).into(&made)
	equal(t, "seq", made.Seq, 625)
	p.send("PUT", path, meter).want(200).into(&again)
	equal(t, "the receipt given again", again, made)

	t.Run("other content under the id", func(t *testing.T) {
		got := p.send("PUT", path, with(meter, "body", map[string]any{"machine": "EX1", "reading": "1205.5"})).problem(409, app.Conflict)
		if got.Existing == nil || got.Existing.ID != newID(1) || got.Existing.Summary != "EX1, 1204.5 h" || got.Head == nil || got.Head.ID != newID(1) {
			t.Errorf("existing %+v, head %+v", got.Existing, got.Head)
		}
	})
	correction := with(meter, "supersedes", newID(1), "reason", "misread", "body", map[string]any{"machine": "EX1", "reading": "1206.5"})
	t.Run("correction", func(t *testing.T) {
		p.send("PUT", "/api/entries/"+newID(2), with(correction, "reason", nil)).problem(422, app.Invalid)
		p.send("PUT", "/api/entries/"+newID(2), correction).want(201)
		var got OpenEntry
		p.send("GET", path, nil).want(200).into(&got)
		equal(t, "line", []string{got.Line[0].ID, got.Line[1].ID}, []string{newID(1), newID(2)})
		equal(t, "head", got.Head, newID(2))
		equal(t, "corrected", []bool{got.Line[0].Corrected, got.Line[1].Corrected}, []bool{true, false})
	})
	t.Run("correction of what is no head", func(t *testing.T) {
		got := p.send("PUT", "/api/entries/"+newID(3), with(correction, "reason", "second tab")).problem(409, app.Conflict)
		if got.Head == nil || got.Head.ID != newID(2) || got.Head.Summary != "EX1, 1206.5 h" || got.Existing != nil {
			t.Errorf("head %+v, existing %+v", got.Head, got.Existing)
		}
	})
	t.Run("a correction cannot change the kind", func(t *testing.T) {
		p.send("PUT", "/api/entries/"+newID(3), with(diary("x"), "supersedes", newID(2), "reason", "wrong form")).problem(422, app.Invalid)
	})
	t.Run("withdrawal", func(t *testing.T) {
		back := with(meter, "supersedes", newID(2), "reason", "entered for the wrong machine", "body", nil)
		p.send("PUT", "/api/entries/"+newID(4), with(back, "reason", "")).problem(422, app.Invalid)
		p.send("PUT", "/api/entries/"+newID(4), back).want(201)
		var got OpenEntry
		p.send("GET", path, nil).want(200).into(&got)
		equal(t, "withdrawn", []bool{got.Line[0].Withdrawn, got.Line[1].Withdrawn, got.Line[2].Withdrawn}, []bool{true, true, true})
		p.send("PUT", "/api/entries/"+newID(5), with(back, "supersedes", newID(4))).problem(422, app.Invalid)
	})
	t.Run("of another's kind", func(t *testing.T) {
		p.send("PUT", "/api/entries/"+newID(6), with(correction, "supersedes", newID(777))).problem(422, app.Invalid)
	})
}

func TestPutEntryRefused(t *testing.T) {
	s := serve(t)
	p := s.as(app.Officer)
	for n, c := range []struct {
		name  string
		body  any
		code  app.Code
		http  int
		field string
	}{
		{"unknown kind", with(diary("x"), "kind", "nothing.1"), app.Invalid, 422, ""},
		{"unknown member", with(diary("x"), "colour", "red"), app.Invalid, 422, "colour"},
		{"unknown field", with(diary("x"), "body", map[string]any{"act": "quiet work", "colour": "red"}), app.Invalid, 422, "colour"},
		{"missing field", with(diary("x"), "body", map[string]any{"text": "x"}), app.Invalid, 422, "act"},
		{"wrong choice", with(diary("x"), "body", map[string]any{"act": "dancing"}), app.Invalid, 422, "act"},
		{"number where text is due", with(ticket("1"), "body", map[string]any{"number": "1", "direction": "out", "material": "spoil", "net": 18.4}), app.Invalid, 422, "body"},
		{"null", with(diary("x"), "body", map[string]any{"act": nil}), app.Invalid, 422, "act"},
		{"no time", with(diary("x"), "at", nil), app.Invalid, 422, ""},
		{"no time at all", with(diary("x"), "at", "yesterday"), app.Invalid, 422, "at"},
		{"unknown precision", with(diary("x"), "at_precision", "week"), app.Invalid, 422, "at_precision"},
		{"wrong offset", with(diary("x"), "offset", "one hour"), app.Invalid, 422, "offset"},
		{"ends before it begins", with(diary("x"), "until", "2026-04-28T09:00:00.000Z"), app.Invalid, 422, "until"},
		{"sample without a place", with(sample("1.0"), "places", nil), app.Invalid, 422, "places"},
		{"unit that does not turn", with(sample("1.0"), "body", map[string]any{"results": []any{map[string]any{"determinand": "nitrate", "result": "1", "unit": "dB"}}}), app.Invalid, 422, "results.0.unit"},
		{"file that is no hash", with(diary("x"), "files", []string{"photo.jpg"}), app.Invalid, 422, "files"},
		{"file not sent", with(diary("x"), "files", []string{strings.Repeat("ab", 32)}), app.Invalid, 422, ""},
		{"book of another epoch", with(diary("x"), "epoch", 7), app.Conflict, 409, ""},
		{"nothing said", with(diary("x"), "body", nil), app.Invalid, 422, "body"},
		{"not JSON", raw{"application/json", []byte("{")}, app.Invalid, 400, ""},
		{"key twice", raw{"application/json", []byte(`{"kind":"diary.1","at":"2026-04-29T09:00:00Z","at_precision":"day","body":{"act":"none","act":"strip"}}`)}, app.Invalid, 422, "body"},
		{"more than a mebibyte", with(diary("x"), "reason", strings.Repeat("x", mostJSON)), app.TooLarge, 413, ""},
		{"far more", raw{"application/json", bytes.Repeat([]byte(" "), 3<<20)}, app.TooLarge, 413, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			answer := p.send("PUT", "/api/entries/"+newID(100+n), c.body)
			answer.t = t
			got := answer.problem(c.http, c.code)
			found := c.field == ""
			for _, f := range got.Errors {
				if f.Field == c.field && f.Reason != "" && f.Remedy != "" {
					found = true
				}
			}
			if !found {
				t.Errorf("no fault with reason and remedy names %q: %+v", c.field, got.Errors)
			}
		})
	}
	p.send("PUT", "/api/entries/NOT-AN-ID", diary("x")).problem(422, app.Invalid)
	p.send("GET", "/api/site", nil).want(200).has(`"seq":624`)
	p.send("PUT", "/api/entries/"+newID(200), with(diary("known epoch"), "epoch", 1)).want(201)
}

// TestTheListIsWalked pages through the whole book and finds every entry once,
// newest first, also while the book grows.
func TestTheListIsWalked(t *testing.T) {
	s := serve(t)
	p := s.as(app.Officer)
	for _, c := range []struct {
		name, query string
		limit       int
		want        int // 0: at least one
	}{
		{"all", "", 50, 624}, {"all in one", "", 500, 624}, {"all by seven", "", 7, 624},
		{"samples", "&kind=sample.1", 100, 606}, {"a place", "&place=YARD", 1, 1}, {"from and to", "&kind=sample.1&from=2004-01-01T00:00:00Z&to=2005-01-01T00:00:00Z", 5, 14},
		{"words", "&q=EASTER", 50, 1}, {"nothing", "&q=zebra", 50, 0}, {"by", "&by=nobody", 50, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			last, n := int64(1<<62), 0
			for cursor := ""; ; n++ {
				var page EntryPage
				p.send("GET", fmt.Sprintf("/api/entries?limit=%d%s&cursor=%s", c.limit, c.query, cursor), nil).want(200).into(&page)
				for _, e := range page.Items {
					if e.Seq >= last {
						t.Fatalf("entry %d after %d", e.Seq, last)
					}
					last = e.Seq
				}
				n += len(page.Items) - 1
				if page.Next == "" {
					n++
					break
				}
				if len(page.Items) != c.limit {
					t.Fatalf("a page of %d goes on", len(page.Items))
				}
				cursor = page.Next
			}
			equal(t, "entries", n, c.want)
		})
	}
	t.Run("while it grows", func(t *testing.T) {
		seen, cursor := map[int64]bool{}, ""
		for i := 0; ; i++ {
			var page EntryPage
			p.send("GET", "/api/entries?limit=100&cursor="+cursor, nil).want(200).into(&page)
			for _, e := range page.Items {
				if seen[e.Seq] {
					t.Errorf("entry %d twice", e.Seq)
				}
				seen[e.Seq] = true
			}
			if cursor = page.Next; cursor == "" {
				break
			}
			p.send("PUT", "/api/entries/"+newID(500+i), diary("meanwhile")).want(201)
		}
		equal(t, "entries", len(seen), 624)
	})
	for _, bad := range []string{"cursor=x", "limit=0", "limit=501", "from=yesterday", "limit=x"} {
		p.send("GET", "/api/entries?"+bad, nil).problem(422, app.Invalid)
	}
}

func TestOneEntry(t *testing.T) {
	s := serve(t)
	p := s.as(app.Regulator)
	var page EntryPage
	p.send("GET", "/api/entries?kind=survey.1", nil).want(200).into(&page)
	var got OpenEntry
	p.send("GET", "/api/entries/"+page.Items[0].ID, nil).want(200).into(&got)
	var whole struct {
		Kind  string
		Files []string
		Body  map[string]any
	}
	if err := json.Unmarshal(got.Entry, &whole); err != nil {
		t.Fatal(err)
	}
	equal(t, "kind", whole.Kind, "survey.1")
	equal(t, "file", whole.Files[0], got.Files[0].SHA256)
	if len(got.Hash) != 64 || len(got.Prev) != 64 || got.Files[0].Bytes == 0 || whole.Body["ref"] == "" || got.ByName != "Whoever put these files together" {
		t.Errorf("%+v", got)
	}
	rests := map[string]bool{}
	for _, j := range got.Resting {
		rests[j.Condition] = true
	}
	equal(t, "what rests on the survey", rests, map[string]bool{"1-share": true, "2-share": true, "3-volume": true})
}

func TestFiles(t *testing.T) {
	s := serve(t)
	p := s.as(app.Officer)
	var kept FileInfo
	t.Run("a picture is kept as it came and shown made anew", func(t *testing.T) {
		photo := picture(t, 2400, 1200)
		p.send("POST", "/api/files", raw{"text/html", photo}).want(201).into(&kept)
		equal(t, "type", kept.Type, "image/png")
		equal(t, "bytes", kept.Bytes, int64(len(photo)))
		original := p.send("GET", "/api/files/"+kept.SHA256, nil).want(200)
		if !bytes.Equal(original.body, photo) || !strings.HasPrefix(original.header.Get("Content-Disposition"), "attachment") || original.header.Get("Content-Type") != "application/octet-stream" {
			t.Errorf("the original is served as %v", original.header)
		}
		preview := p.send("GET", "/api/files/"+kept.SHA256+"/preview", nil).want(200)
		small, err := jpeg.Decode(bytes.NewReader(preview.body))
		if err != nil || small.Bounds().Dx() != 1600 || small.Bounds().Dy() != 800 || preview.header.Get("Content-Type") != "image/jpeg" {
			t.Errorf("preview: %v, %v", err, preview.header)
		}
	})
	t.Run("an entry names it", func(t *testing.T) {
		p.send("PUT", "/api/entries/"+newID(1), with(diary("with a photo"), "files", []string{kept.SHA256})).want(201)
		p.send("GET", "/api/entries/"+newID(1), nil).want(200).has(kept.SHA256, "image/png")
	})
	t.Run("the same again", func(t *testing.T) {
		var again FileInfo
		p.send("POST", "/api/files", raw{"image/png", picture(t, 2400, 1200)}).want(201).into(&again)
		equal(t, "file", again, kept)
	})
	for _, c := range []struct {
		name   string
		data   []byte
		status int
		code   app.Code
	}{
		{"empty", nil, 422, app.Invalid},
		{"the largest", bytes.Repeat([]byte("x"), 1<<20), 201, ""},
		{"one byte more", bytes.Repeat([]byte("x"), 1<<20+1), 413, app.TooLarge},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := p.send("POST", "/api/files", raw{"application/octet-stream", c.data})
			got.t = t
			if c.status == 201 {
				got.want(201)
				return
			}
			got.problem(c.status, c.code)
		})
	}
	t.Run("too large without saying how large", func(t *testing.T) {
		r, _ := http.NewRequest("POST", s.http.URL+"/api/files", struct{ *bytes.Reader }{bytes.NewReader(bytes.Repeat([]byte("x"), 1<<20+1))})
		r.ContentLength = -1
		r.AddCookie(&http.Cookie{Name: cookieName, Value: p.cookie})
		r.Header.Set("X-CSRF", p.csrf)
		answer, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		_ = answer.Body.Close()
		equal(t, "status", answer.StatusCode, 413)
	})
	t.Run("not there", func(t *testing.T) {
		p.send("GET", "/api/files/"+strings.Repeat("ab", 32), nil).problem(404, app.NotFound)
		p.send("GET", "/api/files/"+surveyFile(t, s)+"/preview", nil).problem(404, app.NotFound)
	})
}

func picture(t *testing.T, w, h int) []byte {
	t.Helper()
	img := image.NewGray(image.Rect(0, 0, w, h))
	for x := range w {
		img.SetGray(x, h/2, color.Gray{uint8(x)})
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestReadersAndWritersTogether has several people write and read at once:
// whoever has been told that an entry is made sees it in the next answer, and
// nobody sees the book go back.
func TestReadersAndWritersTogether(t *testing.T) {
	s := serve(t)
	var wait sync.WaitGroup
	for n, role := range []app.Role{app.Officer, app.Manager, app.Surveyor, app.Specialist} {
		p := s.as(role)
		wait.Go(func() {
			rng := rand.New(rand.NewPCG(1, uint64(n)))
			newest := int64(0)
			for i := range 12 {
				if rng.IntN(2) == 0 {
					text := "line " + strconv.Itoa(n) + "/" + strconv.Itoa(i)
					p.send("PUT", "/api/entries/"+newID(1000+100*n+i), diary(text)).want(201)
					p.send("GET", "/api/entries?limit=50", nil).want(200).has(text)
				}
				var today Today
				p.send("GET", "/api/today", nil).want(200).into(&today)
				if today.Seq < newest {
					t.Errorf("the book went back from %d to %d", newest, today.Seq)
				}
				newest = today.Seq
			}
		})
	}
	wait.Wait()
}
