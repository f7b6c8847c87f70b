package demo

import "fmt"

// papers writes what was submitted and approved, what was stated, the holds,
// and the letters behind them.
func (s *scene) papers() error {
	r := newRegister("at", "scheme", "revision", "stage", "reference", "authority", "recorded", "by", "files")
	letters := newRegister("at", "title", "type", "file", "recorded")
	paper := func(date, scheme, revision, stage, reference, authority string) {
		file := ""
		if stage == "approved" {
			file = "documents/approval-" + reference[len(reference)-3:] + ".txt"
			s.put(file, fmt.Sprintf("%s\n\nReference %s\n%s\n\nThe scheme named %q, revision %s, is approved.\n\n(An invented letter of the demonstration site.)\n", authority, reference, date, scheme, revision))
			letters.row(date, "Approval of the scheme for "+scheme, "letter", file, s.stamp(s.at(date+" 15:10")))
		}
		r.row(date, scheme, revision, stage, reference, authority, s.stamp(s.at(date+" 15:30")), "p01", file)
	}
	const council, rivers = "Sarnmoor District Council", "Sarn Valley Rivers Authority"
	for _, one := range []struct{ scheme, revision, sent, approved, reference, authority string }{
		{"soil handling", "B", "2025-03-28", "2025-05-09", "SM/DC/104", council},
		{"archaeology", "A", "2025-03-28", "2025-05-02", "SM/DC/105", council},
		{"traffic", "A", "2025-04-04", "2025-05-12", "SM/DC/107", council},
		{"drainage", "A", "2025-04-22", "2025-06-20", "WR/AP/031", rivers},
	} {
		paper(one.sent, one.scheme, one.revision, "submitted", one.reference, one.authority)
		paper(one.approved, one.scheme, one.revision, "approved", one.reference, one.authority)
	}
	paper("2025-05-19", "notice of commencement", "", "submitted", "", council)
	paper("2025-05-29", "notice of strip", "", "submitted", "", council)
	// The return of the last quarter of 2025 was due by 28 January: six days late.
	for _, date := range []string{"2025-07-22", "2025-10-24", "2026-02-03", "2026-04-23", "2026-07-21"} {
		paper(date, "noise return", "", "submitted", "", council)
	}
	for _, date := range []string{"2025-10-27", "2026-01-26", "2026-04-27", "2026-07-20"} {
		paper(date, "water return", "", "submitted", "", rivers)
	}
	paper("2026-06-05", "clearance report", "", "submitted", "", council)
	if err := s.table("registers/papers.csv", r); err != nil {
		return err
	}
	if err := s.table("documents/index.csv", letters); err != nil {
		return err
	}
	if err := s.statements(); err != nil {
		return err
	}
	if err := s.needed(); err != nil {
		return err
	}
	return s.holds()
}

// statements writes what the named roles stated of clauses no figure decides.
func (s *scene) statements() error {
	r := newRegister("at", "permit", "clause", "role", "answer", "text", "recorded", "by")
	for _, one := range []struct{ date, permit, clause, role, by, text string }{
		{"2025-06-02", "SM/2025/0417", "28", "manager", "p02", "The permission and its drawings hang in the site office."},
		{"2025-06-06", "SM/2025/0417", "24", "manager", "p02", "Bund filled with water to the mark for 24 hours without loss; it holds 118 per cent of the tank."},
		{"2025-06-18", "SM/2025/0417", "7", "specialist", "p04", "Both horizons were tested by hand each morning and were dry and friable when stripped."},
		{"2025-06-30", "SM/2025/0417", "18", "officer", "p01", "No dust was seen to leave the site."},
		{"2025-06-30", "SM/2025/0417", "22", "manager", "p02", "Hauliers were shown the marked route; none was seen elsewhere."},
		{"2025-10-06", "SM/2025/0417", "27", "officer", "p01", "Lights checked from both dwellings after dark: turned down, none towards hedge or sky."},
		{"2025-07-14", "WR/0712", "2.1", "officer", "p01", "The pump main ends in the lagoon, and the lagoon at OUT1. There is no other way out."},
		{"2025-07-21", "WR/0712", "3.1", "officer", "p01", "The laboratory's schedule names suspended solids, pH, ammonia and hydrocarbons."},
		{"2026-04-30", "WR/0712", "4.1", "officer", "p01", "Nothing happened in the time of pumping that had to be reported."},
		{"2026-06-29", "SM/2025/0417", "7", "specialist", "p04", "Soil was dry when put back; two days were lost to rain and waited out."},
		{"2026-07-10", "SM/2025/0417", "31", "specialist", "p04", "Thirty-two pits: topsoil 0.21 to 0.29 m deep, mean 0.24 m."},
	} {
		r.row(one.date, one.permit, one.clause, one.role, "met", one.text, s.stamp(s.at(one.date+" 16:20")), one.by)
	}
	return s.table("registers/statements.csv", r)
}

// holds writes the stops there were.
func (s *scene) holds() error {
	r := newRegister("id", "at", "until", "places", "act", "reason", "released_by", "released", "supersedes", "entry_reason", "recorded", "by")
	hold := func(id, from, until, place, act, why, by, who string, lifted string) {
		r.row(id, s.stamp(s.at(from)), s.stamp(s.at(until)), place, act, why, by, "", "", "", s.stamp(s.at(from).Add(600e9)), who)
		end := s.at(lifted)
		r.row(id, s.stamp(s.at(from)), s.stamp(end), place, act, why, by, "yes", id, "lifted by the specialist", s.stamp(end.Add(300e9)), who)
	}
	hold("H1", "2025-06-13 07:30", "2025-06-20 18:00", "SA2", "strip", "Rain overnight: topsoil plastic when rolled by hand.", "specialist", "p04", "2025-06-15 17:00")
	hold("H2", "2025-06-16 14:10", "2025-06-23 18:00", "EX1", "all works", "Charcoal and worked stone at the edge of the ring bank; to be recorded first.", "specialist", "p06", "2025-06-19 12:00")
	return s.table("registers/holds.csv", r)
}
