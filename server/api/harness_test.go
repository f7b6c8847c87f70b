package api

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"net/http"
	"net/http/httptest"
	"os"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humagin"
	"github.com/gin-gonic/gin"

	"github.com/swardbook/swardbook/server"
	"github.com/swardbook/swardbook/server/app"
	"github.com/swardbook/swardbook/server/jobs"
)

// judgeAt is where the clock of a served test site begins: judge_at of its folder.
var judgeAt = time.Date(2026, 4, 30, 0, 0, 0, 0, time.UTC)

// clock is a test's clock: it stands but for a millisecond a look, so that
// receipts differ.
type clock struct {
	mu  sync.Mutex
	now time.Time
}

func (c *clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(time.Millisecond)
	return c.now
}

func (c *clock) pass(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(d)
}

// site is the folder of real inputs, imported and served.
type site struct {
	t      testing.TB
	clock  *clock
	house  *server.House
	api    *Server
	http   *httptest.Server
	people map[app.Role]*browser
}

// password of every person of a test site.
const password = "correct horse battery"

func serve(t testing.TB) *site {
	t.Helper()
	c := &clock{now: judgeAt}
	s := serveBy(t, c.Now)
	s.clock = c
	return s
}

// serveBy serves the folder of real inputs by another clock.
func serveBy(t testing.TB, now func() time.Time) *site {
	t.Helper()
	s := &site{t: t, people: map[app.Role]*browser{}}
	dir := t.TempDir()
	o := server.Options{Now: now}
	if _, err := server.Import(context.Background(), os.DirFS("../../testdata/sites/real-inputs"), dir, o); err != nil {
		t.Fatal(err)
	}
	var err error
	if s.house, err = server.Open(dir, o); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.house.Close(); err != nil {
			t.Error(err)
		}
	})
	packs, err := server.OpenPacks(s.house, "test")
	if err != nil {
		t.Fatal(err)
	}
	queue := jobs.New()
	t.Cleanup(queue.Close)
	pages := fstest.MapFS{
		"index.html":       {Data: []byte("<!doctype html><title>pages</title>" + strings.Repeat("<p>words</p>", 100))},
		"assets/script.js": {Data: []byte("export {}")},
	}
	s.api = &Server{Config: Config{Version: "test", Upload: 1 << 20}, App: s.house.App, People: s.house.People, Loggers: s.house.Loggers, Jobs: queue, Packs: packs, Pages: pages}
	s.http = httptest.NewServer(s.api.Handler())
	t.Cleanup(s.http.Close)
	return s
}

// browser is somebody at a browser.
type browser struct {
	site   *site
	role   app.Role
	id     string
	cookie string
	csrf   string
}

// nobody is a browser that is not signed in.
func (s *site) nobody() *browser { return &browser{site: s} }

// as returns somebody of that role, signed in.
func (s *site) as(role app.Role) *browser {
	s.t.Helper()
	if p := s.people[role]; p != nil {
		return p
	}
	p := s.signIn(s.add(string(role), role), string(role))
	s.people[role] = p
	return p
}

// add makes an account.
func (s *site) add(name string, role app.Role) app.Account {
	s.t.Helper()
	a := app.Account{ID: fmt.Sprintf("%032x", name), Name: name, Display: "Test " + name, Role: role}
	if err := s.house.People.Ensure(context.Background(), a, password); err != nil {
		s.t.Fatal(err)
	}
	return a
}

func (s *site) signIn(a app.Account, name string) *browser {
	s.t.Helper()
	got := s.nobody().send("POST", "/api/session", map[string]any{"name": name, "password": password})
	got.want(http.StatusOK)
	p := &browser{site: s, role: a.Role, id: a.ID, csrf: got.text("csrf")}
	for _, c := range got.cookies {
		if c.Name == cookieName {
			p.cookie = c.Value
		}
	}
	return p
}

// said is what the server answered.
type said struct {
	t       testing.TB
	what    string
	status  int
	header  http.Header
	cookies []*http.Cookie
	body    []byte
}

