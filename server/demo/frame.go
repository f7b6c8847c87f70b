package demo

import (
	"fmt"
	"strings"
)

// posts are the invented people of the site.
var posts = []struct{ id, name, organisation, role, field string }{
	{"p01", "Maren Holt", "Ashmere Tunnel Joint Venture", "officer", ""},
	{"p02", "Tobias Wren", "Ashmere Tunnel Joint Venture", "manager", ""},
	{"p03", "Ines Calder", "Calder Land Survey", "surveyor", ""},
	{"p04", "Ruth Amblecote", "Amblecote Soils", "specialist", "soil"},
	{"p05", "Jonah Fell", "Fell Ecology", "specialist", "ecology"},
	{"p06", "Petra Swale", "Swale Archaeology", "specialist", "archaeology"},
	{"p07", "Gatehouse", "Ashmere Tunnel Joint Venture", "gate", ""},
	{"p08", "Sample desk", "Northbeck Laboratory", "laboratory", ""},
	{"p09", "Edith Garrow", "Lowe Farm", "landowner", ""},
	{"p10", "Planning monitoring", "Sarnmoor District Council", "regulator", ""},
}

// frame writes site.yaml and the holiday list.
func (s *scene) frame() error {
	var b strings.Builder
	b.WriteString(`id: cold-lowe
name: Cold Lowe access shaft
opened: 2025-03-24T09:00+00:00
judge_at: 2026-07-31T19:00Z
entered_by: p01
location: "Invented: hill pasture above Lowe Sike, where a temporary shaft was sunk to the Ashmere water tunnel and the land handed back."
grid: site grid of its own, four control points C1 to C4
datum: metres above the site datum, control point C1 = 318.442
zone: Europe/London
retention: life of the site and ten years
people:
`)
	for _, p := range posts {
		fmt.Fprintf(&b, "  - id: %s\n    name: %s\n    organisation: %s\n    roles:\n      - role: %s\n        from: 2025-03-24\n", p.id, p.name, p.organisation, p.role)
		if p.field != "" {
			fmt.Fprintf(&b, "        field: %s\n", p.field)
		}
	}
	s.put("site.yaml", b.String())
	return s.text("england-and-wales.json", "calendars/england-and-wales.json")
}

// notices writes the two notices and what later changed them.
func (s *scene) notices() error {
	for from, to := range map[string]string{
		"planning.yaml": "SM-2025-0417", "planning-letter.yaml": "SM-2025-0417-L1",
		"water.yaml": "WR-0712", "water-end.yaml": "WR-0712-V1", "water-surrender.yaml": "WR-0712-V2",
	} {
		if err := s.text(from, "permits/"+to+".yaml"); err != nil {
			return err
		}
	}
	return nil
}
