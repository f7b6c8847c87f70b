package ground

import (
	"errors"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/observe/recordtest"
	"github.com/swardbook/swardbook/geo/plan"
)

func surveys(t *testing.T) *recordtest.Record {
	t.Helper()
	r := recordtest.New()
	r.Add(t,
		recordtest.Row{Kind: SurveyKind, At: "2026-03-01", Body: book.Object{"ref": "SV1", "purpose": "mound"}},
		recordtest.Row{Kind: SurveyKind, At: "2026-06-01", Body: book.Object{"ref": "SV2", "purpose": "mound"}},
		recordtest.Row{Kind: SurveyKind, At: "2026-09-01", Body: book.Object{"purpose": "mound"}},
		recordtest.Row{Kind: SurveyKind, At: "2026-10-01", Body: book.Object{"ref": "mound", "purpose": "restored"}},
		recordtest.Row{Kind: SurveyKind, At: "2026-11-01"}, // erased
	)
	return r
}

func TestBefore(t *testing.T) {
	cases := []struct {
		name, ask, at string
		seq           int64 // 0 when there is none
	}{
		{"by reference, whenever it was taken", "SV2", "2026-01-01", 2},
		{"by purpose, the last before", "restored", "2026-12-01", 4},
		{"by purpose, none before", "restored", "2026-10-01", 0},
		{"a reference goes before a purpose of the same name", "mound", "2026-12-01", 4},
		{"no such name", "stripped", "2026-12-01", 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			e, err := Before(surveys(t), c.ask, recordtest.At(t, c.at))
			if c.seq == 0 {
				if !errors.Is(err, ErrNoSurvey) {
					t.Errorf("got %v, %v", e, err)
				}
				return
			}
			if err != nil || e.Seq != c.seq {
				t.Errorf("got %v, %v", e, err)
			}
		})
	}
}

func TestRefFallsBackOnTheID(t *testing.T) {
	e := surveys(t).Entries(SurveyKind)[2]
	if Ref(e) != string(e.ID) {
		t.Errorf("got %s", Ref(e))
	}
}

func TestArea(t *testing.T) {
	r := recordtest.New()
	r.Area("A", 0, 0, 10, 20)
	r.Draw(&plan.Feature{Code: "N1", Geometry: orb.Point{1, 2}, Frame: plan.FrameSite})
	r.Draw(&plan.Feature{Code: "W", Geometry: orb.Polygon{{{-2, 54}, {-1, 54}, {-1, 55}, {-2, 54}}}, Frame: plan.FrameWGS84})
	r.Draw(&plan.Feature{Code: "MM", Geometry: orb.MultiPolygon{{{{0, 0}, {1, 0}, {1, 1}, {0, 0}}}, {{{5, 0}, {6, 0}, {6, 1}, {5, 0}}}}, Frame: plan.FrameSite})
	cases := []struct {
		code string
		area float64
		says string
	}{
		{"A", 200, ""},
		{"MM", 1, ""},
		{"N1", 0, "no area"},
		{"W", 0, "longitude and latitude"},
		{"Z", 0, "no feature Z"},
	}
	for _, c := range cases {
		t.Run(c.code, func(t *testing.T) {
			p, err := Area(r, c.code, recordtest.At(t, "2026-04-06"))
			if (err == nil) != (c.says == "") || err != nil && !strings.Contains(err.Error(), c.says) {
				t.Fatalf("got %v", err)
			}
			if err == nil && p.AreaM2() != c.area {
				t.Errorf("%v m², want %v", p.AreaM2(), c.area)
			}
		})
	}
	// The feature is not changed by having been measured.
	if _, err := Area(r, "A", recordtest.At(t, "2026-04-06")); err != nil {
		t.Error(err)
	}
}

func TestAccuracy(t *testing.T) {
	shown := func(s string) *book.Entry { return &book.Entry{Body: book.Object{"accuracy_shown": s}} }
	cases := []struct {
		name    string
		surveys []*book.Entry
		m       float64
		known   bool
	}{
		{"one", []*book.Entry{shown("0.02")}, 0.02, true},
		{"two add in squares: 3, 4, 5", []*book.Entry{shown("0.03"), shown("0.04")}, 0.05, true},
		{"one of two unknown", []*book.Entry{shown("0.03"), {Body: book.Object{}}}, 0.03, false},
		{"none known", []*book.Entry{{Body: book.Object{}}}, 0, false},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if m, known := Accuracy(c.surveys...); m != c.m || known != c.known {
				t.Errorf("±%v m, known %v", m, known)
			}
		})
	}
}

func TestMetres(t *testing.T) {
	cases := []struct {
		text string
		m    float64
		good bool
	}{
		{"0.15 m", 0.15, true}, {"150 mm", 0.15, true}, {"15 cm", 0.15, true}, {"0.15", 0.15, true}, {" 6 in ", 0.1524, true},
		{"", 0, false}, {"m", 0, false}, {"0,15 m", 0, false}, {"0.15 s", 0, false}, {"0.15 furlong", 0, false},
	}
	for _, c := range cases {
		t.Run(c.text, func(t *testing.T) {
			if m, err := Metres(c.text); m != c.m || (err == nil) != c.good {
				t.Errorf("%v m, %v", m, err)
			}
		})
	}
}