// raw is a body sent as it is.
type raw struct {
	kind string
	data []byte
}

// send asks for a path. A body is sent as JSON, raw as it is; headers are pairs,
// and one with the value "-" is left out.
func (p *browser) send(method, path string, body any, headers ...string) *said {
	p.site.t.Helper()
	answer := p.open(method, path, body, headers...)
	defer func() { _ = answer.Body.Close() }()
	data, err := io.ReadAll(answer.Body)
	if err != nil {
		p.site.t.Fatal(err)
	}
	got := &said{t: p.site.t, what: method + " " + path + " as " + string(p.role), status: answer.StatusCode, header: answer.Header, cookies: answer.Cookies(), body: data}
	got.checkForm(method, path)
	return got
}

func (p *browser) open(method, path string, body any, headers ...string) *http.Response {
	p.site.t.Helper()
	var reader io.Reader
	kind := ""
	switch b := body.(type) {
	case nil:
	case raw:
		reader, kind = bytes.NewReader(b.data), b.kind
	default:
		data, err := json.Marshal(b)
		if err != nil {
			p.site.t.Fatal(err)
		}
		reader, kind = bytes.NewReader(data), "application/json"
	}
	r, err := http.NewRequest(method, p.site.http.URL+path, reader)
	if err != nil {
		p.site.t.Fatal(err)
	}
	if kind != "" {
		r.Header.Set("Content-Type", kind)
	}
	if p.cookie != "" {
		r.AddCookie(&http.Cookie{Name: cookieName, Value: p.cookie})
	}
	r.Header.Set("X-CSRF", p.csrf)
	for i := 0; i+1 < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
		if headers[i+1] == "-" {
			r.Header.Del(headers[i])
		}
	}
	client := &http.Client{Transport: &http.Transport{DisableCompression: true, DisableKeepAlives: true}}
	answer, err := client.Do(r)
	if err != nil {
		p.site.t.Fatal(err)
	}
	return answer
}

// want stops the test unless the status is that one.
func (s *said) want(status int) *said {
	s.t.Helper()
	if s.status != status {
		s.t.Fatalf("%s: status %d, want %d: %s", s.what, s.status, status, s.body)
	}
	return s
}

// into reads the body, strictly.
func (s *said) into(v any) {
	s.t.Helper()
	d := json.NewDecoder(bytes.NewReader(s.body))
	d.DisallowUnknownFields()
	if err := d.Decode(v); err != nil {
		s.t.Fatalf("%s: %v in %.300s", s.what, err, s.body)
	}
}

func (s *said) text(key string) string {
	s.t.Helper()
	var o map[string]any
	if err := json.Unmarshal(s.body, &o); err != nil {
		s.t.Fatalf("%s: %v", s.what, err)
	}
	text, _ := o[key].(string)
	return text
}

// problem reads a refusal and checks its form.
func (s *said) problem(status int, code app.Code) Problem {
	s.t.Helper()
	s.want(status)
	if kind := s.header.Get("Content-Type"); kind != "application/problem+json" {
		s.t.Errorf("%s: a refusal is %q", s.what, kind)
	}
	var p Problem
	s.into(&p)
	if p.Code != string(code) || p.Status != status || p.Detail == "" || p.Type == "" {
		s.t.Errorf("%s: problem %+v, want code %s", s.what, p, code)
	}
	return p
}

func (s *said) has(words ...string) {
	s.t.Helper()
	for _, w := range words {
		if !strings.Contains(string(s.body), w) {
			s.t.Errorf("%s: %q is not in %.400s", s.what, w, s.body)
		}
	}
}

func (s *said) hasNot(words ...string) {
	s.t.Helper()
	for _, w := range words {
		if strings.Contains(string(s.body), w) {
			s.t.Errorf("%s: %q is in %.400s", s.what, w, s.body)
		}
	}
}

