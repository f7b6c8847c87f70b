package handover

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/server/seal"
)

func TestPackVerifies(t *testing.T) {
	k := build(t)
	b := pack(t, k.input(testKey()))
	out := verify(t, b, testKey().Fingerprint())
	if !out.Good() || out.Same != 3 || len(out.Notes) != 0 {
		t.Fatalf("not good:\n%s", strings.Join(out.Lines(), "\n"))
	}
	if out.Upto != 12 || out.Site != testSite || out.Rules != judge.Rules || !out.SignerKnown {
		t.Fatalf("got %+v", out)
	}
}

// A pack is a function of its input and of nothing else.
func TestSameInputSameBytes(t *testing.T) {
	want := pack(t, build(t).input(testKey()))
	tests := []struct {
		name   string
		change func(t *testing.T, k *kept, in *Input)
		same   bool
	}{
		{"made again", func(*testing.T, *kept, *Input) {}, true},
		{"after the making was entered in the book", func(t *testing.T, k *kept, in *Input) { k.handedOver(t); in.Entries = k.entries }, true},
		{"readings handed over in other chunks of memory", func(t *testing.T, k *kept, _ *Input) {
			for i := range k.chunks {
				k.chunks[i].Data = bytes.Clone(k.chunks[i].Data)
			}
		}, true},
		{"told how far it is", func(_ *testing.T, _ *kept, in *Input) { in.Tell = func(float64, string) {} }, true},
		{"another instant", func(_ *testing.T, _ *kept, in *Input) { in.At = in.At.Add(time.Hour) }, false},
		{"another key", func(_ *testing.T, _ *kept, in *Input) { in.Key = seal.NewKey([32]byte{1}) }, false},
		{"another program", func(_ *testing.T, _ *kept, in *Input) { in.Program = "other" }, false},
		{"names withheld", func(_ *testing.T, _ *kept, in *Input) { in.Withhold = true }, false},
		{"an entry fewer", func(_ *testing.T, _ *kept, in *Input) { in.Entries = in.Entries[:10] }, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			k := build(t)
			in := k.input(testKey())
			tt.change(t, k, &in)
			if same := bytes.Equal(pack(t, in), want); same != tt.same {
				t.Fatalf("the same bytes: %v", same)
			}
		})
	}
}

// handedOver enters that a pack was made.
func (k *kept) handedOver(t *testing.T) {
	t.Helper()
	zero := book.Object{"complied": int64(0), "not_complied": int64(0), "cannot_be_judged": int64(0), "not_applicable": int64(0), "not_yet_due": int64(0)}
	k.add(t, book.Draft{Kind: "handover.1", At: judgedAt, Body: book.Object{"upto_seq": int64(12), "judged_at": book.FormatInstant(judgedAt), "rules": int64(1),
		"program": "test", "fingerprint": "f", "contents_digest": "d", "judgements": zero}})
}

func TestResultSaysWhatWasWritten(t *testing.T) {
	var b bytes.Buffer
	in := build(t).input(testKey())
	in.Temp = t.TempDir()
	last := -1.0
	in.Tell = func(share float64, words string) {
		if share < last || share > 1 || words == "" {
			t.Errorf("told %v %q after %v", share, words, last)
		}
		last = share
	}
	r, err := Write(t.Context(), &b, in)
	if err != nil {
		t.Fatal(err)
	}
	m := unpacked(t, b.Bytes())
	if r.Upto != 12 || r.Bytes != int64(b.Len()) || r.SHA256 != hashOf(b.Bytes()) || r.Members != len(m) || r.Manifest != hashOf(m[manifestName]) || last != 1 {
		t.Fatalf("got %+v", r)
	}
	if left, err := filepath.Glob(filepath.Join(in.Temp, "*")); err != nil || len(left) > 0 {
		t.Fatalf("temporary files are left: %v %v", left, err)
	}
}

func TestBooksThatAreNotHandedOver(t *testing.T) {
	tests := []struct {
		name   string
		change func(k *kept, in *Input)
		says   string
	}{
		{"empty", func(_ *kept, in *Input) { in.Entries = nil }, "the book is empty"},
		{"with a broken chain", func(_ *kept, in *Input) { in.Entries = append(in.Entries[:4:4], in.Entries[5:]...) }, "chain broken"},
		{"of another site", func(_ *kept, in *Input) { in.Site = "elsewhere" }, "chain broken"},
		{"erased by an entry left out", func(_ *kept, in *Input) { in.Entries = in.Entries[:11] }, "which is not among those after it"},
		{"an original missing", func(k *kept, _ *Input) {
			for h := range k.files {
				delete(k.files, h)
			}
		}, "original"},
		{"an original damaged", func(k *kept, _ *Input) {
			for h := range k.files {
				k.files[h] = append(k.files[h], 'x')
			}
		}, "not what its hash says"},
		{"a chunk damaged", func(k *kept, _ *Input) { k.chunks[1].Data = append(bytes.Clone(k.chunks[1].Data), 0) }, "do not fit their SHA-256"},
		{"a chunk missing", func(k *kept, _ *Input) { k.chunks = append(k.chunks[:0:0], k.chunks[1:]...) }, "chunk 1 comes where 0 belongs"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			k := build(t)
			in := k.input(testKey())
			in.Temp = t.TempDir()
			tt.change(k, &in)
			if _, err := Write(t.Context(), io.Discard, in); err == nil || !strings.Contains(err.Error(), tt.says) {
				t.Fatalf("got %v", err)
			}
		})
	}
	ctx, stop := context.WithCancel(t.Context())
	stop()
	in := build(t).input(testKey())
	in.Temp = t.TempDir()
	if _, err := Write(ctx, io.Discard, in); !errors.Is(err, context.Canceled) {
		t.Fatalf("a making that was called off goes on: %v", err)
	}
}

