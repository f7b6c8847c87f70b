package book

import (
	"strings"
	"testing"
	"time"
)

func testKinds(t testing.TB) *Kinds {
	t.Helper()
	k, err := NewKinds(
		&Kind{Name: "test.1", Register: "tests", Title: "Test", Place: MayNamePlace, Length: MayLast, Plain: true, Fields: []Field{
			{Name: "text", Title: "Text", Type: Text, Required: true},
			{Name: "prose", Title: "Prose", Type: Prose},
			{Name: "d", Title: "Decimal", Type: Decimal, Unit: "m", Min: "-1.5", Max: "100"},
			{Name: "r", Title: "Result", Type: Result, Min: "0"},
			{Name: "n", Title: "Number", Type: Integer, Min: "1", Max: "9"},
			{Name: "flag", Title: "Flag", Type: Flag},
			{Name: "instant", Title: "Instant", Type: Instant},
			{Name: "day", Title: "Day", Type: Day},
			{Name: "clock", Title: "Clock", Type: Clock},
			{Name: "choice", Title: "Choice", Type: Choice, Options: []string{"topsoil", "subsoil"}},
			{Name: "feature", Title: "Feature", Type: Feature},
			{Name: "person", Title: "Person", Type: Person},
			{Name: "other", Title: "Other row", Type: Ref},
			{Name: "file", Title: "File", Type: File},
			{Name: "list", Title: "List", Type: List, Fields: []Field{
				{Name: "n", Title: "Number", Type: Integer, Required: true},
				{Name: "photo", Title: "Photograph", Type: File},
			}},
			{Name: "group", Title: "Group", Type: Group, Fields: []Field{{Name: "a", Title: "A", Type: Text, Required: true}}},
		}, Check: func(o Object) []Fault {
			if o.Text("text") == "bad" {
				return []Fault{{Field: "text", Reason: "bad by the kind's own check"}}
			}
			return nil
		}},
		&Kind{Name: "placed.1", Place: MustNamePlace, Length: MustLast, Fields: []Field{{Name: "text", Title: "Text", Type: Text}}},
		&Kind{Name: "bare.1", Place: NoPlace, Length: Moment, Fields: []Field{{Name: "text", Title: "Text", Type: Text}}},
		&Kind{Name: "redaction.1", Place: NoPlace, Length: Moment, Fields: []Field{{Name: "seq", Title: "Entry", Type: Integer, Required: true}}},
		&Kind{Name: "notice.1", Place: NoPlace, Length: Moment},
	)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func goodDraft() *Draft {
	return &Draft{
		ID: "0123456789abcdef0123456789abcdef", Kind: "test.1", Places: []string{"SA1"}, At: day0, Until: day0.Add(time.Hour),
		Precision: ToMinute, Offset: "+01:00", By: "P1", Role: "officer", Files: []Hash{{1}, {2}},
		Body: Object{
			"ref": "T-1", "text": "x", "prose": "two\nlines\tand a tab", "d": "-1.50", "r": "<0.05", "n": int64(9), "flag": false,
			"instant": "2026-04-06T09:12:00.000Z", "day": "2028-02-29", "clock": "23:59", "choice": "subsoil", "feature": "SA1", "person": "P1",
			"other": "T-0", "file": Hash{1}.String(), "list": []any{Object{"n": int64(1), "photo": Hash{2}.String()}}, "group": Object{"a": "b"},
		},
	}
}

func TestCheckAccepts(t *testing.T) {
	kinds := testKinds(t)
	cases := []struct {
		name   string
		change func(*Draft)
	}{
		{"everything given", func(d *Draft) {}},
		{"only what is required", func(d *Draft) { d.Body = Object{"text": "x"}; d.Places, d.Until, d.Offset = nil, time.Time{}, "" }},
		{"a correction with its reason", func(d *Draft) { d.Supersedes, d.Reason = "00000000000000000000000000000001", "typed wrong" }},
		{"a withdrawal", func(d *Draft) {
			d.Supersedes, d.Reason, d.Body, d.Files = "00000000000000000000000000000001", "wrong site", nil, nil
		}},
		{"a withdrawal of what must have a place and an end", func(d *Draft) {
			d.Kind, d.Supersedes, d.Reason, d.Body, d.Files, d.Places, d.Until = "placed.1", "00000000000000000000000000000001", "wrong site", nil, nil, nil, time.Time{}
		}},
		{"at the bounds", func(d *Draft) { d.Body["d"], d.Body["n"] = "100.000", int64(1) }},
		{"an erasure with its reason", func(d *Draft) {
			*d = Draft{ID: d.ID, Kind: "redaction.1", At: d.At, Precision: ToMinute, Reason: "asked for by the person", Body: Object{"seq": int64(3)}}
		}},
		{"a body that another package checks", func(d *Draft) {
			*d = Draft{ID: d.ID, Kind: "notice.1", At: d.At, Precision: ToDay, Body: Object{"anything": Object{"at": "all"}}}
		}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			d := goodDraft()
			c.change(d)
			if faults := kinds.Check(d); faults != nil {
				t.Errorf("refused: %v", faults)
			}
		})
	}
}

