package store

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/series"
)

// full makes a data directory with 6 entries, among them an import with
// readings, entries with files, a redaction that erased entry 2; and closes it.
func full(t testing.TB) string {
	t.Helper()
	s := withSite(t)
	photo, _, err := s.PutFile(ctx, strings.NewReader("a photo of the ditch"), 100)
	if err != nil {
		t.Fatal(err)
	}
	original, _, err := s.PutFile(ctx, strings.NewReader("time,laeq\n"), 100)
	if err != nil {
		t.Fatal(err)
	}
	drafts := diary("a", 4)
	drafts[0].Files = []book.Hash{photo}
	drafts[1].Body["text"] = secret
	mustAppend(t, s, drafts, testOptions(1))
	st, err := s.Stage(ctx, testSite)
	if err != nil {
		t.Fatal(err)
	}
	for _, channel := range []string{"N1-LAEQ", "N2-LAEQ"} {
		if err := st.Put(ctx, channel, minutes(firstDay, 3000)); err != nil {
			t.Fatal(err)
		}
	}
	imp := importDraft("readings", original)
	o := testOptions(2)
	o.Import = map[book.ID]*Staging{imp.ID: st}
	mustAppend(t, s, []book.Draft{imp}, o)
	if _, err := s.Erase(ctx, testSite, redaction("r"), 2, true, testOptions(3)); err != nil {
		t.Fatal(err)
	}
	mustSound(t, s)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return s.Dir()
}

const secret = "Mrs Quillfeather of the upper farm came to the gate"

func importDraft(name string, files ...book.Hash) book.Draft {
	return book.Draft{
		ID: book.RowID(testSite, "import.1", "imports", name), Kind: "import.1", Precision: book.ToMillisecond,
		At: firstDay, By: "p1", Role: "officer", Files: files, Body: book.Object{"parser": "delimited 1"},
	}
}

// Raw SQL cannot change what is kept, not even by REPLACE, which fires no
// DELETE trigger.
func TestTriggersRefuse(t *testing.T) {
	dir := full(t)
	db := raw(t, dir)
	tests := []struct{ name, do string }{
		{"delete an entry", `DELETE FROM entry WHERE seq = 3`},
		{"delete all entries", `DELETE FROM entry`},
		{"change a body", `UPDATE entry SET body = '{}' WHERE seq = 3`},
		{"change an envelope", `UPDATE entry SET envelope = '{}' WHERE seq = 3`},
		{"change a time of receipt", `UPDATE entry SET recorded = 0 WHERE seq = 3`},
		{"change a seq", `UPDATE entry SET seq = 30 WHERE seq = 6`},
		{"change a row number", `UPDATE entry SET n = 30 WHERE seq = 6`},
		{"erase without a redaction", `UPDATE entry SET body = NULL, salt = NULL, erased_by = 3 WHERE seq = 1`},
		{"erase by an earlier entry", `UPDATE entry SET body = NULL, salt = NULL, erased_by = 6 WHERE seq = 6`},
		{"erase by none", `UPDATE entry SET body = NULL, salt = NULL WHERE seq = 1`},
		{"erase by what is not there", `UPDATE entry SET body = NULL, salt = NULL, erased_by = 60 WHERE seq = 1`},
		{"erase the body alone", `UPDATE entry SET body = NULL, erased_by = 6 WHERE seq = 1`},
		{"erase and change", `UPDATE entry SET body = NULL, salt = NULL, erased_by = 6, kind = 'x' WHERE seq = 1`},
		{"bring an erased body back", `UPDATE entry SET body = '{}', salt = zeroblob(16), erased_by = NULL WHERE seq = 2`},
		{"erase again", `UPDATE entry SET erased_by = 6 WHERE seq = 2`},
		{"replace an entry by seq", replaceEntry("NULL", "3", "'"+strings.Repeat("a", 32)+"'")},
		{"replace an entry by id", replaceEntry("NULL", "7", "id")},
		{"replace an entry by row number", replaceEntry("n", "7", "'"+strings.Repeat("a", 32)+"'")},
		{"delete the head", `DELETE FROM head`},
		{"replace the head", `INSERT OR REPLACE INTO head SELECT site, 1, hash FROM entry WHERE seq = 1`},
		{"take the head back", `UPDATE head SET (seq, hash) = (SELECT seq, hash FROM entry WHERE seq = 5)`},
		{"move the head to nothing", `UPDATE head SET seq = 7`},
		{"delete the site", `DELETE FROM site`},
		{"change the day of creation", `UPDATE site SET created = 0`},
		{"lower the epoch", `UPDATE site SET epoch = 0`},
		{"replace the site", `INSERT OR REPLACE INTO site SELECT id, 0, 9, 0, checked_hash FROM site`},
		{"delete a place", `DELETE FROM entry_place WHERE seq = 1`},
		{"change a place", `UPDATE entry_place SET place = 'X' WHERE seq = 1 AND place = 'SA1'`},
		{"delete a file's use", `DELETE FROM entry_file`},
		{"change a file's use", `UPDATE entry_file SET n = 9`},
		{"delete a file in use", `DELETE FROM file`},
		{"change a file's size", `UPDATE file SET bytes = 1`},
		{"erase a file without a redaction", `UPDATE file SET erased_site = 'hollin-rigg', erased_by = 1`},
		{"replace a file", `INSERT OR REPLACE INTO file SELECT sha256, 1, 0, NULL, NULL FROM file`},
		{"delete readings", `DELETE FROM chunk WHERE k = 0`},
		{"change readings", `UPDATE chunk SET data = zeroblob(3) WHERE k = 0`},
		{"replace readings", `INSERT OR REPLACE INTO chunk SELECT n, staging, channel, k, t0, t1, readings, sha256, zeroblob(1) FROM chunk`},
		{"add readings", `INSERT INTO chunk SELECT NULL, staging, channel, 99, t0, t1, readings, sha256, data FROM chunk LIMIT 1`},
		{"delete an import", `DELETE FROM staging`},
		{"hide an import", `UPDATE staging SET seq = NULL`},
		{"move an import", `UPDATE staging SET seq = 1`},
		{"replace an import", `INSERT OR REPLACE INTO staging SELECT id, site, NULL FROM staging`},
		{"show an import at once", `INSERT INTO staging (site, seq) VALUES ('hollin-rigg', 1)`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			before := dump(t, dir)
			r, err := db.Exec(tt.do)
			if err == nil {
				n, _ := r.RowsAffected()
				t.Errorf("it went through, %d rows", n)
			} else if !strings.Contains(err.Error(), "constraint failed: ") || strings.Contains(err.Error(), "syntax") {
				t.Errorf("refused for another reason: %v", err)
			}
			if after := dump(t, dir); after != before {
				t.Errorf("something changed")
			}
		})
	}
}