// documented is the API document and the schemas behind it.
var documented = sync.OnceValue(func() *huma.OpenAPI {
	gin.SetMode(gin.ReleaseMode)
	r := gin.New()
	s := &Server{}
	api := humagin.NewWithGroup(r, r.Group("/api"), s.document())
	s.operations(api)
	return api.OpenAPI()
})

// checkForm holds every JSON answer against the API document: what is promised
// is there, nothing else is, and no list is null.
func (s *said) checkForm(method, path string) {
	s.t.Helper()
	kind := s.header.Get("Content-Type")
	if !strings.Contains(kind, "json") || s.header.Get("Content-Encoding") != "" || len(s.body) == 0 {
		return
	}
	op := operationFor(method, path)
	if op == nil {
		return
	}
	answer := op.Responses[fmt.Sprint(s.status)]
	if answer == nil {
		answer = op.Responses["default"]
	}
	if answer == nil || answer.Content[kind] == nil {
		s.t.Errorf("%s: the document knows no %d as %s", s.what, s.status, kind)
		return
	}
	var v any
	if err := json.Unmarshal(s.body, &v); err != nil {
		s.t.Errorf("%s: %v", s.what, err)
		return
	}
	var faults huma.ValidateResult
	registry := documented().Components.Schemas
	huma.Validate(registry, answer.Content[kind].Schema, huma.NewPathBuffer([]byte{}, 0), huma.ModeReadFromServer, v, &faults)
	for i, err := range faults.Errors {
		if i < 5 {
			s.t.Errorf("%s: not as documented: %v", s.what, err)
		}
	}
}

func operationFor(method, path string) *huma.Operation {
	path, _, _ = strings.Cut(path, "?")
	parts := strings.Split(strings.TrimPrefix(path, "/api"), "/")
	paths := documented().Paths
	for _, pattern := range slices.Sorted(maps.Keys(paths)) {
		of := strings.Split(pattern, "/")
		same := len(of) == len(parts)
		for i := 0; same && i < len(of); i++ {
			same = of[i] == parts[i] || strings.HasPrefix(of[i], "{")
		}
		if !same {
			continue
		}
		item := paths[pattern]
		return map[string]*huma.Operation{"GET": item.Get, "PUT": item.Put, "POST": item.Post, "PATCH": item.Patch, "DELETE": item.Delete}[method]
	}
	return nil
}

// newID makes a client's id for an entry.
func newID(n int) string { return fmt.Sprintf("%032x", 0xabc000000+n) }

// diary is a plain entry as a page sends it.
func diary(text string) map[string]any {
	return map[string]any{
		"kind": "diary.1", "places": []string{"YARD"}, "at": "2026-04-29T09:00:00.000Z", "at_precision": "minute", "offset": "+01:00",
		"body": map[string]any{"act": "quiet work", "text": text},
	}
}

func ticket(number string) map[string]any {
	return map[string]any{"kind": "ticket.1", "at": "2026-04-29T09:00:00.000Z", "at_precision": "minute",
		"body": map[string]any{"number": number, "direction": "out", "material": "spoil", "net": "18.40", "vehicle": "AB 12 CDE"}}
}

func sample(value string) map[string]any {
	return map[string]any{"kind": "sample.1", "places": []string{"RIV1"}, "at": "2004-06-01T00:00:00.000Z", "at_precision": "day",
		"body": map[string]any{"results": []any{map[string]any{"determinand": "nitrate", "result": value, "unit": "mg/L"}}}}
}

// with returns a copy of an object with members changed; nil leaves one out.
func with(o map[string]any, pairs ...any) map[string]any {
	out := maps.Clone(o)
	for i := 0; i+1 < len(pairs); i += 2 {
		key, _ := pairs[i].(string)
		if out[key] = pairs[i+1]; pairs[i+1] == nil {
			delete(out, key)
		}
	}
	return out
}

func equal[T any](t testing.TB, what string, got, want T) {
	t.Helper()
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%s: got %v, want %v", what, got, want)
	}
}
