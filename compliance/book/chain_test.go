package book

import (
	"errors"
	"testing"
	"time"
)

// TestEverySingleChangeBreaksTheChain changes one thing at a time in the
// fullest entry of the golden chain. Each must be found at that entry.
func TestEverySingleChangeBreaksTheChain(t *testing.T) {
	cases := []struct {
		name   string
		change func(*Entry)
	}{
		{"id", func(e *Entry) { e.ID = "1123456789abcdef0123456789abcdef" }},
		{"seq", func(e *Entry) { e.Seq++ }},
		{"site", func(e *Entry) { e.Site = "low-moss" }},
		{"kind", func(e *Entry) { e.Kind = "diary.2" }},
		{"a place", func(e *Entry) { e.Places = []string{"SA1", "SA3"} }},
		{"a place gone", func(e *Entry) { e.Places = e.Places[:1] }},
		{"places exchanged", func(e *Entry) { e.Places = []string{"SA2", "SA1"} }},
		{"places run together", func(e *Entry) { e.Places = []string{"SA1SA2"} }},
		{"no places", func(e *Entry) { e.Places = nil }},
		{"at by a millisecond", func(e *Entry) { e.At = e.At.Add(time.Millisecond) }},
		{"until", func(e *Entry) { e.Until = e.Until.Add(time.Minute) }},
		{"until gone", func(e *Entry) { e.Until = time.Time{} }},
		{"precision", func(e *Entry) { e.Precision = ToDay }},
		{"offset", func(e *Entry) { e.Offset = "+00:00" }},
		{"made", func(e *Entry) { e.Made = e.Made.Add(time.Second) }},
		{"recorded", func(e *Entry) { e.Recorded = e.Recorded.Add(time.Second) }},
		{"by", func(e *Entry) { e.By = "P3" }},
		{"for", func(e *Entry) { e.For = "" }},
		{"by and for exchanged", func(e *Entry) { e.By, e.For = e.For, e.By }},
		{"role", func(e *Entry) { e.Role = "manager" }},
		{"supersedes", func(e *Entry) { e.Supersedes = "00000000000000000000000000000001" }},
		{"reason", func(e *Entry) { e.Reason = "none" }},
		{"body hash", func(e *Entry) { e.BodyHash[31] ^= 1 }},
		{"body hash gone", func(e *Entry) { e.BodyHash = Hash{} }},
		{"a file", func(e *Entry) { e.Files = []Hash{{1}} }},
		{"files gone", func(e *Entry) { e.Files = nil }},
		{"prev", func(e *Entry) { e.Prev[0] ^= 1 }},
		{"hash", func(e *Entry) { e.Hash[0] ^= 1 }},
		{"salt", func(e *Entry) { e.Salt = append([]byte{1}, e.Salt[1:]...) }},
		{"salt gone", func(e *Entry) { e.Salt = nil }},
		{"a field of the body", func(e *Entry) { e.Body = Object{"act": "store", "text": e.Body["text"]} }},
		{"a field of the body gone", func(e *Entry) { e.Body = Object{"act": "strip"} }},
		{"a field of the body added", func(e *Entry) {
			e.Body = Object{"act": "strip", "text": e.Body["text"], "plant": "excavator"}
		}},
		{"a number where a text was", func(e *Entry) { e.Body = Object{"act": int64(1), "text": e.Body["text"]} }},
		{"body gone without an erasure", func(e *Entry) { e.Body, e.Salt = nil, nil }},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			genesis, entries := goldenChain(t)
			c.change(entries[1])
			err := CheckLink(genesis, entries[0], entries[1])
			if !errors.Is(err, ErrChain) {
				t.Errorf("not found: %v", err)
			}
		})
	}
}

func TestChainAcrossEntries(t *testing.T) {
	genesis, e := goldenChain(t)
	other := Genesis("high-moss", e[0].Recorded.Add(time.Hour))
	backwards := Seal(func() Envelope { v := e[1].Envelope; v.Recorded = e[0].Recorded.Add(-time.Millisecond); return v }(), e[1].Salt, e[1].Body, e[0].Hash)
	cases := []struct {
		name       string
		genesis    Hash
		prev, next *Entry
		sound      bool
	}{
		{"first", genesis, nil, e[0], true},
		{"second", genesis, e[0], e[1], true},
		{"another book's start", other, nil, e[0], false},
		{"first left out", genesis, nil, e[1], false},
		{"one left out", genesis, e[0], e[2], false},
		{"two exchanged", genesis, e[2], e[1], false},
		{"one twice", genesis, e[1], e[1], false},
		{"received before the one before", genesis, e[0], backwards, false},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			err := CheckLink(c.genesis, c.prev, c.next)
			if (err == nil) != c.sound {
				t.Errorf("got %v", err)
			}
		})
	}
}

