package demo

import (
	"fmt"
	"strings"
)

// surveyNoise is how far a level strays by chance, metres.
const surveyNoise = 0.006

// surveys writes the ground before and after, and the mounds in each quarter.
func (s *scene) surveys() error {
	index := newRegister("id", "date", "purpose", "surveyor", "instrument", "control", "closure", "check_points",
		"accuracy_claimed [m]", "accuracy_shown [m]", "height_model", "file", "recorded", "by")
	mounds := newRegister("at", "places", "holds", "formed", "seeded", "survey", "base", "base_survey", "recorded", "by")
	take := func(id, date, purpose, points string) {
		s.put("surveys/"+id+".csv", points)
		rng := s.rng("checks of " + id)
		checks := make([]string, 3)
		for i := range checks {
			checks[i] = fmt.Sprintf("CP%d %+.3f", i+1, 0.01*(rng.Float64()-0.5))
		}
		index.row(id, date, purpose, "p03", "total station, 1 second", "C1;C2;C3;C4", fmt.Sprintf("%.3f m in 612 m", 0.004+0.004*rng.Float64()),
			strings.Join(checks, ", "), "0.010", "0.015", "none, levelled from C1", id+".csv", s.stamp(s.at(date+" 17:40")), "p03")
	}
	take("SV1", "2025-05-28", "pre-works", levels(s.rng("SV1"), restoredArea, 6, 6, surveyNoise, natural, "GL"))
	for _, m := range []struct {
		id, date  string
		top1, all float64 // height of topsoil mound 1; of the others against their full height
	}{
		{"MV1", "2025-07-03", 2.78, 1}, {"MV2", "2025-10-02", 3.24, 1}, {"MV3", "2025-10-23", 2.84, 1},
		{"MV4", "2026-01-14", 2.81, 0.99}, {"MV5", "2026-04-09", 2.79, 0.99},
	} {
		take(m.id, m.date, "mounds", s.moundPoints(m.id, m.top1, m.all))
		seeded := ""
		if m.date > "2025-08-27" {
			seeded = "2025-08-27"
		}
		for _, one := range [][3]string{{"MT1", "topsoil", "2025-06-10"}, {"MT2", "topsoil", "2025-06-16"}, {"MS1", "subsoil", "2025-06-12"}, {"SP1", "spoil", "2025-07-21"}} {
			if m.id == "MV3" && one[0] != "MT1" || m.id == "MV1" && one[0] == "SP1" {
				continue
			}
			sown := seeded
			if one[1] == "spoil" {
				sown = ""
			}
			mounds.row(m.date, one[0], one[1], one[2], sown, m.id, "survey", "SV1", s.stamp(s.at(m.date+" 17:55")), "p03")
		}
	}
	take("SV9", "2026-07-08", "as-restored", levels(s.rng("SV9"), restoredArea, 5, 5, surveyNoise, restored, "GL"))
	if err := s.table("surveys/index.csv", index); err != nil {
		return err
	}
	return s.table("registers/stockpiles.csv", mounds)
}

// moundPoints writes the points of one round of the mounds.
func (s *scene) moundPoints(id string, top1, all float64) string {
	var b strings.Builder
	b.WriteString("point,easting,northing,level,code\n")
	n := 0
	for _, m := range []struct {
		name string
		heap
	}{
		{"MT1", heap{moundTop1, top1, 0.5}}, {"MT2", heap{moundTop2, 2.35 * all, 0.5}},
		{"MS1", heap{moundSub, 3.45 * all, 0.5}}, {"SP1", heap{spoilHeap, 3.9 * all, 0.5}},
	} {
		points := levels(s.rng(id+m.name), m.area, 4, 2, surveyNoise, m.level, m.name)
		for _, line := range strings.Split(strings.TrimSpace(points), "\n")[1:] {
			n++
			_, rest, _ := strings.Cut(line, ",")
			fmt.Fprintf(&b, "%d,%s\n", n, rest)
		}
	}
	return b.String()
}
