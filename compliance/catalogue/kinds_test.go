package catalogue

import (
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
)

// example is the golden example of a kind: a body that is right, with the
// envelope it needs, and changes to it that are wrong. A field changed to null
// is taken away.
type example struct {
	Places []string
	Files  []string
	Until  string
	Reason string
	Good   json.RawMessage
	Bad    []struct {
		Change        json.RawMessage
		Field, Reason string
	}
}

var at = time.Date(2026, 4, 6, 8, 12, 0, 0, time.UTC)

func readExample(t *testing.T, kind string) *example {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", "kinds", kind+".json"))
	if err != nil {
		t.Fatalf("the kind has no golden example: %v", err)
	}
	var x example
	if err := json.Unmarshal(data, &x); err != nil {
		t.Fatal(err)
	}
	return &x
}

// draft returns the draft of the right body.
func (x *example) draft(t *testing.T, kind string) *book.Draft {
	t.Helper()
	body, err := book.ParseObject(x.Good)
	if err != nil {
		t.Fatal(err)
	}
	d := &book.Draft{ID: "0123456789abcdef0123456789abcdef", Kind: kind, Places: x.Places, At: at, Precision: book.ToMinute, By: "P1", Role: "officer", Reason: x.Reason, Body: body}
	if x.Until != "" {
		if d.Until, err = book.ParseInstant(x.Until); err != nil {
			t.Fatal(err)
		}
	}
	for _, f := range x.Files {
		h, err := book.ParseHash(f)
		if err != nil {
			t.Fatal(err)
		}
		d.Files = append(d.Files, h)
	}
	return d
}

// changed lays a change over a body.
func changed(t *testing.T, body book.Object, change json.RawMessage) book.Object {
	t.Helper()
	out := book.Object{}
	for k, v := range body {
		out[k] = v
	}
	o, err := book.ParseObject(change)
	if err != nil {
		t.Fatal(err)
	}
	var named map[string]any
	if err := json.Unmarshal(change, &named); err != nil {
		t.Fatal(err)
	}
	for k := range named {
		delete(out, k)
		if o.Has(k) {
			out[k] = o[k]
		}
	}
	return out
}

func mustKinds(t *testing.T) *book.Kinds {
	t.Helper()
	k, err := Kinds()
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func TestEveryKindHasItsGoldenExample(t *testing.T) {
	kinds := mustKinds(t)
	for _, kind := range kinds.All() {
		t.Run(kind.Name, func(t *testing.T) {
			x := readExample(t, kind.Name)
			d := x.draft(t, kind.Name)
			if faults := kinds.Check(d); faults != nil {
				t.Errorf("the right body is refused: %v", faults)
			}
			for _, f := range kind.Fields {
				if !d.Body.Has(f.Name) {
					t.Errorf("the example leaves out the field %s", f.Name)
				}
			}
			if len(x.Bad) < 2 {
				t.Errorf("%d wrong bodies, where two at least belong", len(x.Bad))
			}
			for _, b := range x.Bad {
				wrong := *d
				wrong.Body = changed(t, d.Body, b.Change)
				faults := kinds.Check(&wrong)
				found := slices.ContainsFunc(faults, func(f book.Fault) bool {
					return f.Field == b.Field && strings.Contains(f.Reason+"; "+f.Remedy, b.Reason)
				})
				if !found {
					t.Errorf("%s: no fault in %s that says %q, but %v", b.Change, b.Field, b.Reason, faults)
				}
			}
		})
	}
}

func TestNoExampleWithoutItsKind(t *testing.T) {
	kinds := mustKinds(t)
	files, err := filepath.Glob("testdata/kinds/*.json")
	if err != nil || len(files) == 0 {
		t.Fatalf("no examples: %v", err)
	}
	for _, f := range files {
		name := strings.TrimSuffix(filepath.Base(f), ".json")
		if kinds.Named(name) == nil {
			t.Errorf("%s is the example of no kind; a kind that was once in use stays listed", f)
		}
	}
}

var (
	kindForm  = regexp.MustCompile(`^[a-z]+(_[a-z]+)*\.[1-9]\d*$`)
	fieldForm = regexp.MustCompile(`^[a-z]+(_[a-z0-9]+)*$`)
)

func TestKindsAreSound(t *testing.T) {
	for _, kind := range mustKinds(t).All() {
		t.Run(kind.Name, func(t *testing.T) {
			if !kindForm.MatchString(kind.Name) {
				t.Error("the name is not name.version")
			}
			if kind.Plain != (kind.Register != "") {
				t.Error("a plain kind has a register, and no other has one")
			}
			if kind.Title == "" || kind.Help == "" || kind.Subject == "" || kind.Place == "" || kind.Length == "" {
				t.Error("title, help, subject, place rule or length rule is missing")
			}
			checkFields(t, kind.Name, kind.Fields)
		})
	}
}

func checkFields(t *testing.T, path string, fields []book.Field) {
	t.Helper()
	seen := map[string]bool{}
	for _, f := range fields {
		at := path + "." + f.Name
		if !fieldForm.MatchString(f.Name) || seen[f.Name] || (f.Name == book.RefField) {
			t.Errorf("%s: the name is not in its form, stands twice, or is the reference's", at)
		}
		seen[f.Name] = true
		if f.Title == "" {
			t.Errorf("%s has no title", at)
		}
		number := f.Type == book.Decimal || f.Type == book.Result || f.Type == book.Integer
		if (f.Min != "" || f.Max != "" || f.Unit != "") && !number {
			t.Errorf("%s has bounds or a unit and is no number", at)
		}
		if (f.Type == book.Choice) != (len(f.Options) > 0) {
			t.Errorf("%s: options go with a choice, and with nothing else", at)
		}
		nested := f.Type == book.List || f.Type == book.Group
		if nested != (len(f.Fields) > 0) {
			t.Errorf("%s: fields go with a list or group, and with nothing else", at)
		}
		checkFields(t, at, f.Fields)
	}
}

// reserved are the columns of a register file that hold the envelope. Fields
// may be called role and reason, the trade's own words; a register file then
// sets the envelope's columns apart from them.
var reserved = []string{"id", "ref", "at", "until", "places", "by", "for", "supersedes", "withdraws", "files", "made", "recorded"}

func TestNoFieldIsCalledLikeAColumnOfTheEnvelope(t *testing.T) {
	for _, kind := range mustKinds(t).All() {
		for _, f := range kind.Fields {
			if kind.Plain && slices.Contains(reserved, f.Name) {
				t.Errorf("%s.%s shares its name with a column of the envelope", kind.Name, f.Name)
			}
		}
	}
}