func replaceEntry(n, seq, id string) string {
	return fmt.Sprintf(`INSERT OR REPLACE INTO entry SELECT %s, site, %s, %s, kind, at, until, recorded, by_person, supersedes,
		envelope, prev, hash, salt, body, NULL FROM entry WHERE seq = 3`, n, seq, id)
}

// dump counts and sums everything in the database.
func dump(t testing.TB, dir string) string {
	t.Helper()
	db := raw(t, dir)
	defer db.Close()
	var all strings.Builder
	for _, q := range []string{
		`SELECT group_concat(n || seq || id || hex(envelope) || coalesce(hex(body), '-') || coalesce(erased_by, '-')) FROM entry`,
		`SELECT group_concat(site || seq || hex(hash)) FROM head`, `SELECT group_concat(id || created || epoch) FROM site`,
		`SELECT group_concat(place || seq) FROM entry_place`, `SELECT group_concat(hex(sha256) || bytes || coalesce(erased_by, '-')) FROM file`,
		`SELECT group_concat(seq || n || hex(sha256)) FROM entry_file`, `SELECT group_concat(n || k || hex(data)) FROM chunk`,
		`SELECT group_concat(id || coalesce(seq, '-')) FROM staging`,
	} {
		var text string
		if err := db.QueryRow(q).Scan(&text); err != nil {
			t.Fatal(err)
		}
		all.WriteString(text + "\n")
	}
	return all.String()
}

