package folder_test

import (
	"errors"
	"testing"
	"testing/fstest"

	"github.com/swardbook/swardbook/server/folder"
)

// FuzzRegister: whatever a register holds, it is taken whole or refused with
// every problem placed; what is taken comes back from a book the same.
func FuzzRegister(f *testing.F) {
	names := []string{"registers/tickets.csv", "registers/diary.csv", "registers/samples.csv"}
	for i, name := range names {
		f.Add(uint8(i), small()[name].Data)
	}
	f.Add(uint8(0), []byte("id,supersedes,withdraws,reason,at,places,number,direction,material,net [t]\nT1,,,,2026-03-02,GATE,T1,in,stone,1\n,T1,yes,gone,2026-03-02,,,,,\n"))
	f.Add(uint8(1), []byte("\xEF\xBB\xBFat,until,act,recorded,made\r\n2026-10-25T01:30+01:00,2026-10-25T01:30+00:00,none,2026-10-25T02:00Z,\r\n"))
	f.Add(uint8(1), []byte("id,ref,at,act\n0123456789abcdef0123456789abcdef,D1,2026-03-02 09:12,none\n"))
	fuzzFolder(f, names)
}

// FuzzSiteYAML: likewise for site.yaml and a plan's sidecar.
func FuzzSiteYAML(f *testing.F) {
	names := []string{"site.yaml", "plan/2026-01-05.yaml"}
	for i, name := range names {
		f.Add(uint8(i), small()[name].Data)
	}
	f.Add(uint8(0), []byte("id: ab\nzone: UTC\nopened: 2026-01-01\nentered_by: x\nname: n\ngrid: g\ndatum: d\npeople: [{id: x, name: n, roles: [{role: officer, from: 2026-01-01}]}]\n"))
	fuzzFolder(f, names)
}

func fuzzFolder(f *testing.F, names []string) {
	kinds, quantities := lists(f)
	f.Fuzz(func(t *testing.T, which uint8, data []byte) {
		fsys := small()
		fsys[names[int(which)%len(names)]] = &fstest.MapFile{Data: data}
		delete(fsys, "readings/index.csv") // of no concern here, and slow
		c, err := folder.Read(fsys, kinds, quantities)
		if err != nil {
			var ps folder.Problems
			if c != nil || !errors.As(err, &ps) || len(ps) == 0 {
				t.Fatalf("refused without its problems: %v", err)
			}
			for _, p := range ps {
				if p.File == "" || p.Reason == "" {
					t.Fatalf("a problem without place or reason: %+v", p)
				}
			}
			return
		}
		entries, _, err := folder.Seal(c, c.Site.ID, c.Site.Created, nil)
		if err != nil {
			return // it corrects an entry of a book that is not here
		}
		out := inMemory{}
		o := folder.WriteOptions{}
		if c.HasReceipts() {
			o.Receipts = folder.Received
		}
		if _, err := folder.Write(out, entries, kinds, c.OpenFile, o); err != nil {
			t.Fatal(err)
		}
		again, err := folder.Read(fstest.MapFS(out), kinds, quantities)
		if err != nil {
			t.Fatalf("what was written is not read: %v", err)
		}
		for i, e := range entries {
			if d := again.InOrderOfReceipt()[i]; !d.Same(e) {
				t.Fatalf("entry %d comes back changed:\n%s %s\n%+v", e.Seq, e.Envelope.Bytes(), e.Body.Bytes(), d)
			}
		}
	})
}