func TestNamesCanBeWithheld(t *testing.T) {
	in := build(t).input(testKey())
	open := unpacked(t, pack(t, in))
	in.Withhold = true
	b := pack(t, in)
	m := unpacked(t, b)
	for name, text := range m {
		if bytes.Contains(text, []byte("Przykład")) {
			t.Errorf("%s holds a name", name)
		}
	}
	if !bytes.Contains(open[bookName], []byte("Przykład")) || !bytes.Contains(open[registersDir+"person.1.csv"], []byte("Przykład")) {
		t.Error("the name is withheld where it was not asked for")
	}
	out := verify(t, b, testKey().Fingerprint())
	if !out.Good() || out.Same != 3 {
		t.Fatalf("not good:\n%s", strings.Join(out.Lines(), "\n"))
	}
	if !bytes.Contains(m[manifestName], []byte(`"named_bodies":"withheld"`)) || !bytes.Contains(m[pageName], []byte("names are withheld")) {
		t.Error("the pack does not say that names are withheld")
	}
}

func TestErasedContentIsGone(t *testing.T) {
	m := unpacked(t, pack(t, build(t).input(testKey())))
	for name, text := range m {
		if bytes.Contains(text, []byte("a letter that names")) || bytes.Contains(text, []byte(`"title":"Letter"`)) {
			t.Errorf("%s holds what was erased", name)
		}
	}
	if !bytes.Contains(m[registersDir+"document.1.csv"], []byte("erased by entry 12")) || !bytes.Contains(m[pageName], []byte("11 (by entry 12)")) {
		t.Error("the pack does not say what was erased by what")
	}
}

func TestOtherRulesAndLayouts(t *testing.T) {
	key := testKey()
	good := pack(t, build(t).input(key))
	tests := []struct {
		name, old, with string
		good            bool
		says            string
	}{
		{"rules no longer held", `"rules":4,`, `"rules":77,`, false, "this program no longer holds rules 77: 3 judgements were not made again; everything else is as it was sealed"},
		{"a layout unknown", `"layout":1,`, `"layout":9,`, false, "of layout 9, which this program does not know"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := unpacked(t, good)
			replaced(t, m, manifestName, tt.old, tt.with)
			relisted(t, m, key)
			out := verify(t, sealed(t, m, key), key.Fingerprint())
			if all := strings.Join(out.Lines(), "\n"); out.Good() || len(out.Faults) > 0 || out.Differ > 0 || !strings.HasSuffix(all, tt.says) && !strings.Contains(all, tt.says) {
				t.Fatalf("wanted %q in:\n%s", tt.says, all)
			}
			if len(out.Judgements) != 3 {
				t.Fatalf("%d judgements are listed", len(out.Judgements))
			}
		})
	}
}

// judgements.json is what the judge returns, with every window, and nothing
// of a judgement is left out of it.
func TestJudgementsAreTheReport(t *testing.T) {
	k := build(t)
	record, err := judge.NewRecord(k.entries, k)
	if err != nil {
		t.Fatal(err)
	}
	want, err := judge.All(record, k.list, judge.Options{At: judgedAt, Windows: true})
	if err != nil {
		t.Fatal(err)
	}
	text := unpacked(t, pack(t, k.input(testKey())))[judgementsName]
	var got judge.Report
	if err := json.Unmarshal(text, &got); err != nil {
		t.Fatal(err)
	}
	settle(want.Judgements)
	settle(got.Judgements)
	if !reflect.DeepEqual(&got, want) {
		t.Fatal("the report read back is another")
	}
	windows := 0
	for i := range want.Judgements {
		windows += len(want.Judgements[i].Windows)
	}
	rows, err := csv.NewReader(bytes.NewReader(unpacked(t, pack(t, k.input(testKey())))[tableName])).ReadAll()
	if err != nil || len(rows) != 1+len(want.Judgements)+windows || windows < 200 {
		t.Fatalf("%d rows for %d judgements and %d windows: %v", len(rows), len(want.Judgements), windows, err)
	}
}

