package store

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/series"
)

// stage puts blocks of channels in an import and appends its entry.
func stage(t testing.TB, s *Store, name string, channels map[string][]*series.Block) *book.Entry {
	t.Helper()
	st, err := s.Stage(ctx, testSite)
	if err != nil {
		t.Fatal(err)
	}
	for channel, blocks := range channels {
		if err := st.Put(ctx, channel, blocks...); err != nil {
			t.Fatal(err)
		}
	}
	d := importDraft(name)
	o := testOptions(1)
	o.Import = map[book.ID]*Staging{d.ID: st}
	return mustAppend(t, s, []book.Draft{d}, o).Entries[0]
}

func TestReadingsComeBack(t *testing.T) {
	from := time.Date(2026, 3, 28, 22, 30, 0, 0, time.UTC)
	dense := minutes(from, 20_000)
	dense.Span = 5_000
	for i := range dense.Start { // every 5 s, with a gap and marks
		dense.Start[i] = from.UnixMilli() + int64(i)*5_000
		if i > 15_000 {
			dense.Start[i] += 7_200_000
		}
	}
	for i := 100; i < 200; i++ {
		dense.Coefficient[i], dense.Mark[i] = 0, series.Wind
	}
	old := minutes(time.Date(1969, 12, 30, 23, 50, 0, 0, time.UTC), 30) // before the epoch
	tests := []struct {
		name   string
		blocks []*series.Block
		chunks int
	}{
		{"a day and a bit", []*series.Block{minutes(from, 1440)}, 2},
		{"every five seconds, by hour where dense", []*series.Block{dense}, 1 + 23 + 1},
		{"before 1970", []*series.Block{old}, 2},
		{"one reading", []*series.Block{minutes(from, 1)}, 1},
		{"several blocks", []*series.Block{minutes(from, 10), minutes(from.Add(time.Hour), 10)}, 2},
		{"instants", []*series.Block{{Start: []int64{5, 9}, Places: 2, Coefficient: []int64{-1, 700}, Mark: []series.Mark{series.Below, series.Valid}}}, 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := withSite(t)
			e := stage(t, s, "x", map[string][]*series.Block{"C": tt.blocks})
			got, err := s.Blocks(ctx, testSite, e.Seq, "C", math.MinInt64, math.MaxInt64)
			if err != nil {
				t.Fatal(err)
			}
			if len(got) != tt.chunks {
				t.Errorf("%d chunks, want %d", len(got), tt.chunks)
			}
			if a, b := flat(got), flat(tt.blocks); a != b {
				t.Errorf("readings differ")
			}
			for _, b := range got {
				if b.Import != e.Seq || b.Span != tt.blocks[0].Span || b.Places != tt.blocks[0].Places {
					t.Errorf("block %+v", b)
				}
			}
			mustSound(t, s)
		})
	}
}

func flat(blocks []*series.Block) string {
	var w strings.Builder
	for _, b := range blocks {
		for i := range b.Start {
			fmt.Fprintf(&w, "%d %d %d\n", b.Start[i], b.Coefficient[i], b.Mark[i])
		}
	}
	return w.String()
}