// Somebody who takes the guards away and puts them back is found by what the
// rows hold.
func TestTamperingIsFound(t *testing.T) {
	without := func(trigger, do string) func(t *testing.T, dir string) {
		return func(t *testing.T, dir string) {
			db := raw(t, dir)
			var text string
			if err := db.QueryRow(`SELECT sql FROM sqlite_master WHERE name = ?`, trigger).Scan(&text); err != nil {
				t.Fatal(err)
			}
			for _, q := range []string{`PRAGMA foreign_keys = 0`, `DROP TRIGGER ` + trigger, do, text} {
				if _, err := db.Exec(q); err != nil {
					t.Fatalf("%s: %v", q, err)
				}
			}
		}
	}
	file := func(of string, do func(path string) error) func(t *testing.T, dir string) {
		return func(t *testing.T, dir string) {
			found := false
			err := filepath.WalkDir(filepath.Join(dir, FilesName), func(path string, d os.DirEntry, err error) error {
				if err != nil || d.IsDir() {
					return err
				}
				if b, err := os.ReadFile(path); err != nil || !strings.HasPrefix(string(b), of) {
					return err
				}
				found = true
				return do(path)
			})
			if err != nil || !found {
				t.Fatal(found, err)
			}
		}
	}
	tests := []struct {
		name    string
		tamper  func(t *testing.T, dir string)
		where   string
		atStart bool // found by opening already
	}{
		{"a salt", without("entry_keeps", `UPDATE entry SET salt = zeroblob(16) WHERE seq = 3`), "entry 3", true},
		{"a body", without("entry_keeps", `UPDATE entry SET body = CAST(replace(CAST(body AS TEXT), 'turf', 'soil') AS BLOB) WHERE seq = 3`), "entry 3", true},
		{"an envelope", without("entry_keeps", `UPDATE entry SET envelope = CAST(replace(CAST(envelope AS TEXT), 'officer', 'manager') AS BLOB) WHERE seq = 3`), "entry 3", true},
		{"a body taken away", without("entry_keeps", `UPDATE entry SET body = NULL, salt = NULL WHERE seq = 3`), "entry 3", true},
		{"a body taken away in a redaction's name that is none", without("entry_keeps", `UPDATE entry SET body = NULL, salt = NULL, erased_by = 4 WHERE seq = 3`), "entry 3", false},
		{"a column", without("entry_keeps", `UPDATE entry SET kind = 'ticket.1' WHERE seq = 3`), "entry 3", true},
		{"a link", without("entry_keeps", `UPDATE entry SET prev = zeroblob(32) WHERE seq = 3`), "entry 3", true},
		{"an entry taken out", without("entry_stays", `DELETE FROM entry WHERE seq = 3`), "entry 4", true},
		{"the tail cut off", without("entry_stays", `DELETE FROM entry WHERE seq = 6`), "head", true},
		{"two entries changed about", without("entry_keeps", `UPDATE entry SET seq = CASE seq WHEN 3 THEN 99 ELSE 3 END WHERE seq IN (3, 4); UPDATE entry SET seq = 4 WHERE seq = 99`), "entry 3", true},
		{"the head", without("head_moves", `UPDATE head SET hash = zeroblob(32)`), "head", true},
		{"a place", without("entry_place_keeps", `UPDATE entry_place SET place = 'X' WHERE seq = 1 AND place = 'SA1'`), "entry 1", false},
		{"a file's use", without("entry_file_stays", `DELETE FROM entry_file WHERE seq = 1`), "entry 1", false},
		{"readings", without("chunk_keeps", `UPDATE chunk SET data = zeroblob(length(data)) WHERE k = 1 AND channel = 'N1-LAEQ'`), "entry 5, readings of channel N1-LAEQ", false},
		{"a chunk taken out", without("chunk_stays", `DELETE FROM chunk WHERE k = 1 AND channel = 'N2-LAEQ'`), "entry 5, readings of channel N2-LAEQ", false},
		{"a file changed", file("a photo", func(p string) error { return os.WriteFile(p, []byte("a photo of the hedge"), 0o600) }), "file files/", false},
		{"a file cut", file("a photo", func(p string) error { return os.Truncate(p, 7) }), "file files/", false},
		{"a file gone", file("time,", os.Remove), "file files/", false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			dir := full(t)
			tt.tamper(t, dir)
			s, err := Open(dir, Options{})
			if (err != nil) != tt.atStart || (err != nil && !errors.Is(err, ErrDamaged)) {
				t.Errorf("opening: %v, want a fault: %v", err, tt.atStart)
			}
			if err != nil {
				s = unchecked(t, dir)
			} else {
				t.Cleanup(func() { s.Close() })
			}
			r, err := s.Verify(ctx, testSite, VerifyOptions{})
			if err != nil {
				t.Fatal(err)
			}
			at := func(f Fault) bool { return strings.HasPrefix(f.Where, tt.where) }
			if !slices.ContainsFunc(r.Faults, at) {
				t.Errorf("faults: %v, want one at %s", r.Faults, tt.where)
			}
		})
	}
}

// unchecked opens a damaged data directory as far as Verify needs.
func unchecked(t *testing.T, dir string) *Store {
	t.Helper()
	s := &Store{dir: dir, options: Options{ReadOnly: true}}
	var err error
	if s.registry, s.reader, err = openDB(s.database(), reading); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.release() })
	return s
}

func TestVerifyHandsReadingsOver(t *testing.T) {
	s := open(t, full(t), Options{ReadOnly: true})
	var seen []string
	r, err := s.Verify(ctx, testSite, VerifyOptions{Readings: func(e *book.Entry, readings map[string][]*series.Block) []string {
		n := 0
		for _, b := range readings["N1-LAEQ"] {
			n += b.Len()
		}
		seen = append(seen, fmt.Sprintf("%d:%d:%d", e.Seq, len(readings), n))
		if e.Kind == "import.1" {
			return []string{"the digest differs"}
		}
		return nil
	}})
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(seen, " "); got != "1:0:0 2:0:0 3:0:0 4:0:0 5:2:3000 6:0:0" {
		t.Errorf("handed over %s", got)
	}
	if len(r.Faults) != 1 || r.Faults[0].String() != "entry 5: the digest differs" {
		t.Errorf("faults %v", r.Faults)
	}
	if r.Entries != 6 || r.Erased != 1 || r.Files != 2 || r.Imports != 1 || r.Chunks != 6 || r.Readings != 6000 {
		t.Errorf("report %+v", r)
	}
}

