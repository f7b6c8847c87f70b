package demo

import (
	"fmt"
	"time"
)

// works writes the diary, the soil strips and the generator's hour meter.
func (s *scene) works() error {
	if err := s.strips(); err != nil {
		return err
	}
	if err := s.hourMeter(); err != nil {
		return err
	}
	return s.diary()
}

// strips writes the soil taken up.
func (s *scene) strips() error {
	r := newRegister("at", "until", "places", "horizon", "depth_mean [m]", "depth_least [m]", "pits", "moisture", "destination", "machine", "weather", "recorded", "by")
	for _, one := range []struct{ from, until, place, horizon, mean, least, pits, to, weather string }{
		{"2025-06-09 08:10", "2025-06-10 16:40", "SA1", "topsoil", "0.24", "0.20", "6", "MT1", "dry, light east wind"},
		{"2025-06-11 08:00", "2025-06-12 17:10", "SA1", "subsoil", "0.35", "0.30", "6", "MS1", "dry"},
		{"2025-06-16 08:20", "2025-06-16 15:30", "SA2", "topsoil", "0.23", "0.19", "3", "MT2", "dry after a showery weekend"},
		{"2025-06-17 08:10", "2025-06-17 14:50", "SA2", "subsoil", "0.30", "0.26", "3", "MS1", "dry"},
	} {
		until := s.at(one.until)
		r.row(s.stamp(s.at(one.from)), s.stamp(until), one.place, one.horizon, one.mean, one.least, one.pits, "dry and friable", one.to, "tracked excavator", one.weather,
			s.stamp(until.Add(50*time.Minute)), "p04")
	}
	return s.table("registers/strips.csv", r)
}

// hourMeter writes a reading of the standby generator each Monday.
func (s *scene) hourMeter() error {
	r := newRegister("at", "places", "machine", "meter", "reading [h]", "digits", "recorded", "by")
	rng := s.rng("hour meter")
	tenths := 14206
	s.days("2025-06-02", "2026-07-06", func(d time.Time) {
		if d.Weekday() != time.Monday {
			return
		}
		at := d.Add(time.Duration(470+rng.IntN(25)) * time.Minute)
		r.row(s.stamp(at), "GEN1", "GEN1", "GM-5571", fmt.Sprintf("%d.%d", tenths/10, tenths%10), "5", s.stamp(at.Add(12*time.Minute)), "p02")
		tenths += 55 + rng.IntN(60)
	})
	return s.table("registers/hour_meters.csv", r)
}

// phase is what the site did between two dates.
type phase struct{ first, last, words, plant string }

var phases = []phase{
	{"2025-06-02", "2025-06-06", "Fencing, gate, signs, silt fence and cut-off ditch", "tractor, post driver"},
	{"2025-06-09", "2025-06-17", "Soil strip and mounds", "tracked excavator, two dumpers"},
	{"2025-06-18", "2025-07-11", "Haul route and hardstanding laid, lagoon dug and lined", "excavator, roller, dumpers"},
	{"2025-07-14", "2025-11-28", "Shaft sunk and lined", "crane, grab, silenced pump set, mixer"},
	{"2025-12-01", "2026-02-27", "Tunnel joined from the shaft bottom", "crane, silenced pump set"},
	{"2026-03-02", "2026-05-15", "Shaft capped below ground, rings removed above", "crane, excavator"},
	{"2026-05-18", "2026-06-05", "Hardstanding and haul route lifted, plant taken off", "excavator, dumpers"},
	{"2026-06-08", "2026-06-30", "Ground loosened, subsoil and topsoil put back, seeded", "tracked excavator, two dumpers, tractor"},
}

