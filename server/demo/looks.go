package demo

import (
	"encoding/json"
	"fmt"
	"time"

	"github.com/swardbook/swardbook/compliance/catalogue"
)

// answer is one answer to an item of a checklist.
type answer struct {
	Item   string `json:"item"`
	Answer string `json:"answer"`
	Note   string `json:"note,omitempty"`
}

// finding is a thing to put right.
type finding struct {
	Item     string `json:"item"`
	What     string `json:"what"`
	Severity string `json:"severity"`
	Place    string `json:"place"`
	Owner    string `json:"owner"`
	Due      string `json:"due"`
}

// look is one inspection.
type look struct {
	at             time.Time
	list, place    string
	by             string
	rain           string
	needsAttention string // item, "" when all was well
	what           string
}

// looks writes the inspections.
func (s *scene) looks() error {
	r := newRegister("ref", "at", "places", "checklist", "weather", "rain [mm]", "items", "findings", "recorded", "by")
	rng := s.rng("inspections")
	done := "" // month whose monthly looks were made
	rain := func() string { return fmt.Sprintf("%d.%d", rng.IntN(9), rng.IntN(10)) }
	s.days("2025-06-05", "2026-07-16", func(d time.Time) {
		at := func(minutes int) time.Time { return d.Add(time.Duration(minutes) * time.Minute) }
		date := d.Format("2006-01-02")
		if d.Weekday() == time.Thursday && date <= "2026-04-30" {
			l := look{at: at(560 + rng.IntN(50)), list: "drainage", place: "LG1", by: "p01", rain: rain()}
			if date == "2025-10-02" || date == "2026-01-29" {
				l.needsAttention, l.what = "fences", "Silt fence down over three metres at the lower corner."
			}
			s.inspection(r, l)
		}
		if month := date[:7]; month != done && d.Day() >= 3 && s.working(d) && date >= "2025-07-01" && date < "2026-07-01" {
			done = month
			s.inspection(r, look{at: at(615), list: "soil-stores", place: "MT1", by: "p01", rain: rain()})
			l := look{at: at(660), list: "haul-road", place: "HR1", by: "p01", rain: rain()}
			if d.Month() == time.November {
				l.needsAttention, l.what = "mud", "Mud inside the gate, none on the road; wheel wash refilled."
			}
			s.inspection(r, l)
			s.inspection(r, look{at: at(700), list: "fuel", place: "BD1", by: "p02", rain: rain()})
		}
		if d.Day() == 10 && d.Month()%3 == 0 && date < "2026-07-01" {
			s.inspection(r, look{at: at(850), list: "noise", place: "NM2", by: "p01", rain: rain()})
		}
	})
	s.inspection(r, look{at: s.at("2025-06-03 14:30"), list: "boundaries", place: "HDG1", by: "p05", rain: "0.0"})
	s.inspection(r, look{at: s.at("2026-07-16 10:00"), list: "restored", place: "RA1", by: "p04", rain: "2.2", needsAttention: "ponds",
		what: "A shallow bowl south-west of the old shaft holds water; levels to be looked at."})
	if err := s.table("registers/inspections.csv", r); err != nil {
		return err
	}
	return s.remedies()
}

// inspection writes one look by its checklist.
func (s *scene) inspection(r *register, l look) {
	var items []answer
	for _, c := range catalogue.Checklists() {
		if c.ID != l.list {
			continue
		}
		for _, it := range c.Items {
			a := answer{Item: it.ID, Answer: "satisfactory"}
			if it.ID == l.needsAttention {
				a.Answer = "needs attention"
			}
			items = append(items, a)
		}
	}
	found := ""
	if l.needsAttention != "" {
		s.found = append(s.found, sighting{fmt.Sprintf("I-%03d.1", len(r.rows)+1), l.place, l.at})
	}
	if l.needsAttention != "" {
		found = jsonOf([]finding{{l.needsAttention, l.what, "minor", l.place, "manager", l.at.AddDate(0, 0, 7).Format("2006-01-02")}})
	}
	r.row(fmt.Sprintf("I-%03d", len(r.rows)+1), s.stamp(l.at), l.place, l.list, "see diary", l.rain, jsonOf(items), found, s.stamp(l.at.Add(75*time.Minute)), l.by)
}

func jsonOf(v any) string {
	data, err := json.Marshal(v)
	if err != nil {
		return err.Error() // the folder's reader will refuse it
	}
	return string(data)
}