func TestBlocksOfASpan(t *testing.T) {
	s := withSite(t)
	day := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	e := stage(t, s, "x", map[string][]*series.Block{"C": {minutes(day, 5*1440)}, "D": {minutes(day, 10)}})
	at := func(d, h, m int) int64 {
		return day.AddDate(0, 0, d).Add(time.Duration(h*60+m) * time.Minute).UnixMilli()
	}
	tests := []struct {
		name     string
		from, to int64
		days     []int
	}{
		{"all", at(-9, 0, 0), at(9, 0, 0), []int{0, 1, 2, 3, 4}},
		{"one day exactly", at(1, 0, 0), at(2, 0, 0), []int{1}},
		{"over midnight", at(1, 23, 0), at(2, 7, 0), []int{1, 2}},
		{"inside one reading", at(3, 23, 59) + 10_000, at(3, 23, 59) + 20_000, []int{3}},
		{"before", at(-2, 0, 0), at(0, 0, 0), nil},
		{"after", at(5, 0, 0), at(6, 0, 0), nil},
		{"empty span between", at(2, 0, 0), at(2, 0, 0), nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			blocks, err := s.Blocks(ctx, testSite, e.Seq, "C", tt.from, tt.to)
			if err != nil {
				t.Fatal(err)
			}
			var days []int
			for _, b := range blocks {
				days = append(days, int((b.Start[0]-day.UnixMilli())/dayMs))
			}
			if !slices.Equal(days, tt.days) {
				t.Errorf("days %v, want %v", days, tt.days)
			}
		})
	}
	if got, err := s.Channels(ctx, testSite, e.Seq); err != nil || !slices.Equal(got, []string{"C", "D"}) {
		t.Errorf("channels %v, %v", got, err)
	}
	if got, err := s.Blocks(ctx, testSite, 77, "C", math.MinInt64, math.MaxInt64); err != nil || got != nil {
		t.Errorf("of no import: %v, %v", got, err)
	}
}

func TestStagedReadingsAreInvisible(t *testing.T) {
	s := withSite(t)
	st, err := s.Stage(ctx, testSite)
	if err != nil {
		t.Fatal(err)
	}
	if err := st.Put(ctx, "C", minutes(firstDay, 100)); err != nil {
		t.Fatal(err)
	}
	seen := 0
	count := func() int {
		seen = 0
		if err := s.Chunks(ctx, testSite, func(Chunk) error { seen++; return nil }); err != nil {
			t.Fatal(err)
		}
		return seen
	}
	if count() != 0 {
		t.Error("staged readings are seen")
	}
	d, o := importDraft("x"), testOptions(1)
	o.Import = map[book.ID]*Staging{d.ID: st}
	bad := diary("bad", 1)[0]
	bad.Files = []book.Hash{{9}}
	if _, err := s.Append(ctx, testSite, []book.Draft{d, bad}, o); !errors.Is(err, ErrNoFile) || count() != 0 {
		t.Errorf("a refused append: %v, %d chunks seen", err, seen)
	}
	mustAppend(t, s, []book.Draft{d}, o) // the same staging, now good
	if count() != 1 {
		t.Errorf("%d chunks seen, want 1", seen)
	}
	if err := st.Put(ctx, "C", minutes(firstDay.AddDate(0, 0, 1), 10)); !errors.Is(err, ErrStaging) {
		t.Errorf("adding to an import made: %v", err)
	}
	other := importDraft("y")
	if _, err := s.Append(ctx, testSite, []book.Draft{other}, AppendOptions{Now: fixedTime, Import: map[book.ID]*Staging{other.ID: st}}); !errors.Is(err, ErrStaging) {
		t.Errorf("the same readings for another entry: %v", err)
	}

	again, err := s.Stage(ctx, testSite)
	if err != nil {
		t.Fatal(err)
	}
	if err := again.Put(ctx, "C", minutes(firstDay, 100)); err != nil {
		t.Fatal(err)
	}
	o.Import[d.ID] = again
	if r := mustAppend(t, s, []book.Draft{d}, o); len(r.Already) != 1 || count() != 1 {
		t.Errorf("the import again: %+v, %d chunks", r, seen)
	}
	if n := stagedRows(t, s); n != 0 {
		t.Errorf("%d stagings left", n)
	}
}

