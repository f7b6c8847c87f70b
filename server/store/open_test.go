package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math/rand"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/series"
)

// Everything in these tests is of an invented site.
const testSite = "hollin-rigg"

var (
	ctx       = context.Background()
	firstDay  = time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
	fixedTime = func() time.Time { return time.Date(2026, 4, 6, 9, 12, 0, 0, time.UTC) }
)

func open(t testing.TB, dir string, o Options) *Store {
	t.Helper()
	s, err := Open(dir, o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

// withSite opens a new data directory with one empty book.
func withSite(t testing.TB) *Store {
	t.Helper()
	s := open(t, t.TempDir(), Options{Create: true, Now: fixedTime})
	if _, err := s.CreateSite(ctx, testSite, firstDay); err != nil {
		t.Fatal(err)
	}
	return s
}

func testOptions(seed int64) AppendOptions {
	return AppendOptions{Now: fixedTime, Rand: rand.New(rand.NewSource(seed))}
}

// diary makes n drafts whose ids and bodies follow from name and number.
func diary(name string, n int) []book.Draft {
	drafts := make([]book.Draft, n)
	for i := range drafts {
		drafts[i] = book.Draft{
			ID: book.RowID(testSite, "diary.1", name, fmt.Sprint(i)), Kind: "diary.1", Precision: book.ToMinute,
			Places: []string{"SA1", fmt.Sprintf("ST%d", i%7)}, At: firstDay.Add(time.Duration(i) * time.Minute), Offset: "+01:00",
			Until: firstDay.Add(time.Duration(i+30) * time.Minute), By: "p1", Role: "officer",
			Body:   book.Object{"text": fmt.Sprintf("%s %d: turf lifted, stacked grass to grass", name, i), "people": int64(i % 5)},
			Source: fmt.Sprintf("registers/diary.csv line %d", i+2),
		}
	}
	return drafts
}

func mustAppend(t testing.TB, s *Store, drafts []book.Draft, o AppendOptions) Result {
	t.Helper()
	r, err := s.Append(ctx, testSite, drafts, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func mustSound(t testing.TB, s *Store) *Report {
	t.Helper()
	r, err := s.Verify(ctx, testSite, VerifyOptions{})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range r.Faults {
		t.Errorf("fault: %s", f)
	}
	return r
}

// minutes makes a block of n one-minute readings in tenths.
func minutes(from time.Time, n int) *series.Block {
	b := &series.Block{Span: 60_000, Places: 1}
	for i := range n {
		b.Start = append(b.Start, from.UnixMilli()+int64(i)*60_000)
		b.Coefficient = append(b.Coefficient, int64(420+i*7%130))
		b.Mark = append(b.Mark, series.Valid)
	}
	return b
}

// raw opens the database past the store.
func raw(t testing.TB, dir string) *sql.DB {
	t.Helper()
	_, db, err := openDB(filepath.Join(dir, DatabaseName), pool{1, "immediate", nil})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return db
}

func TestOpenSaysWhatIsWrong(t *testing.T) {
	strange := t.TempDir()
	if err := os.WriteFile(filepath.Join(strange, "holiday.jpg"), []byte("x"), 0o600); err != nil {
		t.Fatal(err)
	}
	noDatabase := t.TempDir()
	if err := os.WriteFile(filepath.Join(noDatabase, DatabaseName), []byte(strings.Repeat("not a database ", 400)), 0o600); err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		name string
		dir  string
		o    Options
		want error
	}{
		{"no directory", filepath.Join(t.TempDir(), "none"), Options{}, ErrNoData},
		{"no directory, to read", filepath.Join(t.TempDir(), "none"), Options{ReadOnly: true, Create: true}, ErrNoData},
		{"empty directory, not to be made", t.TempDir(), Options{}, ErrNoData},
		{"a directory of other things", strange, Options{Create: true}, ErrNotEmpty},
		{"a file that is no database", noDatabase, Options{}, ErrDamaged},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s, err := Open(tt.dir, tt.o)
			if !errors.Is(err, tt.want) {
				t.Errorf("got %v, want %v", err, tt.want)
			}
			if s != nil {
				s.Close()
			}
		})
	}
}

func TestOpenTwice(t *testing.T) {
	s := withSite(t)
	mustAppend(t, s, diary("first", 3), testOptions(1))
	if _, err := Open(s.Dir(), Options{}); !errors.Is(err, ErrInUse) || !strings.Contains(err.Error(), fmt.Sprint(os.Getpid())) {
		t.Errorf("opened for writing twice: %v", err)
	}
	beside := open(t, s.Dir(), Options{ReadOnly: true})
	if all, err := beside.All(ctx, testSite); err != nil || len(all) != 3 {
		t.Errorf("reading beside a writer: %d entries, %v", len(all), err)
	}
	mustAppend(t, s, diary("second", 2), testOptions(2))
	if all, err := beside.All(ctx, testSite); err != nil || len(all) != 5 {
		t.Errorf("reading beside a writer, later: %d entries, %v", len(all), err)
	}
	refusals := map[string]error{}
	_, refusals["append"] = beside.Append(ctx, testSite, diary("third", 1), testOptions(3))
	_, _, refusals["file"] = beside.PutFile(ctx, strings.NewReader("x"), 10)
	_, refusals["stage"] = beside.Stage(ctx, testSite)
	_, refusals["site"] = beside.CreateSite(ctx, "other", firstDay)
	_, refusals["erase"] = beside.Erase(ctx, testSite, redaction("r"), 1, false, testOptions(4))
	for what, err := range refusals {
		if !errors.Is(err, ErrReadOnly) {
			t.Errorf("%s on a store opened to read: %v", what, err)
		}
	}
	if _, err := beside.reader.Exec(`INSERT INTO site VALUES ('x', 0, 1, 0, zeroblob(32))`); err == nil {
		t.Error("a reading connection wrote")
	}
}

// TestHolderProcess is run by TestLockOfAnotherProcess in a process of its own.
func TestHolderProcess(t *testing.T) {
	dir := os.Getenv("STORE_HOLD")
	if dir == "" {
		t.Skip("run by TestLockOfAnotherProcess")
	}
	s, err := Open(dir, Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	fmt.Println("held")
	var b [1]byte
	_, _ = os.Stdin.Read(b[:]) // until the parent closes it
}

func TestLockOfAnotherProcess(t *testing.T) {
	s := withSite(t)
	dir := s.Dir()
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	child := exec.Command(os.Args[0], "-test.run=^TestHolderProcess$")
	child.Env = append(os.Environ(), "STORE_HOLD="+dir)
	in, err := child.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := child.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := child.Start(); err != nil {
		t.Fatal(err)
	}
	var b [4]byte
	if _, err := out.Read(b[:]); err != nil || string(b[:]) != "held" {
		t.Fatalf("the other process: %q, %v", b, err)
	}
	_, err = Open(dir, Options{})
	if !errors.Is(err, ErrInUse) || !strings.Contains(err.Error(), fmt.Sprint(child.Process.Pid)) {
		t.Errorf("held elsewhere: %v", err)
	}
	in.Close()
	if err := child.Wait(); err != nil {
		t.Fatal(err)
	}
	open(t, dir, Options{})
}

func TestSchemaIsAsserted(t *testing.T) {
	tests := []struct {
		name, do string
		want     error
	}{
		{"newer schema", `INSERT INTO goose_db_version (version_id, is_applied) VALUES (9999, 1)`, ErrNewerSchema},
		{"trigger gone", `DROP TRIGGER entry_keeps`, ErrDamaged},
		{"trigger loosened", `DROP TRIGGER entry_stays; CREATE TRIGGER entry_stays BEFORE DELETE ON entry WHEN 0 BEGIN SELECT 1; END`, ErrDamaged},
		{"table added", `CREATE TABLE extra (x)`, ErrDamaged},
		{"index gone", `DROP INDEX entry_id`, ErrDamaged},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := withSite(t)
			s.Close()
			if _, err := raw(t, s.Dir()).Exec(tt.do); err != nil {
				t.Fatal(err)
			}
			for _, readOnly := range []bool{false, true} {
				if _, err := Open(s.Dir(), Options{ReadOnly: readOnly}); !errors.Is(err, tt.want) {
					t.Errorf("read only %v: got %v, want %v", readOnly, err, tt.want)
				}
			}
		})
	}
}

