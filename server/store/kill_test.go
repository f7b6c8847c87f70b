package store

import (
	"bufio"
	"errors"
	"flag"
	"fmt"
	"math"
	"math/rand"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
)

var killN = flag.Int("kill.n", 12, "how many times TestKilledAtAnyInstant kills an importing process")

// An import of the killed process: killBatch diary lines, one original file,
// readings of two channels and the import entry that shows them, in one append.
const (
	killBatch    = 1000
	killReadings = 4 * 1440
	killImports  = 6
)

func killDrafts(i int, original book.Hash) []book.Draft {
	drafts := diary(fmt.Sprint("batch ", i), killBatch)
	imp := importDraft(fmt.Sprint("import ", i), original)
	return append(drafts[:killBatch/2:killBatch/2], append([]book.Draft{imp}, drafts[killBatch/2:]...)...)
}

// runImport does import i the way a program does: file, readings, entries.
func runImport(s *Store, i int) (Result, error) {
	original, _, err := s.PutFile(ctx, strings.NewReader(strings.Repeat(fmt.Sprint("line of ", i, "\n"), 3000)), 1<<20)
	if err != nil {
		return Result{}, err
	}
	st, err := s.Stage(ctx, testSite)
	if err != nil {
		return Result{}, err
	}
	for _, channel := range []string{"N1", "N2"} {
		if err := st.Put(ctx, channel, minutes(firstDay, killReadings)); err != nil {
			return Result{}, err
		}
	}
	drafts := killDrafts(i, original)
	return s.Append(ctx, testSite, drafts, AppendOptions{Now: fixedTime, Import: map[book.ID]*Staging{drafts[killBatch/2].ID: st}})
}

// TestKilledProcess is run by TestKilledAtAnyInstant in a process of its own.
// It tells where it stands, a line at a time, and ends by being killed or when
// all imports are in.
func TestKilledProcess(t *testing.T) {
	dir := os.Getenv("STORE_KILL")
	if dir == "" {
		t.Skip("run by TestKilledAtAnyInstant")
	}
	tell := func(words ...any) { _, _ = os.Stdout.WriteString("@" + fmt.Sprintln(words...)) }
	s, err := Open(dir, Options{OrphanAge: -1})
	if err != nil {
		t.Fatal(err)
	}
	for i := range killImports {
		if _, err := s.ByID(ctx, testSite, importDraft(fmt.Sprint("import ", i)).ID); err == nil {
			continue // so that every transaction writes
		}
		s.trace = func(stage string) { tell(stage, i) }
		tell("importing", i)
		if _, err := runImport(s, i); err != nil {
			t.Fatal(err)
		}
	}
	tell("done", killImports)
}

// killed says how a killed process stood.
type killed struct {
	stage        string        // last stage told
	acknowledged int           // imports whose commit was told
	lasted       time.Duration // from its first import to its end
}

// run starts the importing process and kills it a while after its first import
// began or, with early, after it was started.
func run(t *testing.T, dir string, after time.Duration, early bool) killed {
	t.Helper()
	child := exec.Command(os.Args[0], "-test.run=^TestKilledProcess$", "-test.timeout=2m")
	child.Env = append(os.Environ(), "STORE_KILL="+dir)
	out, err := child.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := child.Start(); err != nil {
		t.Fatal(err)
	}
	k := killed{stage: "opening"}
	started := early
	if early { // opening takes a fraction of what the imports take
		time.AfterFunc(after/4, func() { _ = child.Process.Kill() })
	}
	var begun time.Time
	said := bufio.NewScanner(out)
	var other []string
	for said.Scan() {
		stage, told := strings.CutPrefix(said.Text(), "@")
		if !told {
			other = append(other, said.Text())
			continue
		}
		var i int
		if _, err := fmt.Sscan(stage, &k.stage, &i); err != nil {
			continue // the last line, cut
		}
		if k.stage == "committed" {
			k.acknowledged = i + 1
		}
		if begun.IsZero() {
			begun = time.Now()
		}
		if !started {
			started = true
			time.AfterFunc(after, func() { _ = child.Process.Kill() })
		}
	}
	k.lasted = time.Since(begun)
	err = child.Wait()
	var exit *exec.ExitError
	if err != nil && (!errors.As(err, &exit) || exit.ExitCode() > 0) {
		t.Fatalf("the importing process failed by itself: %v\n%s", err, strings.Join(other, "\n"))
	}
	return k
}