func TestCheckRefuses(t *testing.T) {
	kinds := testKinds(t)
	set := func(key string, v any) func(*Draft) { return func(d *Draft) { d.Body[key] = v } }
	cases := []struct {
		name   string
		change func(*Draft)
		field  string
		says   string // of reason and remedy together
	}{
		{"unknown kind", func(d *Draft) { d.Kind = "tset.1" }, "kind", `did you mean "test.1"`},
		{"kind without version", func(d *Draft) { d.Kind = "test" }, "kind", "no kind"},
		{"id", func(d *Draft) { d.ID = "1" }, "id", "no entry id"},
		{"id in capitals", func(d *Draft) { d.ID = "0123456789ABCDEF0123456789ABCDEF" }, "id", "no entry id"},
		{"supersedes", func(d *Draft) { d.Supersedes, d.Reason = "x", "y" }, "supersedes", "no entry id"},
		{"supersedes itself", func(d *Draft) { d.Supersedes, d.Reason = d.ID, "y" }, "supersedes", "itself"},
		{"correction without a reason", func(d *Draft) { d.Supersedes = "00000000000000000000000000000001" }, "reason", "correction"},
		{"correction with a blank reason", func(d *Draft) { d.Supersedes, d.Reason = "00000000000000000000000000000001", " " }, "reason", "correction"},
		{"withdrawal without a reason", func(d *Draft) { d.Supersedes, d.Body = "00000000000000000000000000000001", nil }, "reason", "withdrawal"},
		{"nothing said", func(d *Draft) { d.Body = nil }, "body", "says nothing"},
		{"erasure without a reason", func(d *Draft) {
			*d = Draft{ID: d.ID, Kind: "redaction.1", At: d.At, Precision: ToMinute, Body: Object{"seq": int64(3)}}
		}, "reason", "erasure"},
		{"at missing", func(d *Draft) { d.At, d.Until = time.Time{}, time.Time{} }, "at", "missing"},
		{"at finer than a millisecond", func(d *Draft) { d.At = d.At.Add(time.Microsecond) }, "at", "millisecond"},
		{"at in a year that cannot be written", func(d *Draft) { d.At, d.Until = time.Date(12026, 1, 1, 0, 0, 0, 0, time.UTC), time.Time{} }, "at", "12026"},
		{"precision", func(d *Draft) { d.Precision = "hour" }, "at_precision", "ms, minute or day"},
		{"no precision", func(d *Draft) { d.Precision = "" }, "at_precision", "ms, minute or day"},
		{"offset", func(d *Draft) { d.Offset = "BST" }, "offset", "+01:00"},
		{"offset too far", func(d *Draft) { d.Offset = "+15:00" }, "offset", "+01:00"},
		{"ends as it begins", func(d *Draft) { d.Until = d.At }, "until", "no later"},
		{"ends before it begins", func(d *Draft) { d.Until = d.At.Add(-time.Hour) }, "until", "no later"},
		{"file twice", func(d *Draft) { d.Files = append(d.Files, d.Files[0]) }, "files", "twice"},
		{"place twice", func(d *Draft) { d.Places = []string{"A", "A"} }, "places", "twice"},
		{"place blank", func(d *Draft) { d.Places = []string{""} }, "places", "no feature code"},
		{"place with a space", func(d *Draft) { d.Places = []string{"SA1 "} }, "places", "no feature code"},
		{"place and end missing: place", func(d *Draft) { d.Kind, d.Places, d.Body = "placed.1", nil, Object{} }, "places", "missing"},
		{"place and end missing: end", func(d *Draft) { d.Kind, d.Until, d.Body = "placed.1", time.Time{}, Object{} }, "until", "missing"},
		{"place where none belongs", func(d *Draft) { d.Kind, d.Until, d.Body = "bare.1", time.Time{}, Object{} }, "places", "names no place"},
		{"end where none belongs", func(d *Draft) { d.Kind, d.Places, d.Body = "bare.1", nil, Object{} }, "until", "one moment"},

		{"field missing", func(d *Draft) { delete(d.Body, "text") }, "text", "missing"},
		{"field unknown", set("texts", "x"), "texts", `did you mean "text"`},
		{"reference as a number", set("ref", int64(7)), "ref", "not a text"},
		{"text blank", set("text", ""), "text", "blank"},
		{"text on two lines", set("text", "a\nb"), "text", "line end"},
		{"text as a number", set("text", int64(1)), "text", "not a text"},
		{"prose with a control character", set("prose", "a\r\nb"), "prose", "control character"},
		{"decimal as a number", set("d", int64(1)), "d", "in quotes"},
		{"decimal with a comma", set("d", "1,5"), "d", "decimal"},
		{"decimal with a unit", set("d", "1.5 m"), "d", "no unit"},
		{"decimal with a sign before", set("d", "+1"), "d", "decimal"},
		{"decimal without figures before the point", set("d", ".5"), "d", "decimal"},
		{"decimal with an exponent", set("d", "1e2"), "d", "decimal"},
		{"decimal too long", set("d", "1.0000000000000000000"), "d", "18"},
		{"decimal too small", set("d", "-1.51"), "d", "-1.51 m is less than -1.5 m"},
		{"decimal too great", set("d", "100.001"), "d", "more than 100 m"},
		{"result with two signs", set("r", "<<1"), "r", "result"},
		{"result in words", set("r", "nd"), "r", "result"},
		{"result below its least", set("r", "<-1"), "r", "less than 0"},
		{"whole number as text", set("n", "1"), "n", "not a whole number"},
		{"whole number too small", set("n", int64(0)), "n", "0 is less than 1"},
		{"whole number too great", set("n", int64(10)), "n", "10 is more than 9"},
		{"flag as text", set("flag", "yes"), "flag", "true or false"},
		{"instant without milliseconds", set("instant", "2026-04-06T09:12:00Z"), "instant", "not an instant"},
		{"day that is none", set("day", "2026-02-29"), "day", "not a day"},
		{"day in another form", set("day", "06/04/2026"), "day", "not a day"},
		{"time of day", set("clock", "24:00"), "clock", "not a time of day"},
		{"time of day in another form", set("clock", "9:12"), "clock", "not a time of day"},
		{"choice", set("choice", "top soil"), "choice", `did you mean "topsoil"`},
		{"feature with a space", set("feature", " SA1"), "feature", "space"},
		{"file that is no hash", set("file", "photo.jpg"), "file", "not a SHA-256"},
		{"file that the entry does not list", set("file", Hash{3}.String()), "file", "not among"},
		{"list that is none", set("list", Object{}), "list", "not a list"},
		{"list empty", set("list", []any{}), "list", "empty"},
		{"list of texts", set("list", []any{"a"}), "list.0", "not an object"},
		{"field missing in a list", set("list", []any{Object{"n": int64(1)}, Object{}}), "list.1.n", "missing"},
		{"field unknown in a list", set("list", []any{Object{"n": int64(1), "m": "x"}}), "list.0.m", "no such field"},
		{"file in a list that the entry does not list", set("list", []any{Object{"n": int64(1), "photo": Hash{9}.String()}}), "list.0.photo", "not among"},
		{"group that is none", set("group", []any{}), "group", "not an object"},
		{"field missing in a group", set("group", Object{}), "group.a", "missing"},
		{"reference in a group", set("group", Object{"a": "b", "ref": "x"}), "group.ref", "no such field"},
		{"the kind's own check", set("text", "bad"), "text", "own check"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			d := goodDraft()
			c.change(d)
			faults := kinds.Check(d)
			if len(faults) != 1 {
				t.Fatalf("%d faults, want one: %v", len(faults), faults)
			}
			if f := faults[0]; f.Field != c.field || !strings.Contains(f.Reason+"; "+f.Remedy, c.says) {
				t.Errorf("got %s: %s; %s", f.Field, f.Reason, f.Remedy)
			}
		})
	}
}

// TestCheckListsEveryFault: one wrong field does not hide another.
func TestCheckListsEveryFault(t *testing.T) {
	d := goodDraft()
	d.Places = []string{"A", "A"}
	d.Precision = ""
	d.Body["d"], d.Body["n"], d.Body["zz"] = "x", "y", "z"
	delete(d.Body, "text")
	var got []string
	for _, f := range testKinds(t).Check(d) {
		got = append(got, f.Field)
	}
	if want := "at_precision places text d n zz"; strings.Join(got, " ") != want {
		t.Errorf("got %v, want %s", got, want)
	}
}

func TestNewKindsRefusesDuplicates(t *testing.T) {
	a := &Kind{Name: "a.1", Register: "as"}
	cases := []struct {
		name string
		with *Kind
	}{
		{"a name twice", &Kind{Name: "a.1", Register: "bs"}},
		{"a register twice", &Kind{Name: "b.1", Register: "as"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if _, err := NewKinds(a, c.with); err == nil {
				t.Error("accepted")
			}
		})
	}
}