func stagedRows(t *testing.T, s *Store) int {
	t.Helper()
	var n int
	err := s.reader.QueryRow(`SELECT (SELECT count(*) FROM staging WHERE seq IS NULL) +
		(SELECT count(*) FROM chunk WHERE staging NOT IN (SELECT id FROM staging WHERE seq IS NOT NULL))`).Scan(&n)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func TestStartSweepsWhatWasStaged(t *testing.T) {
	s := withSite(t)
	stage(t, s, "kept", map[string][]*series.Block{"C": {minutes(firstDay, 5000)}})
	st, err := s.Stage(ctx, testSite)
	if err != nil {
		t.Fatal(err)
	}
	if err := st.Put(ctx, "C", minutes(firstDay, 5000)); err != nil {
		t.Fatal(err)
	}
	if n := stagedRows(t, s); n < 5 {
		t.Fatalf("%d rows staged", n)
	}
	s.Close()
	s = open(t, s.Dir(), Options{})
	if n := stagedRows(t, s); n != 0 {
		t.Errorf("%d rows left", n)
	}
	if r := mustSound(t, s); r.Readings != 5000 {
		t.Errorf("%d readings", r.Readings)
	}
}

func TestPutRefusesBlocks(t *testing.T) {
	good := func() *series.Block { return minutes(firstDay, 10) }
	change := func(f func(*series.Block)) *series.Block { b := good(); f(b); return b }
	tests := []struct {
		name   string
		blocks []*series.Block
	}{
		{"nil", []*series.Block{nil}},
		{"empty", []*series.Block{{}}},
		{"columns of unlike length", []*series.Block{change(func(b *series.Block) { b.Mark = b.Mark[:9] })}},
		{"a start twice", []*series.Block{change(func(b *series.Block) { b.Start[4] = b.Start[3] })}},
		{"falling", []*series.Block{change(func(b *series.Block) { b.Start[4] = 0 })}},
		{"the same block twice", []*series.Block{good(), good()}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := withSite(t)
			st, err := s.Stage(ctx, testSite)
			if err != nil {
				t.Fatal(err)
			}
			if err := st.Put(ctx, "C", tt.blocks...); !errors.Is(err, ErrStaging) {
				t.Errorf("got %v", err)
			}
			if err := st.Put(ctx, "C", good()); err != nil {
				t.Errorf("a good block after it: %v", err)
			}
			if err := st.Drop(ctx); err != nil || stagedRows(t, s) != 0 {
				t.Errorf("dropping: %v", err)
			}
		})
	}
}

func TestChunksInOrder(t *testing.T) {
	run := func() []string {
		s := withSite(t)
		for i := range 3 {
			stage(t, s, fmt.Sprint(i), map[string][]*series.Block{"B": {minutes(firstDay, 3000)}, "A": {minutes(firstDay, 10)}, "Z": {minutes(firstDay, 1)}})
		}
		var got []string
		err := s.Chunks(ctx, testSite, func(c Chunk) error {
			if sha256.Sum256(c.Data) != c.SHA256 {
				t.Error("a sum does not fit")
			}
			got = append(got, fmt.Sprintf("%d %s %d %s", c.Import, c.Channel, c.K, c.SHA256))
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	one, two := run(), run()
	if len(one) != 15 || !slices.IsSorted(one) || !slices.Equal(one, two) {
		t.Errorf("chunks\n%s", strings.Join(one, "\n"))
	}
}

func TestDamagedReadingsAreNotHandedOut(t *testing.T) {
	s := open(t, full(t), Options{})
	db := raw(t, s.Dir())
	if _, err := db.Exec(`DROP TRIGGER chunk_keeps; UPDATE chunk SET data = CAST(data || x'00' AS BLOB) WHERE k = 2 AND channel = 'N1-LAEQ'`); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Blocks(ctx, testSite, 5, "N1-LAEQ", math.MinInt64, math.MaxInt64); !errors.Is(err, ErrDamaged) {
		t.Errorf("blocks: %v", err)
	}
	if err := s.Chunks(ctx, testSite, func(Chunk) error { return nil }); !errors.Is(err, ErrDamaged) {
		t.Errorf("chunks: %v", err)
	}
	if b, err := s.Blocks(ctx, testSite, 5, "N2-LAEQ", math.MinInt64, math.MaxInt64); err != nil || len(b) != 3 {
		t.Errorf("another channel: %d blocks, %v", len(b), err)
	}
}
