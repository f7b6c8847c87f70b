package demo

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"time"
)

// carried is a run of loads of one material.
type carried struct {
	first, last, direction, material string
	perDay                           int // about so many on a working day
	tonnes                           float64
	from, to                         string
}

var carriage = []carried{
	{"2025-06-18", "2025-07-11", "in", "stone", 9, 19.2, "Harl quarry", "site"},
	{"2025-07-21", "2025-11-28", "out", "spoil", 9, 18.6, "site", "Dunnow fill"},
	{"2025-08-04", "2025-11-28", "in", "concrete", 3, 14.4, "Sarn plant", "site"},
	{"2026-03-09", "2026-04-24", "in", "concrete", 2, 14.4, "Sarn plant", "site"},
	{"2026-05-18", "2026-06-04", "out", "stone", 10, 19.0, "site", "Harl quarry"},
}

// haulage writes the load tickets.
func (s *scene) haulage() error {
	r := newRegister("id", "at", "places", "number", "direction", "material", "gross [t]", "tare [t]", "net [t]", "haulier", "vehicle",
		"origin", "destination", "note_number", "code", "carrier", "sheeted", "supersedes", "reason", "recorded", "by")
	rng := s.rng("tickets")
	number := 1000
	s.days(carriage[0].first, carriage[len(carriage)-1].last, func(d time.Time) {
		if !s.working(d) {
			return
		}
		for _, load := range s.loadsOf(rng, d) {
			number++
			s.ticket(r, rng, number, load)
		}
	})
	return s.table("registers/tickets.csv", r)
}

// load is one load at its time.
type load struct {
	at time.Time
	carried
}

func (s *scene) loadsOf(rng *rand.Rand, d time.Time) []load {
	var out []load
	for _, c := range carriage {
		if d.Before(s.day(c.first)) || d.After(s.day(c.last)) {
			continue
		}
		for range max(0, c.perDay-2+rng.IntN(5)) {
			out = append(out, load{d.Add(time.Duration(465+rng.IntN(570)) * time.Minute), c})
		}
	}
	slices.SortStableFunc(out, func(a, b load) int { return a.at.Compare(b.at) })
	return out
}

// ticket writes one load. The mass of one was typed wrongly and put right.
func (s *scene) ticket(r *register, rng *rand.Rand, number int, l load) {
	id := fmt.Sprintf("T%d", number)
	tare := 1150 + rng.IntN(90)
	net := int(l.tonnes*100) - 140 + rng.IntN(240)
	row := func(net int, supersedes, reason string, recorded time.Time) {
		note, code, carrier := "", "", ""
		if l.material == "spoil" {
			note, code, carrier = fmt.Sprintf("N%05d", number), "17 05 04", "CR/30517"
		}
		r.row(id, s.stamp(l.at), "GATE", id, l.direction, l.material, hundredths(tare+net), hundredths(tare), hundredths(net), "Bracken Haulage",
			fmt.Sprintf("lorry %d", 1+number%7), l.from, l.to, note, code, carrier, "yes", supersedes, reason, s.stamp(recorded), "p07")
	}
	if number != 1203 {
		row(net, "", "", l.at.Add(4*time.Minute))
		return
	}
	row(net+900, "", "", l.at.Add(4*time.Minute))
	row(net, id, "gross mass typed with a wrong figure; corrected from the printed ticket", l.at.Add(26*time.Hour))
}

func hundredths(n int) string { return fmt.Sprintf("%d.%02d", n/100, n%100) }