// A directory of the schema before is not read as it is, and is brought up by
// opening it once for writing.
func TestOlderSchemaIsBroughtUp(t *testing.T) {
	s := withSite(t)
	s.Close()
	if _, err := raw(t, s.Dir()).Exec(`DROP TABLE spool; DROP TABLE logger; DROP TABLE feed; DELETE FROM goose_db_version WHERE version_id >= 2`); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(s.Dir(), Options{ReadOnly: true}); !errors.Is(err, ErrOlderSchema) {
		t.Errorf("got %v", err)
	}
	s = open(t, s.Dir(), Options{Now: fixedTime})
	if _, err := s.FeedOf(ctx, "officer"); !errors.Is(err, ErrNotFound) {
		t.Errorf("brought up, it answers %v", err)
	}
}

func TestPragmas(t *testing.T) {
	s := withSite(t)
	for _, tt := range []struct {
		name string
		db   *sql.DB
		want map[string]string
	}{
		{"writer", s.writer, map[string]string{"journal_mode": "wal", "synchronous": "2", "foreign_keys": "1", "secure_delete": "1", "query_only": "0", "busy_timeout": "5000"}},
		{"reader", s.reader, map[string]string{"journal_mode": "wal", "foreign_keys": "1", "query_only": "1", "busy_timeout": "5000"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			for pragma, want := range tt.want {
				var got string
				if err := tt.db.QueryRow("PRAGMA " + pragma).Scan(&got); err != nil || got != want {
					t.Errorf("%s = %q, %v; want %q", pragma, got, err, want)
				}
			}
		})
	}
}

