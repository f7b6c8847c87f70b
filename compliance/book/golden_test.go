package book

import (
	"encoding/hex"
	"encoding/json"
	"os"
	"strings"
	"testing"
)

// vectors are worked out apart from the program; see the note in the file.
type vectors struct {
	Accept []struct{ Name, Input, Canonical string }
	Refuse []struct {
		Name, Input string
		InputHex    string `json:"input_hex"`
		Reason      string
	}
	Bodies  []struct{ Name, Salt, Body, Hash string }
	Genesis []struct{ Site, Created, Hash string }
	Rows    []struct{ Site, Kind, Register, Key, ID string }
	Chain   []struct{ Envelope, Prev, Hash, Salt, Body string }
}

func readVectors(t *testing.T) *vectors {
	t.Helper()
	data, err := os.ReadFile("testdata/canonical.json")
	if err != nil {
		t.Fatal(err)
	}
	var v vectors
	if err := json.Unmarshal(data, &v); err != nil {
		t.Fatal(err)
	}
	if n := len(v.Accept) + len(v.Refuse) + len(v.Bodies) + len(v.Genesis) + len(v.Rows) + len(v.Chain); n < 36 {
		t.Fatalf("%d vectors, where 36 at least belong", n)
	}
	return &v
}

func unhex(t *testing.T, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(s)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestGoldenAccept(t *testing.T) {
	for _, c := range readVectors(t).Accept {
		t.Run(c.Name, func(t *testing.T) {
			got, err := Canonical([]byte(c.Input))
			if err != nil {
				t.Fatal(err)
			}
			if string(got) != c.Canonical {
				t.Errorf("got %s\nwant %s", got, c.Canonical)
			}
			again, err := Canonical(got)
			if err != nil || string(again) != string(got) {
				t.Errorf("canonical bytes do not come back: %s, %v", again, err)
			}
		})
	}
}

func TestGoldenRefuse(t *testing.T) {
	for _, c := range readVectors(t).Refuse {
		t.Run(c.Name, func(t *testing.T) {
			input := []byte(c.Input)
			if c.InputHex != "" {
				input = unhex(t, c.InputHex)
			}
			got, err := Canonical(input)
			if err == nil {
				t.Fatalf("accepted as %s", got)
			}
			if !strings.Contains(err.Error(), c.Reason) {
				t.Errorf("the reason is %q, which does not say %q", err, c.Reason)
			}
		})
	}
}

func TestGoldenBodies(t *testing.T) {
	for _, c := range readVectors(t).Bodies {
		t.Run(c.Name, func(t *testing.T) {
			body, err := ParseObject([]byte(c.Body))
			if err != nil {
				t.Fatal(err)
			}
			if got := HashBody(unhex(t, c.Salt), body); got.String() != c.Hash {
				t.Errorf("got %s, want %s", got, c.Hash)
			}
		})
	}
}

func TestGoldenGenesis(t *testing.T) {
	for _, c := range readVectors(t).Genesis {
		created, err := ParseInstant(c.Created)
		if err != nil {
			t.Fatal(err)
		}
		if got := Genesis(c.Site, created); got.String() != c.Hash {
			t.Errorf("%s %s: got %s, want %s", c.Site, c.Created, got, c.Hash)
		}
	}
}

func TestGoldenRows(t *testing.T) {
	for _, c := range readVectors(t).Rows {
		got := RowID(c.Site, c.Kind, c.Register, c.Key)
		if string(got) != c.ID || !got.Valid() {
			t.Errorf("%q %q %q %q: got %s, want %s", c.Site, c.Kind, c.Register, c.Key, got, c.ID)
		}
	}
}

// goldenChain reads the golden chain by parsing its bytes.
func goldenChain(t *testing.T) (genesis Hash, entries []*Entry) {
	t.Helper()
	v := readVectors(t)
	genesis, err := ParseHash(v.Genesis[0].Hash)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range v.Chain {
		env, err := ParseEnvelope([]byte(c.Envelope))
		if err != nil {
			t.Fatal(err)
		}
		if string(env.Bytes()) != c.Envelope {
			t.Fatalf("the envelope does not come back: %s", env.Bytes())
		}
		e := &Entry{Envelope: *env}
		if e.Prev, err = ParseHash(c.Prev); err != nil {
			t.Fatal(err)
		}
		if e.Hash, err = ParseHash(c.Hash); err != nil {
			t.Fatal(err)
		}
		if c.Body != "" {
			e.Salt = unhex(t, c.Salt)
			if e.Body, err = ParseObject([]byte(c.Body)); err != nil {
				t.Fatal(err)
			}
		}
		entries = append(entries, e)
	}
	return genesis, entries
}

func TestGoldenChain(t *testing.T) {
	genesis, entries := goldenChain(t)
	var prev *Entry
	link := genesis
	for _, e := range entries {
		if err := CheckLink(genesis, prev, e); err != nil {
			t.Fatal(err)
		}
		made := Seal(e.Envelope, e.Salt, e.Body, link)
		if made.Hash != e.Hash || made.BodyHash != e.BodyHash || made.Prev != e.Prev {
			t.Errorf("entry %d seals to %s, want %s", e.Seq, made.Hash, e.Hash)
		}
		prev, link = e, e.Hash
	}
	if !entries[3].Withdrawal() || entries[2].Withdrawal() {
		t.Error("entry 4, and it alone, is a withdrawal")
	}
}
