package survey

import (
	"errors"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// t7, row by row. Source: testdata/reference/geo/README.md, the list of what
// a careful import finds.
func TestDirtySurveyRowByRow(t *testing.T) {
	s := readFile(t, reference+"t7_dirty.csv", Options{RejectBadRows: true})
	if n := len(s.Points); n != 15 {
		t.Fatalf("%d points read, want 19 rows less 4 rejected", n)
	}
	if _, _, err := Clean(s, CleanOptions{}); err == nil {
		t.Fatal("two levels at one place were accepted")
	} else {
		var ce *ConflictError
		if !errors.As(err, &ce) || len(ce.Found) != 1 || ce.Found[0].Row != 8 || ce.Found[0].Other != 6 {
			t.Fatalf("conflict: %v", err)
		}
	}
	kept, found, err := Clean(s, CleanOptions{Conflicts: KeepFirstRow})
	if err != nil {
		t.Fatal(err)
	}
	type mark struct {
		row    int
		kind   Kind
		action Action
	}
	want := []mark{
		{7, KindDuplicate, Dropped},      // P6 copies P5
		{8, KindTwoLevels, Conflict},     // P7 at P5's place, 0.2 m higher
		{10, KindNearDuplicate, Merged},  // P8 gives way to P9, first by easting
		{11, KindNoData, Rejected},       // P10 empty
		{12, KindNoData, Rejected},       // P11 NaN
		{13, KindSwappedAxes, Flagged},   // P12
		{14, KindNoData, Rejected},       // P13 -9999
		{15, KindSpike, Flagged},         // P14 5015.0
		{16, KindBadRow, Rejected},       // P15 decimal comma
		{17, KindDuplicateName, Flagged}, // P3 again
		{20, KindZeroLevel, Flagged},     // P17 0.000
		{21, KindFarOutlier, Flagged},    // P18 490 m away
	}
	all := append(slices.Clone(s.Warnings), found...)
	sortWarnings(all)
	var got []mark
	for _, w := range all {
		got = append(got, mark{w.Row, w.Kind, w.Action})
	}
	// P8 and P9 are one pair; which of the two gives way is told by its row.
	for i := range got {
		if got[i] == (mark{9, KindNearDuplicate, Merged}) {
			got[i].row = 10
		}
	}
	if !slices.Equal(got, want) {
		for _, w := range all {
			t.Logf("%+v", w)
		}
		t.Fatalf("got  %v\nwant %v", got, want)
	}
	if len(kept) != 12 {
		t.Errorf("%d points kept, want 15 less the copy, the conflict and one of the pair", len(kept))
	}
	for _, p := range kept {
		if p.Name == "P16" && p.Code != "GL,WET" {
			t.Errorf("P16 has code %q", p.Code)
		}
	}
}

func TestDirtySurveyIsStrictByDefault(t *testing.T) {
	_, err := readErr(reference+"t7_dirty.csv", Options{})
	var fe *FileError
	if !errors.As(err, &fe) || len(fe.Rows) != 1 || fe.Rows[0].Row != 16 || !strings.Contains(err.Error(), "decimal comma") {
		t.Fatalf("got %v, want line 16 with its decimal comma", err)
	}
	s := readFile(t, reference+"t7_dirty.csv", Options{DecimalComma: true})
	for _, p := range s.Points {
		if p.Name == "P15" && p.E == 430004 {
			return
		}
	}
	t.Fatal("with decimal commas P15 is E 430004.000")
}

func TestConflictRules(t *testing.T) {
	pts := []Point{{Name: "a", E: 1, N: 1, Level: 5, Row: 2}, {Name: "b", E: 1, N: 1, Level: 9, Row: 3}, {Name: "c", E: 1, N: 1.0005, Level: 7, Row: 4}, {Name: "d", E: 2, N: 2, Level: 1, Row: 5}}
	for rule, want := range map[ConflictRule]string{KeepFirstRow: "a d", KeepLastRow: "c d", RejectBoth: "d"} {
		for seed := range uint64(6) {
			s := &Survey{Points: slices.Clone(pts)}
			rand.New(rand.NewPCG(seed, 0)).Shuffle(len(s.Points), func(i, j int) { s.Points[i], s.Points[j] = s.Points[j], s.Points[i] })
			kept, found, err := Clean(s, CleanOptions{Conflicts: rule})
			if err != nil {
				t.Fatal(err)
			}
			var names []string
			for _, p := range kept {
				names = append(names, p.Name)
			}
			slices.Sort(names)
			if got := strings.Join(names, " "); got != want {
				t.Errorf("rule %s, seed %d: kept %s, want %s", rule, seed, got, want)
			}
			if len(found) != 2 {
				t.Errorf("%d findings, want 2", len(found))
			}
		}
	}
}

func TestCleanLeavesGoodSurveysAlone(t *testing.T) {
	for _, file := range []string{"t1_plane.csv", "t4_pre.csv", "t4_post.csv", "t6_pre.csv", "t6_post.csv"} {
		s := readFile(t, reference+file, Options{})
		kept, found, err := Clean(s, CleanOptions{})
		if err != nil || len(kept) != len(s.Points) || len(found) != 0 {
			t.Errorf("%s: kept %d of %d, found %v, %v", file, len(kept), len(s.Points), found, err)
		}
	}
}

func TestCleanLeavesOutByDecision(t *testing.T) {
	s := readFile(t, reference+"t1_plane.csv", Options{})
	kept, found, err := Clean(s, CleanOptions{LeaveOut: []int{2, 7}})
	if err != nil || len(kept) != 97 || len(found) != 2 || found[1].Action != Rejected {
		t.Fatalf("kept %d, found %v, %v", len(kept), found, err)
	}
}