func TestOddPathNames(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a b#c?d%20é")
	s := open(t, dir, Options{Create: true})
	if _, err := s.CreateSite(ctx, testSite, firstDay); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(dir, DatabaseName)); err != nil {
		t.Error(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	open(t, dir, Options{})
}

func TestSites(t *testing.T) {
	s := withSite(t)
	if _, err := s.CreateSite(ctx, testSite, firstDay); !errors.Is(err, ErrSiteExists) {
		t.Errorf("the same site again: %v", err)
	}
	for _, bad := range []string{"", "Hollin", "a/b", "../x", "-a", "a-", strings.Repeat("a", 65)} {
		if _, err := s.CreateSite(ctx, bad, firstDay); err == nil {
			t.Errorf("site id %q was taken", bad)
		}
	}
	if _, err := s.CreateSite(ctx, "another", firstDay.Add(1234567*time.Nanosecond)); err != nil {
		t.Fatal(err)
	}
	mustAppend(t, s, diary("a", 2), testOptions(1))
	if _, err := s.Append(ctx, "another", diary("a", 1), testOptions(1)); err != nil {
		t.Errorf("the same id in another site's book: %v", err)
	}
	sites, err := s.Sites(ctx)
	if err != nil || len(sites) != 2 || sites[0].ID != "another" || sites[1].ID != testSite {
		t.Fatalf("sites: %+v, %v", sites, err)
	}
	if got := sites[0].Created; !got.Equal(firstDay.Add(time.Millisecond)) {
		t.Errorf("created %s", got)
	}
	if sites[1].Seq != 2 || sites[0].Seq != 1 {
		t.Errorf("heads: %d and %d", sites[1].Seq, sites[0].Seq)
	}
	if _, err := s.Site(ctx, "none"); !errors.Is(err, ErrNoSite) {
		t.Errorf("unknown site: %v", err)
	}
}