// settle takes out what is not written, and the sign of nought.
func settle(list []judge.Judgement) {
	for i := range list {
		j := &list[i]
		j.Reads = nil
		for _, v := range []*float64{j.Value, j.Limit, j.Margin, j.Coverage} {
			if v != nil && *v == 0 {
				*v = 0
			}
		}
		settle(j.Months)
		settle(j.Windows)
	}
}

func TestEveryMemberOfAJudgementIsWritten(t *testing.T) {
	half, when := 0.5, judgedAt
	j := judge.Judgement{Permit: "a", Version: "b", Clause: "c", Condition: "d", Title: "e\n\"\\\u2028<&>", Severity: "f", Place: "g",
		Window: judge.Window{From: opened2026, To: judgedAt}, Verdict: judge.NotYetDue, Value: &half, Shown: "h", Limit: &half, LimitText: "i", Margin: &half,
		Unit: "j", Coverage: &half, Counts: judge.Counts{Due: 1, Judged: 2, Complied: 3, NotComplied: 4, CannotBeJudged: 5, NotYetDue: 6, NotApplicable: 7},
		Inner: &judge.Counts{Due: 8}, Excluded: []judge.Excluded{{Channel: "k", Reason: "l", Count: 9, Seconds: 1.5}}, Evidence: []judge.Evidence{{Seq: 10, ID: "m", Kind: "n", Ref: "o"}},
		Sentence: "p", Cause: "q", Remedy: "r", Working: []judge.Step{{Words: "s", Value: "t"}}, Rule: "u", Digest: "v", Recheck: &when}
	for i, v := 0, reflect.ValueOf(j); i < v.NumField(); i++ {
		switch name := v.Type().Field(i).Name; name {
		case "Reads", "Months", "Windows":
		default:
			if v.Field(i).IsZero() {
				t.Errorf("the test leaves %s out", name)
			}
		}
	}
	whole := j
	whole.Months, whole.Windows = []judge.Judgement{j}, []judge.Judgement{j, j}
	var got judge.Judgement
	if err := json.Unmarshal(judgementText(&whole), &got); err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(got, whole) {
		t.Fatalf("wrote %s", judgementText(&whole))
	}
	if _, err := book.ParseObject([]byte(`{"x":` + strings.ReplaceAll(strings.ReplaceAll(string(judgementText(&j)), "0.5", "5"), "1.5", "15") + `}`)); err != nil {
		t.Errorf("but for decimals it is not canonical: %v", err)
	}
}

func TestOriginalsAreReadAgain(t *testing.T) {
	k := build(t)
	b := pack(t, k.input(testKey()))
	seen := 0
	out, err := Verify(t.Context(), bytes.NewReader(b), int64(len(b)), Check{FromOriginals: true, Kinds: k.kinds, Quantities: k.list,
		Reparse: func(o Original) []string {
			if o.Entry.Kind != "import.1" {
				return nil
			}
			seen++
			r, err := o.File(hashes(t, o.Entry.Body.Text("file"))[0])
			if err != nil {
				t.Fatal(err)
			}
			text, err := io.ReadAll(r)
			if err != nil || !strings.HasPrefix(string(text), "time,N/1,N2\r\n") {
				t.Fatalf("%q %v", text[:20], err)
			}
			return []string{"parser differs: entry 10"}
		}})
	if err != nil || seen != 1 || len(out.Notes) != 1 || !out.Good() {
		t.Fatalf("%d read again, %v, %+v", seen, err, out)
	}
}

var update = flag.Bool("update", false, "rewrite the golden hashes")

// What is derived from the book of the tests, by its hash. When a hash changes
// and the rules number does not, Layout must be raised: packs made before are
// then compared judgement by judgement only.
func TestDerivedMembersAreAsBefore(t *testing.T) {
	m, err := readManifest(unpacked(t, pack(t, build(t).input(testKey())))[manifestName])
	if err != nil {
		t.Fatal(err)
	}
	var got strings.Builder
	fmt.Fprintf(&got, "rules %d, layout %d\n", m.rules, m.layout)
	for _, one := range m.members {
		if one.name != formatName {
			fmt.Fprintf(&got, "%s  %s\n", one.sum, one.name)
		}
	}
	golden := filepath.Join("testdata", "derived.txt")
	if *update {
		if err := os.WriteFile(golden, []byte(got.String()), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if got.String() != string(want) {
		t.Fatalf("derived members come out otherwise; raise Rules or Layout, then run with -update\ngot\n%s\nwant\n%s", got.String(), want)
	}
}

func TestLook(t *testing.T) {
	dir := os.Getenv("PACK_LOOK")
	if dir == "" {
		t.Skip("set PACK_LOOK to a folder to look at the pack of the tests")
	}
	if err := os.WriteFile(filepath.Join(dir, "pack.zip"), pack(t, build(t).input(testKey())), 0o600); err != nil {
		t.Fatal(err)
	}
}
