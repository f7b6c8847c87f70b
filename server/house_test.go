package server

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/server/app"
)

var (
	realInputs = os.DirFS("../testdata/sites/real-inputs")
	judgedAt   = time.Date(2026, time.April, 30, 0, 0, 0, 0, time.UTC)
	officer    = app.Actor{Person: "p-officer", Role: app.Officer}
	admin      = app.Actor{Person: "p-admin", Role: app.Administrator}
)

// kept opens a data directory with the real inputs imported.
func keptBook(t *testing.T) *House {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "data")
	done, err := Import(context.Background(), realInputs, dir, Options{})
	if err != nil || done.Added == 0 {
		t.Fatal(done, err)
	}
	h, err := Open(dir, Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = h.Close() })
	return h
}

func TestImportTwiceAddsNothing(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "data")
	first, err := Import(context.Background(), realInputs, dir, Options{})
	if err != nil {
		t.Fatal(err)
	}
	again, err := Import(context.Background(), realInputs, dir, Options{})
	if err != nil || again.Added != 0 || again.Already != first.Added {
		t.Fatalf("added %d, there already %d of %d: %v", again.Added, again.Already, first.Added, err)
	}
}

func TestImportOfABadFolderSavesNothing(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "data")
	bad := fstest.MapFS{"site.yaml": {Data: []byte("id: x\n")}}
	if _, err := Import(context.Background(), bad, dir, Options{}); err == nil {
		t.Fatal("taken")
	}
	if _, err := os.Stat(dir); !errors.Is(err, os.ErrNotExist) {
		t.Fatalf("something was left behind: %v", err)
	}
}

// A kept book is judged as the folder it came from.
func TestFolderAndBookAreJudgedAlike(t *testing.T) {
	folder, err := JudgeFolder(realInputs, Asked{}, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	kept, err := keptBook(t).Judge(context.Background(), Asked{At: &judgedAt})
	if err != nil {
		t.Fatal(err)
	}
	if len(folder.Judgements) != len(kept.Judgements) || len(kept.Judgements) == 0 {
		t.Fatalf("%d judgements of the folder, %d of the book", len(folder.Judgements), len(kept.Judgements))
	}
	for i := range kept.Judgements {
		a, b := folder.Judgements[i], kept.Judgements[i]
		if a.Condition != b.Condition || a.Verdict != b.Verdict || a.Sentence != b.Sentence {
			t.Errorf("%s: %v %q, %s: %v %q", a.Condition, a.Verdict, a.Sentence, b.Condition, b.Verdict, b.Sentence)
		}
	}
}

func TestFolderWithoutReceiptsIsNotJudgedAsKnown(t *testing.T) {
	if _, err := JudgeFolder(realInputs, Asked{KnownAt: &judgedAt}, time.Now); !errors.Is(err, ErrNoReceipts) {
		t.Fatalf("got %v", err)
	}
}

func TestPackIsMadeListedAndVerified(t *testing.T) {
	ctx := context.Background()
	h := keptBook(t)
	packs, err := OpenPacks(h, "test")
	if err != nil {
		t.Fatal(err)
	}
	made, err := packs.Make(ctx, officer, judgedAt, func(float64, string) {})
	if err != nil {
		t.Fatal(err)
	}
	list, err := packs.List(ctx)
	if err != nil || len(list) != 1 || list[0].Name != made.Name || list[0].Fingerprint == "" {
		t.Fatalf("listed %+v, %v", list, err)
	}
	out, err := packs.Verify(ctx, made.Name, func(float64, string) {})
	if err != nil || !strings.Contains(strings.Join(out.Lines, "\n"), "judgements the same") {
		t.Fatalf("%v, %v", out.Lines, err)
	}
	for _, name := range []string{"../data.zip", "none.zip", "a/b.zip", ""} {
		if _, _, err := packs.Open(name); err == nil {
			t.Errorf("%q was opened", name)
		}
	}
}

func TestOneBookOnePack(t *testing.T) {
	h := keptBook(t)
	packs, err := OpenPacks(h, "test")
	if err != nil {
		t.Fatal(err)
	}
	var a, b bytes.Buffer
	for _, w := range []*bytes.Buffer{&a, &b} {
		if _, err := packs.Write(context.Background(), w, judgedAt, func(float64, string) {}); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Fatal("the same book, instant and key gave two packs")
	}
}

// What was erased leaves the chain whole; what rested on it cannot be judged,
// and says by which entry it was erased.
func TestErasure(t *testing.T) {
	ctx := context.Background()
	h := keptBook(t)
	entries, err := h.App.Book.Entries(ctx)
	if err != nil {
		t.Fatal(err)
	}
	var act *book.Entry
	for _, e := range entries {
		if e.Kind == "diary.1" {
			act = e
		}
	}
	what := app.Erasure{What: "body", Ground: "request of the person named", Reason: "a name stood in it"}
	if _, err := h.App.Erase(ctx, officer, act.ID, what); app.CodeOf(err) != app.Forbidden {
		t.Fatalf("an officer erased: %v", err)
	}
	done, err := h.App.Erase(ctx, admin, act.ID, what)
	if err != nil {
		t.Fatal(err)
	}
	report, err := h.Judge(ctx, Asked{At: &judgedAt})
	if err != nil {
		t.Fatal(err)
	}
	found := false
	for i := range report.Judgements {
		j := &report.Judgements[i]
		if j.Permit != "RI/HOURS-EW" {
			continue
		}
		found = true
		if j.Verdict != judge.CannotBeJudged || !strings.Contains(j.Sentence, "erased by entry") {
			t.Errorf("%v: %s", j.Verdict, j.Sentence)
		}
	}
	if !found {
		t.Error("the condition is not judged at all")
	}
	sound, err := h.Verify(ctx)
	if err != nil || !sound.Sound() || sound.Erased != 1 {
		t.Fatalf("%+v, %v", sound, err)
	}
	packs, err := OpenPacks(h, "test")
	if err != nil {
		t.Fatal(err)
	}
	made, err := packs.Make(ctx, officer, judgedAt, func(float64, string) {})
	if err != nil {
		t.Fatal(err)
	}
	if out, err := packs.Verify(ctx, made.Name, func(float64, string) {}); err != nil || !strings.Contains(strings.Join(out.Lines, "\n"), "judgements the same") {
		t.Fatalf("%v, %v", out.Lines, err)
	}
	_ = done
}