// diary writes a line for each day, and one for each act with a name of its
// own.
func (s *scene) diary() error {
	r := newRegister("id", "at", "until", "places", "act", "text", "plant", "weather", "supersedes", "withdraws", "reason", "recorded", "by")
	act := func(from, until, place, act, text string) {
		end := s.at(from)
		last := ""
		if until != "" {
			end = s.at(until)
			last = s.stamp(end)
		}
		r.row("", s.stamp(s.at(from)), last, place, act, text, "", "", "", "", "", s.stamp(end.Add(25*time.Minute)), "p02")
	}
	s.namedActs(act)
	rng := s.rng("diary")
	for _, p := range phases {
		s.days(p.first, p.last, func(d time.Time) {
			weather := []string{"dry", "dry, windy", "cloud, dry", "showers", "rain in the morning", "bright"}[rng.IntN(6)]
			begin, end := d.Add(time.Duration(440+rng.IntN(30))*time.Minute), d.Add(time.Duration(1010+rng.IntN(60))*time.Minute)
			switch {
			case s.working(d):
				r.row("", s.stamp(begin), s.stamp(end), "RA1", "noisy work", p.words, p.plant, weather, "", "", "", s.stamp(end.Add(30*time.Minute)), "p02")
			case d.Weekday() == time.Saturday && rng.IntN(3) == 0 && s.working(d.AddDate(0, 0, -1)):
				r.row("", s.stamp(d.Add(485*time.Minute)), s.stamp(d.Add(time.Duration(720+rng.IntN(45))*time.Minute)), "RA1", "noisy work", p.words, p.plant, weather, "", "", "", s.stamp(d.Add(13*time.Hour)), "p02")
			default:
				r.row("", d.Format("2006-01-02"), "", "", "none", "No work", "", weather, "", "", "", s.stamp(d.Add(17*time.Hour)), "p02")
			}
		})
	}
	// A line entered twice and taken back.
	r.row("D-77", s.stamp(s.at("2025-09-04 07:40")), s.stamp(s.at("2025-09-04 17:05")), "RA1", "noisy work", "Shaft sunk and lined", "", "", "", "", "", s.stamp(s.at("2025-09-05 08:05")), "p02")
	r.row("", s.stamp(s.at("2025-09-05 08:20")), "", "", "", "", "", "", "D-77", "yes", "the day's line stands already", s.stamp(s.at("2025-09-05 08:20")), "p02")
	return s.table("registers/diary.csv", r)
}

// namedActs writes the acts that conditions wait for.
func (s *scene) namedActs(act func(from, until, place, act, text string)) {
	act("2025-06-02 07:45", "", "RA1", "commencement", "Works began: gate and fence.")
	act("2025-06-04 09:10", "2025-06-04 11:40", "HDG1", "clear", "Four metres of hedge cut at the gate, after the nest check.")
	act("2025-06-10 10:00", "2025-06-10 16:40", "MT1", "store", "Topsoil of the shaft platform in mound MT1.")
	act("2025-06-12 09:00", "2025-06-12 17:10", "MS1", "store", "Subsoil in mound MS1.")
	act("2025-06-16 09:30", "2025-06-16 15:30", "MT2", "store", "Topsoil of the haul route in mound MT2.")
	for _, m := range []string{"MT1", "MT2", "MS1"} {
		act("2025-08-27 09:00", "2025-08-27 12:30", m, "seed", "Sown with meadow grass.")
	}
	for month := s.day("2025-07-01"); month.Before(s.day("2026-05-01")); month = month.AddDate(0, 1, 0) {
		from, until := month, month.AddDate(0, 1, 0)
		if month.Equal(s.day("2025-07-01")) {
			from = s.at("2025-07-14 08:00")
		}
		if month.Equal(s.day("2026-04-01")) {
			until = s.at("2026-04-30 16:00")
		}
		act(from.Format("2006-01-02 15:04"), until.Format("2006-01-02 15:04"), "SH1", "dewater", "Shaft kept dry; water to the lagoon.")
	}
	act("2025-10-16 19:10", "2025-10-16 21:35", "SH1", "dewater", "Silenced pump set failed; an older one ran until the spare came. Cottage told at 19:30.")
	act("2026-05-15 16:30", "", "SH1", "cease", "Last work in the shaft.")
	for _, d := range []string{"2026-06-08", "2026-06-15", "2026-06-22"} {
		act(d+" 08:00", d+" 16:45", "RA1", "restore", "Soil put back, working backwards from it.")
	}
	act("2026-06-30 08:30", "2026-06-30 15:20", "RA1", "seed", "Restored ground sown with the agreed mix.")
}
