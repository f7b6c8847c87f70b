package server

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/swardbook/swardbook/compliance/monitoring"
)

func TestWatchedFolder(t *testing.T) {
	data, left := t.TempDir(), t.TempDir()
	pushedSite(t, data)
	now := afterBatch(100)
	h, err := openAt(data, &now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = h.Close() })
	w, err := NewWatch(left, h.Loggers)
	if err != nil {
		t.Fatal(err)
	}
	look := func() {
		t.Helper()
		if err := w.Look(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	look() // makes the folder of the logger
	write := func(name, text string) {
		t.Helper()
		if err := os.WriteFile(filepath.Join(left, "noise-nm9", name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	there := func(name string) bool {
		_, err := os.Stat(filepath.Join(left, "noise-nm9", filepath.FromSlash(name)))
		return err == nil
	}
	readings := func() (n int) {
		t.Helper()
		snap, err := h.App.Current(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		blocks, err := snap.Record.Readings("NM9-LAEQ", pushBegins, now)
		if err != nil {
			t.Fatal(err)
		}
		for _, b := range blocks {
			n += b.Len()
		}
		return n
	}

	write("day.csv", batchText(0))
	look()
	if !there("day.csv") {
		t.Fatal("a file is taken before it has come to rest")
	}
	write("day.csv", batchText(0)+strings.TrimPrefix(batchText(1), "time,laeq\n"))
	look() // it has grown
	if !there("day.csv") || readings() != 0 {
		t.Fatal("a file that grows is taken")
	}
	look()
	if there("day.csv") || !there("taken/day.csv") || readings() != 2*pushBatch {
		t.Fatalf("%d readings", readings())
	}

	write("day.csv", batchText(0)+strings.TrimPrefix(batchText(1), "time,laeq\n")) // the same again, as after a crash
	write("bad.csv", "time,laeq\n2026-04-30T12:00:00Z,50\n2026-04-30T12:01:00Z,loud\n")
	write("other.csv", strings.ReplaceAll(batchText(0), "40.0", "99.0"))
	write("growing.csv.part", batchText(2))
	write(".hidden.csv", batchText(2))
	look()
	look()
	if there("day.csv") || !there("taken/day (2).csv") || readings() != 2*pushBatch {
		t.Errorf("the same file again: %d readings", readings())
	}
	if !there("growing.csv.part") || !there(".hidden.csv") {
		t.Error("a file that is still written was touched")
	}
	for name, words := range map[string]string{"bad.csv": "bad.csv:3: column laeq", "other.csv": "one reading differs from what is on file"} {
		why, err := os.ReadFile(filepath.Join(left, "noise-nm9", "refused", name+".why.txt"))
		if err != nil || !there("refused/"+name) || !strings.Contains(string(why), words) {
			t.Errorf("%s: %s %v", name, why, err)
		}
	}
	snap, err := h.App.Current(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	list := snap.View.Current(monitoring.ImportKind)
	if e := list[len(list)-1]; e.Body.Text("name") != "day.csv" || e.By != "officer" {
		t.Errorf("the entry says %q by %q", e.Body.Text("name"), e.By)
	}
	if _, err := NewWatch(filepath.Join(left, "none"), h.Loggers); err == nil {
		t.Error("a folder that is not there is watched")
	}
}
