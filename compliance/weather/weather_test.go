package weather

import (
	"math"
	"strconv"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func clockAt(t *testing.T, text string) time.Time {
	t.Helper()
	at, err := time.Parse("2006-01-02 15:04", text)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// The depth is that of the Construction General Permit of the United States
// (2022): 0.25 in, 6.35 mm, in 24 hours.
func TestStorms(t *testing.T) {
	fall := func(text string, mm float64) Fall { return Fall{clockAt(t, text), mm} }
	for _, tt := range []struct {
		name  string
		falls []Fall
		want  []Storm
	}{
		{"just under", []Fall{fall("2026-04-06 09:00", 3), fall("2026-04-06 21:00", 3.34)}, nil},
		{"exactly the depth", []Fall{fall("2026-04-06 09:00", 3), fall("2026-04-06 21:00", 3.35)},
			[]Storm{{clockAt(t, "2026-04-06 21:00"), clockAt(t, "2026-04-06 21:00"), 6.35, 6.35, 3.35}}},
		{"24 hours apart are not within 24 hours", []Fall{fall("2026-04-06 09:00", 5), fall("2026-04-07 09:00", 5)}, nil},
		{"one that goes on is one", []Fall{fall("2026-04-06 09:00", 7), fall("2026-04-06 15:00", 2), fall("2026-04-07 08:00", 6)},
			[]Storm{{clockAt(t, "2026-04-06 09:00"), clockAt(t, "2026-04-07 08:00"), 15, 15, 7}}},
		{"one that had ended for an hour is two", []Fall{fall("2026-04-06 09:00", 7), fall("2026-04-06 15:00", 2), fall("2026-04-07 10:00", 6)},
			[]Storm{{clockAt(t, "2026-04-06 09:00"), clockAt(t, "2026-04-06 15:00"), 9, 9, 7}, {clockAt(t, "2026-04-07 10:00"), clockAt(t, "2026-04-07 10:00"), 8, 8, 6}}},
		{"two apart are two, in any order", []Fall{fall("2026-04-09 09:00", 8), fall("2026-04-06 09:00", 7)},
			[]Storm{{clockAt(t, "2026-04-06 09:00"), clockAt(t, "2026-04-06 09:00"), 7, 7, 7}, {clockAt(t, "2026-04-09 09:00"), clockAt(t, "2026-04-09 09:00"), 8, 8, 8}}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := Storms(tt.falls, 6.35, 24*time.Hour)
			if err != nil {
				t.Fatal(err)
			}
			if len(got) != len(tt.want) {
				t.Fatalf("%+v", got)
			}
			for i := range got {
				if got[i] != tt.want[i] {
					t.Errorf("%+v, want %+v", got[i], tt.want[i])
				}
			}
		})
	}
	if _, err := Storms(nil, 0, time.Hour); err == nil {
		t.Error("any rain is a storm of nothing")
	}
}

// A storm holds its depth, and no sum of the hours outside the storms reaches it.
func TestStormsAreAllThereAre(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var falls []Fall
		at := time.Date(2026, 4, 1, 0, 0, 0, 0, time.UTC)
		for range rapid.IntRange(0, 40).Draw(t, "falls") {
			at = at.Add(time.Duration(rapid.IntRange(1, 40).Draw(t, "hours")) * time.Hour)
			falls = append(falls, Fall{at, float64(rapid.IntRange(0, 60).Draw(t, "tenths")) / 10})
		}
		storms, err := Storms(falls, 6.35, 24*time.Hour)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range falls {
			sum := 0.0
			for _, o := range falls {
				if o.End.After(f.End.Add(-24*time.Hour)) && !o.End.After(f.End) {
					sum += o.MM
				}
			}
			inside := false
			for _, s := range storms {
				inside = inside || !f.End.Before(s.Crossed) && !f.End.After(s.Ended)
			}
			if inside != (math.Round(sum*1e9)/1e9 >= 6.35) {
				t.Errorf("%v mm in the day to %v, in a storm: %v", sum, f.End, inside)
			}
		}
	})
}

func TestRose(t *testing.T) {
	winds := []Wind{
		{3, 350, 1}, {3, 10, 1}, // about north: the arithmetic mean would be 180
		{6, 11.25, 1}, // on the bound: the next sector clockwise
		{0.2, math.NaN(), 1},
		{3, math.NaN(), 1}, // blew from nobody knows where: left out
	}
	r, err := RoseOf(winds, 16, 0.5, []float64{0.5, 2, 5})
	if err != nil {
		t.Fatal(err)
	}
	if r.Counted != 4 || r.Calm != 0.25 || r.Share[0][1] != 0.5 || r.Share[1][2] != 0.25 {
		t.Errorf("%+v", r)
	}
	if r.Mean > 10 || r.Steady < 0.97 {
		t.Errorf("the mean direction is %v°, steady %v", r.Mean, r.Steady)
	}
	opposed, err := RoseOf([]Wind{{3, 0, 1}, {3, 180, 1}}, 8, 0, []float64{0})
	if err != nil || opposed.Steady > 0.01 {
		t.Errorf("winds that cancel have a direction: %+v %v", opposed, err)
	}
	for name, bad := range map[string]func() (*Rose, error){
		"no reading":         func() (*Rose, error) { return RoseOf(nil, 8, 0, []float64{0}) },
		"seven sectors":      func() (*Rose, error) { return RoseOf(winds, 7, 0, []float64{0}) },
		"bounds that fall":   func() (*Rose, error) { return RoseOf(winds, 8, 0, []float64{0, 3, 2}) },
		"calm below nothing": func() (*Rose, error) { return RoseOf(winds, 8, -1, []float64{-1}) },
	} {
		if r, err := bad(); err == nil {
			t.Errorf("%s: %+v", name, r)
		}
	}
}

func TestRoseIsWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var winds []Wind
		for i := range rapid.IntRange(1, 60).Draw(t, "readings") {
			winds = append(winds, Wind{rapid.Float64Range(0, 30).Draw(t, "speed"+strconv.Itoa(i)), rapid.Float64Range(-720, 720).Draw(t, "from"), float64(rapid.IntRange(1, 9).Draw(t, "weight"))})
		}
		r, err := RoseOf(winds, 12, 1, []float64{1, 3, 6, 10})
		if err != nil {
			t.Fatal(err)
		}
		sum := r.Calm
		for _, s := range r.Share {
			for _, v := range s {
				sum += v
			}
		}
		if math.Abs(sum-1) > 1e-7 {
			t.Errorf("the shares add up to %v", sum)
		}
	})
}
