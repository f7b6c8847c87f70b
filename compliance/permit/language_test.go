package permit

import (
	"os"
	"strings"
	"testing"
)

// TestLanguagePage reads every example of LANGUAGE.md. A block of yaml alone is
// a whole notice, which must be sound as well; "yaml condition" is a whole
// condition of clause 1; "yaml windows" lists windows; under "yaml measured" and "yaml dated" every line is one key in
// an otherwise usual condition.
func TestLanguagePage(t *testing.T) {
	b, err := os.ReadFile("LANGUAGE.md")
	if err != nil {
		t.Fatal(err)
	}
	page := string(b)
	q := quantities(t)
	seen := map[string]int{}
	parts := strings.Split(page, "\n```")
	for i := 1; i < len(parts); i += 2 {
		info, block, _ := strings.Cut(parts[i], "\n")
		seen[info]++
		switch info {
		case "yaml":
			n := mustRead(t, block+"\n")
			if faults := Check(n, q, nil); len(faults) > 0 {
				t.Errorf("%v\n%s", faults, block)
			}
			roundTrip(t, n)
		case "yaml condition":
			n := mustRead(t, oneClause("clause: \"1\"\n"+block))
			if faults := Check(n, q, nil); len(faults) > 0 {
				t.Errorf("%v\n%s", faults, block)
			}
			roundTrip(t, n)
		case "yaml measured", "yaml dated":
			usual := noise
			if info == "yaml dated" {
				usual = "clause: \"1\"\nkind: dated\ndone: {subject: site.paper}\n"
			}
			for _, l := range strings.Split(block, "\n") {
				key, value, _ := strings.Cut(l, ": ")
				roundTrip(t, mustRead(t, oneClause(with(usual, key, value))))
			}
		case "yaml windows":
			for _, p := range strings.Split(strings.NewReplacer("[", "", "]", "", "\n", ", ").Replace(block), ", ") {
				roundTrip(t, mustRead(t, oneClause(with(noise, "window", p))))
			}
		default:
			t.Errorf("block of unknown kind %q", info)
		}
	}
	if seen["yaml"] < 2 || seen["yaml condition"] < 6 || seen["yaml measured"] < 7 || seen["yaml windows"] != 1 || seen["yaml dated"] < 1 {
		t.Errorf("blocks found: %v", seen)
	}
	for _, words := range [][]string{
		everyKey(), plain(kindWords()), plain(statistics),
		plain([]Treatment{Judged, Attested, Information, NotEntered}), plain([]Severity{AsLimit, AsBenchmark, AsActionLevel, AsInformation}),
		plain([]Missing{CannotBeJudged, GapIsBreach, NotDone, CountGoesOn}), plain([]Straddle{AtStart, SplitWindow, ByOwnTime}),
		plain([]Edge{WholeWindows, CutAtEdge}), plain([]Join{AllOf, AnyOf}), plain([]Nondetect{Bracket, AsZero, AsHalf, AsFull, Estimated}),
		plain([]Counting{After, BeginningWith, ClearDays}), plain([]Roll{NoRoll, NextWorking, PrevWorking}), plain([]Along{Frequency, Distance}),
		termUnits, {"language", "permit", "clauses", "conditions", "removes", "reference", "type", "issued_by", "granted", "revision", "varies",
			"effective", "zone", "holidays", "number", "text", "treated", "role", "checked_by", "each", "any", "mean", "buffer", "window end", "grant",
			"first", "whichever", "earlier", "later", "before", "closed", "ignored", "only", "complement of"},
	} {
		for _, w := range words {
			if !strings.Contains(page, w) {
				t.Errorf("LANGUAGE.md does not name %q", w)
			}
		}
	}
	if n := strings.Count(page, "\n"); n > 250 {
		t.Errorf("LANGUAGE.md has %d lines; 250 are enough", n)
	}
}
