package surface

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"github.com/swardbook/swardbook/geo/plan"
	"github.com/swardbook/swardbook/geo/survey"
)

// decodeSurvey makes points on small lattices, so that they line up, share
// circles and share places between two surveys.
func decodeSurvey(data []byte) *survey.Survey {
	s := &survey.Survey{Name: "fuzz"}
	for ; len(data) >= 3 && len(s.Points) < 60; data = data[3:] {
		step := []float64{1, 0.1, 2.5, 0.001}[data[2]>>6]
		s.Points = append(s.Points, survey.Point{E: 430000 + float64(data[0]%16)*step, N: 310000 + float64(data[1]%16)*step, Level: 50 + float64(data[2]%16)/4})
	}
	return s
}

func FuzzCompare(f *testing.F) {
	f.Add([]byte("\x00\x00\x01\x0f\x00\x02\x00\x0f\x03\x0f\x0f\x04\x07\x08\x09"), []byte("\x00\x00\x05\x0e\x01\x02\x02\x0f\x03\x0d\x0e\x04\x07\x07\x0a"), uint8(9))
	f.Add([]byte("any letters make points as good as others do"), []byte("and so do these letters, some of them twice"), uint8(200))
	f.Fuzz(func(t *testing.T, da, db []byte, cut uint8) {
		opts := Options{Conflicts: survey.KeepFirstRow, NoFlags: true}
		a, _, errA := FromSurvey(decodeSurvey(da), opts)
		b, _, errB := FromSurvey(decodeSurvey(db), opts)
		if errA != nil || errB != nil {
			return
		}
		x, y := 430000+float64(cut%16), 310000+float64(cut/16)
		within, err := plan.NewPolygon(orb.MultiPolygon{{{{x - 5, y - 3}, {x + 6, y - 2}, {x, y}, {x + 4, y + 7}, {x - 6, y + 5}, {x - 5, y - 3}}}}, "area")
		if err != nil {
			t.Fatal(err)
		}
		for _, area := range []*plan.Polygon{nil, within} {
			d, err := Compare(a, b, area, CompareOptions{ToleranceM: 0.5, AccuracyM: 0.1})
			if err != nil {
				continue
			}
			back, err := Compare(b, a, area, CompareOptions{ToleranceM: 0.5, AccuracyM: 0.1})
			if err != nil || back.FillM3 != d.CutM3 || back.CutM3 != d.FillM3 || back.Band.WithinAreaM2 != d.Band.WithinAreaM2 {
				t.Fatalf("exchanged: %+v, straight: %+v, %v", back, d, err)
			}
			for what, v := range map[string]float64{"fill": d.FillM3, "cut": d.CutM3, "fill area": d.FillAreaM2, "cut area": d.CutAreaM2} {
				if !(v >= 0) || math.IsInf(v, 0) {
					t.Fatalf("%s is %v", what, v)
				}
			}
			if d.FillAreaM2+d.CutAreaM2 > d.PlanAreaM2*(1+1e-9)+1e-9 {
				t.Fatalf("fill and cut cover %v of %v", d.FillAreaM2+d.CutAreaM2, d.PlanAreaM2)
			}
			if d.MaxDzM > 4 || d.MinDzM < -4 || !(d.RMSM >= math.Abs(d.MeanM)-1e-9) {
				t.Fatalf("dz %v to %v, mean %v, rms %v", d.MinDzM, d.MaxDzM, d.MeanM, d.RMSM)
			}
			if b := d.Band; b.WorstShare > b.WithinShare || b.WithinShare > b.BestShare || b.BestShare > 1 {
				t.Fatalf("band %+v", b)
			}
		}
	})
}
