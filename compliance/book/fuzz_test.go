package book

import (
	"encoding/json"
	"errors"
	"reflect"
	"testing"
	"unicode/utf8"
)

// FuzzCanonical: what is accepted comes out in a form that is its own, is
// JSON, and says the same as the input.
func FuzzCanonical(f *testing.F) {
	for _, s := range []string{"{}", `{"b":1,"a":["x",true,{"c":"é<"}]}`, `{"a":null}`, `{"a":"\ud83d\ude9c\u0000"}`, `{"a":9007199254740991}`, `{"a":1.5}`, `{"a":1,"a":2}`, `[]`, "{\"a\":\"\xff\"}"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		first, err := Canonical(text)
		if err != nil {
			var syntax *SyntaxError
			if !errors.As(err, &syntax) || syntax.Reason == "" {
				t.Fatalf("refused without saying where and why: %v", err)
			}
			return
		}
		second, err := Canonical(first)
		if err != nil || string(second) != string(first) {
			t.Fatalf("canonical of %q is %q, and of that %q, %v", text, first, second, err)
		}
		if !utf8.Valid(first) || len(first) > 6*len(text)+2 {
			t.Fatalf("canonical of %q is %q", text, first)
		}
		var was, is map[string]any
		if err := json.Unmarshal(text, &was); err != nil {
			t.Fatalf("accepted what is not JSON: %q: %v", text, err)
		}
		if err := json.Unmarshal(first, &is); err != nil {
			t.Fatalf("%q is not JSON: %v", first, err)
		}
		if !reflect.DeepEqual(without(was), without(is)) {
			t.Fatalf("%q became %q", text, first)
		}
	})
}

// without drops members that are null.
func without(v any) any {
	switch v := v.(type) {
	case map[string]any:
		out := map[string]any{}
		for k, e := range v {
			if e != nil {
				out[k] = without(e)
			}
		}
		return out
	case []any:
		for i := range v {
			v[i] = without(v[i])
		}
	}
	return v
}

// FuzzEnvelope: an envelope that is read writes the same bytes.
func FuzzEnvelope(f *testing.F) {
	for _, e := range made(line{"a", "", "diary.1", "x", 1}, line{"b", "a", "diary.1", "-", 1}) {
		f.Add(e.Envelope.Bytes())
	}
	f.Add([]byte(`{"at":"2026-04-06T08:12:00.000Z","files":["00"],"places":["A"]}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		v, err := ParseEnvelope(b)
		if err != nil {
			if !errors.Is(err, ErrEnvelope) {
				t.Fatalf("refused with %v", err)
			}
			return
		}
		if string(v.Bytes()) != string(b) {
			t.Fatalf("%q came back as %q", b, v.Bytes())
		}
	})
}

// FuzzCheck: no body that can be parsed makes the checker fail, and one that
// passes survives being written and read.
func FuzzCheck(f *testing.F) {
	for _, s := range []string{`{"text":"x"}`, `{"text":1}`, `{"list":[{"n":1}]}`, `{"list":{}}`, `{"ref":"A"}`, `{"d":"1.5","r":"<2","day":"2026-02-28"}`} {
		f.Add(s)
	}
	kinds := testKinds(f)
	f.Fuzz(func(t *testing.T, s string) {
		o, err := ParseObject([]byte(s))
		if err != nil {
			return
		}
		d := goodDraft()
		d.Body = o
		faults := kinds.Check(d)
		for _, x := range faults {
			if x.Field == "" || x.Reason == "" {
				t.Fatalf("a fault without field or reason: %+v", x)
			}
		}
		again, err := ParseObject(o.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		d.Body = again
		if !reflect.DeepEqual(kinds.Check(d), faults) {
			t.Fatalf("%q is judged otherwise once written and read", s)
		}
	})
}