// TestErasedEntryStillLinks: body and salt go, the envelope and so the chain
// stay, and the hash alone does not tell what the body was.
func TestErasedEntryStillLinks(t *testing.T) {
	genesis, e := goldenChain(t)
	e[1].Body, e[1].Salt, e[1].ErasedBy = nil, nil, 9
	if err := CheckLink(genesis, e[0], e[1]); err != nil {
		t.Error(err)
	}
	if err := CheckLink(genesis, e[1], e[2]); err != nil {
		t.Error(err)
	}
	if e[1].Withdrawal() {
		t.Error("an erased entry is no withdrawal")
	}
	if HashBody(nil, Object{"act": "strip"}) == HashBody(make([]byte, SaltSize), Object{"act": "strip"}) {
		t.Error("the salt does not enter the hash")
	}
}

func TestEnvelopeRefused(t *testing.T) {
	_, e := goldenChain(t)
	good := e[1].Envelope.object()
	cases := []struct {
		name   string
		change func(Object)
	}{
		{"seq as text", func(o Object) { o["seq"] = "2" }},
		{"seq missing", func(o Object) { delete(o, "seq") }},
		{"kind missing", func(o Object) { delete(o, "kind") }},
		{"at missing", func(o Object) { delete(o, "at") }},
		{"at without milliseconds", func(o Object) { o["at"] = "2026-04-06T08:12:00Z" }},
		{"at with an offset", func(o Object) { o["at"] = "2026-04-06T09:12:00.000+01:00" }},
		{"at on no day", func(o Object) { o["at"] = "2026-02-30T09:12:00.000Z" }},
		{"body hash in capitals", func(o Object) {
			o["body_hash"] = "E3B0C44298FC1C149AFBF4C8996FB92427AE41E4649B934CA495991B7852B855"
		}},
		{"body hash cut", func(o Object) { o["body_hash"] = "e3b0" }},
		{"places as text", func(o Object) { o["places"] = "SA1" }},
		{"places empty", func(o Object) { o["places"] = []any{} }},
		{"a place that is a number", func(o Object) { o["places"] = []any{int64(1)} }},
		{"a file that is no hash", func(o Object) { o["files"] = []any{"photo.jpg"} }},
		{"a blank member", func(o Object) { o["reason"] = "" }},
		{"a member unknown to the format", func(o Object) { o["note"] = "x" }},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			o := Object{}
			for k, v := range good {
				o[k] = v
			}
			c.change(o)
			if _, err := ParseEnvelope(o.Bytes()); !errors.Is(err, ErrEnvelope) {
				t.Errorf("got %v", err)
			}
		})
	}
	if _, err := ParseEnvelope(append([]byte(" "), good.Bytes()...)); !errors.Is(err, ErrEnvelope) {
		t.Errorf("bytes that are not canonical: got %v", err)
	}
}

func TestSame(t *testing.T) {
	_, e := goldenChain(t)
	draft := func() *Draft {
		v := e[1].Envelope
		return &Draft{ID: v.ID, Kind: v.Kind, Places: v.Places, At: v.At, Until: v.Until, Precision: v.Precision, Offset: v.Offset,
			Made: v.Made, By: v.By, For: v.For, Role: v.Role, Files: v.Files, Body: Object{"act": e[1].Body["act"], "text": e[1].Body["text"]}}
	}
	cases := []struct {
		name   string
		change func(*Draft)
		same   bool
	}{
		{"as sealed", func(d *Draft) {}, true},
		{"said from another line of a file", func(d *Draft) { d.Source = "registers/diary.csv line 2" }, true},
		{"another body", func(d *Draft) { d.Body = Object{"act": "store"} }, false},
		{"another place", func(d *Draft) { d.Places = nil }, false},
		{"another time", func(d *Draft) { d.At = d.At.Add(time.Minute) }, false},
		{"without a body", func(d *Draft) { d.Body = nil }, false},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			d := draft()
			c.change(d)
			if d.Same(e[1]) != c.same {
				t.Errorf("same is %v", !c.same)
			}
		})
	}
	withdrawal := &Draft{ID: e[3].ID, Kind: e[3].Kind, At: e[3].At, Precision: e[3].Precision, By: e[3].By, Role: e[3].Role, Supersedes: e[3].Supersedes, Reason: e[3].Reason}
	if !withdrawal.Same(e[3]) {
		t.Error("a withdrawal is not the same as itself")
	}
}