func TestErase(t *testing.T) {
	s := withSite(t)
	own, _, err := s.PutFile(ctx, strings.NewReader("letter of "+secret), 1000)
	if err != nil {
		t.Fatal(err)
	}
	both, _, err := s.PutFile(ctx, strings.NewReader("a photo two entries name"), 1000)
	if err != nil {
		t.Fatal(err)
	}
	drafts := diary("a", 5)
	drafts[1].Body["text"], drafts[1].Files = secret, []book.Hash{own, both}
	drafts[3].Files = []book.Hash{both}
	entries := mustAppend(t, s, drafts, testOptions(1)).Entries
	w := mustAppend(t, s, []book.Draft{withdrawal(entries[4], "w")}, testOptions(2)).Entries[0]

	done, err := s.Erase(ctx, testSite, redaction("r"), 2, true, testOptions(3))
	if err != nil {
		t.Fatal(err)
	}
	if done.Entry.Seq != 7 || len(done.Files) != 1 || done.Files[0] != own || len(done.Kept) != 1 || done.Kept[0] != both {
		t.Errorf("erased %+v", done)
	}
	e, err := s.BySeq(ctx, testSite, 2)
	if err != nil || e.Body != nil || e.Salt != nil || e.ErasedBy != 7 || e.Hash != entries[1].Hash {
		t.Errorf("erased entry %+v, %v", e, err)
	}
	if r := mustSound(t, s); r.Erased != 1 || r.Files != 1 {
		t.Errorf("report %+v", r)
	}
	if _, err := s.OpenFile(ctx, own); !errors.Is(err, ErrErased) {
		t.Errorf("the erased file: %v", err)
	}
	if _, _, err := s.PutFile(ctx, strings.NewReader("letter of "+secret), 1000); !errors.Is(err, ErrErased) {
		t.Errorf("the erased file sent again: %v", err)
	}
	if r := mustAppend(t, s, drafts, testOptions(4)); len(r.Entries) != 0 || len(r.Already) != 5 {
		t.Errorf("offered again: %d new", len(r.Entries))
	}
	changed := drafts[1]
	changed.Role = "manager"
	if _, err := s.Append(ctx, testSite, []book.Draft{changed}, testOptions(5)); !errors.Is(err, ErrConflict) {
		t.Errorf("offered again with another role: %v", err)
	}
	again, err := s.Erase(ctx, testSite, redaction("r"), 2, true, testOptions(6))
	if err != nil || again.Entry.Seq != 7 {
		t.Errorf("asked again: %+v, %v", again, err)
	}
	leftNowhere(t, s.Dir(), secret)

	for _, tt := range []struct {
		name  string
		draft book.Draft
		seq   int64
		want  error
	}{
		{"what is not there", redaction("x"), 99, ErrNotFound},
		{"what is erased", redaction("x"), 2, ErrErased},
		{"a withdrawal", redaction("x"), w.Seq, ErrUnsound},
		{"itself", redaction("x"), 8, ErrUnsound},
		{"by what is no redaction", diary("b", 1)[0], 1, ErrUnsound},
		{"a second entry with the same redaction", redaction("r"), 1, ErrUnsound},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if _, err := s.Erase(ctx, testSite, tt.draft, tt.seq, true, testOptions(9)); !errors.Is(err, tt.want) {
				t.Errorf("got %v, want %v", err, tt.want)
			}
			if seq, _, _ := s.Head(ctx, testSite); seq != 7 {
				t.Errorf("the book grew to %d", seq)
			}
		})
	}
}

// leftNowhere searches every file of a data directory for a text.
func leftNowhere(t *testing.T, dir, text string) {
	t.Helper()
	err := filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := os.ReadFile(path)
		if bytes.Contains(b, []byte(text)) {
			t.Errorf("%s still holds what was erased", filepath.Base(path))
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

func TestCancelledAppendChangesNothing(t *testing.T) {
	s := withSite(t)
	stopped, stop := context.WithCancel(ctx)
	s.trace = func(stage string) {
		if stage == "sealed" {
			stop()
		}
	}
	if _, err := s.Append(stopped, testSite, diary("a", 5), testOptions(1)); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
	s.trace = nil
	if seq, _, _ := s.Head(ctx, testSite); seq != 0 {
		t.Errorf("the book grew to %d", seq)
	}
	mustAppend(t, s, diary("a", 5), testOptions(1))
}
