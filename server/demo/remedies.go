package demo

import "time"

// sighting is a finding of an inspection.
type sighting struct {
	number, place string
	at            time.Time
}

// remedies writes what was done about the findings: all but the last were put
// right in two days and checked in four.
func (s *scene) remedies() error {
	r := newRegister("at", "places", "finding", "stage", "what", "recorded", "by")
	for _, f := range s.found[:len(s.found)-1] {
		right, checked := f.at.AddDate(0, 0, 2), f.at.AddDate(0, 0, 4)
		r.row(s.stamp(right), f.place, f.number, "put right", "Done by the crew of the day.", s.stamp(right.Add(time.Hour)), "p02")
		r.row(s.stamp(checked), f.place, f.number, "checked and accepted", "Looked at; it holds.", s.stamp(checked.Add(time.Hour)), "p01")
	}
	return s.table("registers/remedies.csv", r)
}

// needed writes what had to be there before the first sod, and the posts that
// duties belong to.
func (s *scene) needed() error {
	r := newRegister("at", "name", "sort", "needed_by", "lead [days]", "from", "asked", "got", "reference", "agreed_with", "agreed", "recorded", "by")
	for _, one := range []struct{ name, sort, lead, from, asked, got, reference, with, agreed string }{
		{"Planning permission", "consent", "91", "Sarnmoor District Council", "2024-12-09", "2025-03-18", "SM/2025/0417", "", ""},
		{"Discharge permit", "consent", "120", "Sarn Valley Rivers Authority", "2024-12-16", "2025-04-14", "WR/0712", "", ""},
		{"Licence to occupy the field", "agreement", "60", "landowner", "2025-01-20", "2025-03-31", "", "", ""},
		{"Soil handling scheme", "approved scheme", "56", "Sarnmoor District Council", "2025-03-28", "2025-05-09", "SM/DC/104", "", ""},
		{"Levels of the field", "levels", "14", "Calder Land Survey", "2025-04-28", "2025-05-06", "PRE", "landowner and tenant", "2025-05-20"},
		{"Soil pits of the field", "soils", "21", "Amblecote Soils", "2025-04-22", "2025-05-08", "", "landowner and tenant", "2025-05-20"},
		{"Field drains and spring", "drains", "14", "Amblecote Soils", "2025-04-22", "2025-05-09", "", "tenant", "2025-05-20"},
		{"Background noise at both dwellings", "background noise", "14", "", "2025-05-05", "2025-05-19", "", "Sarnmoor District Council", "2025-05-23"},
		{"Water of Lowe Sike and the spring", "water", "28", "Northbeck Laboratory", "2025-04-22", "2025-05-22", "", "Sarn Valley Rivers Authority", "2025-05-27"},
		{"Lane to Lowe Farm, film and notes", "road", "7", "", "2025-05-12", "2025-05-13", "", "highway authority", "2025-05-21"},
		{"Four photo points", "photo points", "7", "", "2025-05-12", "2025-05-13", "", "landowner and tenant", "2025-05-20"},
	} {
		last := one.got
		if one.agreed != "" {
			last = one.agreed
		}
		r.row(one.asked, one.name, one.sort, "2025-05-30", one.lead, one.from, one.asked, one.got, one.reference, one.with, one.agreed, s.stamp(s.at(last+" 16:40")), "p01")
	}
	if err := s.table("registers/needed.csv", r); err != nil {
		return err
	}
	posts := newRegister("at", "until", "post", "organisation", "successor", "note", "recorded", "by")
	posts.row("2025-03-24T09:00+00:00", "2026-09-30T18:00+01:00", "officer", "Ashmere Tunnel Joint Venture", "land agent", "", s.stamp(s.at("2025-03-24 10:00")), "p01")
	posts.row("2026-09-30T18:00+01:00", "", "land agent", "Ashmere Water", "", "Has aftercare once the joint venture is gone.", s.stamp(s.at("2025-03-24 10:05")), "p01")
	return s.table("registers/posts.csv", posts)
}