// TestKilledAtAnyInstant imports in a process that is killed at random
// instants, and after each looks for a whole book: every import is there with
// all its entries, readings and its file, or not at all; what was acknowledged
// is there; importing again adds what is missing and no more.
func TestKilledAtAnyInstant(t *testing.T) {
	random := rand.New(rand.NewSource(20260406))
	stages := map[string]int{}
	whole := run(t, emptyBook(t), time.Hour, false) // how long the imports take on this machine
	if whole.stage != "done" {
		t.Fatalf("the imports ended in %s", whole.stage)
	}
	dir, lost, rounds := "", 0, 0
	for n := range *killN {
		if dir == "" {
			dir = emptyBook(t)
			rounds++
		}
		k := run(t, dir, time.Duration(random.Int63n(int64(whole.lasted))), n%6 == 5)
		stages[k.stage]++
		s, err := Open(dir, Options{OrphanAge: -1, Now: func() time.Time { return time.Now().Add(time.Hour) }})
		if err != nil {
			t.Fatalf("after kill %d (%s): %v", n, k.stage, err)
		}
		there := wholeImports(t, s)
		if there < k.acknowledged {
			t.Errorf("kill %d (%s): %d imports acknowledged, %d there", n, k.stage, k.acknowledged, there)
			lost++
		}
		if there == killImports {
			importAgain(t, s)
			dir = ""
		}
		s.Close()
	}
	inside := stages["begun"] + stages["sealed"]
	t.Logf("%d kills over %d data directories: %d inside the transaction (%d of them between the last row and the commit's return), %d while staging, %d just after a commit, %d in opening, %d after the end; %d acknowledged imports lost",
		*killN, rounds, inside, stages["sealed"], stages["importing"], stages["committed"], stages["opening"], stages["done"], lost)
	if *killN >= 200 && inside < 50 {
		t.Errorf("only %d kills fell inside the transaction; 50 are wanted", inside)
	}
}

func emptyBook(t *testing.T) string {
	t.Helper()
	s := withSite(t)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return s.Dir()
}

// wholeImports checks that imports 0 … n-1 are there whole and nothing else,
// and returns n.
func wholeImports(t *testing.T, s *Store) int {
	t.Helper()
	r := mustSound(t, s)
	if r.Entries%(killBatch+1) != 0 {
		t.Fatalf("half an import: %d entries", r.Entries)
	}
	n := r.Entries / (killBatch + 1)
	if r.Imports != n || r.Readings != int64(n*2*killReadings) || r.Files != n {
		t.Errorf("%d imports of entries, %d with %d readings, %d files", n, r.Imports, r.Readings, r.Files)
	}
	for i := range n {
		imp := int64(i*(killBatch+1) + killBatch/2 + 1)
		blocks, err := s.Blocks(ctx, testSite, imp, "N2", math.MinInt64, math.MaxInt64)
		if err != nil || flat(blocks) == "" {
			t.Errorf("readings of import %d: %v", i, err)
		}
	}
	if left := stagedRows(t, s); left != 0 {
		t.Errorf("%d staged rows left", left)
	}
	if files := names(t, s, ""); len(files) != n {
		t.Errorf("%d files on the disk for %d imports", len(files), n)
	}
	return n
}

func importAgain(t *testing.T, s *Store) {
	t.Helper()
	for i := range killImports {
		r, err := runImport(s, i)
		if err != nil || len(r.Entries) != 0 || len(r.Already) != killBatch+1 {
			t.Errorf("importing %d again: %d new, %d already, %v", i, len(r.Entries), len(r.Already), err)
		}
	}
	if n := wholeImports(t, s); n != killImports {
		t.Errorf("%d imports", n)
	}
}
