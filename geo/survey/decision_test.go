package survey

import (
	"reflect"
	"testing"
)

func TestDecided(t *testing.T) {
	read, clean, unknown, err := Decided("PENZD", []Decision{
		{12, "leave out"}, {13, "leave out, a slip"}, {0, "conflicts: last"}, {0, "unit: US survey ft"}, {0, "surface: as built: A"}, {0, "layers: A, B"},
		{0, "boundary layer: FENCE"}, {0, "classes: 2, 8"}, {0, "thin: 0.5"}, {7, "flagged"}, {0, "noted"},
	})
	want := Options{Order: "PENZD", Unit: USSurveyFoot, Surface: "as built: A", Layers: []string{"A", "B"}, BoundaryLayer: "FENCE", Classes: []int{2, 8}, ThinM: 0.5}
	if err != nil || !reflect.DeepEqual(read, want) {
		t.Errorf("read %+v, %v", read, err)
	}
	if !reflect.DeepEqual(clean, CleanOptions{Conflicts: KeepLastRow, LeaveOut: []int{12, 13}}) {
		t.Errorf("clean %+v", clean)
	}
	if len(unknown) != 2 {
		t.Errorf("not known: %v", unknown)
	}
	for _, word := range []string{"unit: rod", "unit:", "classes: ground", "thin: 0", "thin: x"} {
		if _, _, _, err := Decided("", []Decision{{0, word}}); err == nil {
			t.Errorf("%q was taken", word)
		}
	}
}
