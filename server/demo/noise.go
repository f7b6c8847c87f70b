package demo

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"time"
)

// quarter is the interval of the loggers.
const quarter = 15 * time.Minute

// channelRow is a row of readings/index.csv.
type channelRow struct{ channel, quantity, place, deployment, unit, instrument, mapping, file, column string }

// indexHead is the head of readings/index.csv.
func indexHead() *register {
	return newRegister("channel", "quantity", "place", "deployment", "unit", "instrument", "zone", "mapping", "file", "column", "recorded")
}

// months calls f for each month of readings between two local times, with the
// part of the month that lies between them and when its file was fetched.
func (s *scene) months(first, last string, f func(name string, from, to, fetched time.Time)) {
	begin, end := s.at(first), s.at(last)
	for month := s.day(first[:7] + "-01"); month.Before(end); month = month.AddDate(0, 1, 0) {
		from, to := month, month.AddDate(0, 1, 0)
		if from.Before(begin) {
			from = begin
		}
		if to.After(end) {
			to = end
		}
		f(month.Format("2006-01"), from, to, month.AddDate(0, 1, 0).Add(33*time.Hour))
	}
}

func (s *scene) channel(r *register, c channelRow, fetched time.Time) {
	r.row(c.channel, c.quantity, c.place, c.deployment, c.unit, c.instrument, "UTC", c.mapping, c.file, c.column, s.stamp(fetched))
}

// flat is when the battery of the logger at the farm was flat.
var flat = struct{ from, to string }{"2026-01-24 03:15", "2026-01-26 09:30"}

// noisy is when an old pump set ran in the evening, heard at the cottage.
var noisy = struct{ from, to string }{"2025-10-16 19:15", "2025-10-16 21:30"}

// noise writes fourteen months of 15-minute levels at both dwellings.
func (s *scene) noise() error {
	s.put("readings/mappings/logger.yaml", "delimiter: \",\"\nheader_row: 1\ntime:\n  columns: [time]\n  stamp: begin\n  interval: 900\n")
	index := indexHead()
	for i, place := range []string{"NM1", "NM2"} {
		rng := s.rng("noise at " + place)
		drift := 0.0
		s.months("2025-06-02 00:00", "2026-07-01 00:00", func(month string, from, to, fetched time.Time) {
			file := fmt.Sprintf("%s-%s.csv", place, month)
			var b strings.Builder
			b.WriteString("time,LAeq dB\n")
			for t := from; t.Before(to); t = t.Add(quarter) {
				level := s.level(rng, &drift, i, t)
				if i == 0 && !t.Before(s.at(flat.from)) && t.Before(s.at(flat.to)) {
					continue
				}
				fmt.Fprintf(&b, "%s,%.1f\n", t.UTC().Format("2006-01-02T15:04:05Z"), level)
			}
			s.put("readings/"+file, b.String())
			s.channel(index, channelRow{place + "-LAEQ", "noise.laeq", place, fmt.Sprintf("DN%d", i+1), "dB", fmt.Sprintf("SLM%d", i+1), "logger", file, "LAeq dB"}, fetched)
		})
	}
	return s.table("readings/index.csv", index)
}

// level is one quarter-hour at a dwelling: what is always there, the works
// while they go on, and the pump that keeps the shaft dry, added as energies.
func (s *scene) level(rng *rand.Rand, drift *float64, at int, t time.Time) float64 {
	local := t.In(s.loc)
	*drift = 0.9**drift + 0.8*rng.NormFloat64()
	wander := math.Max(-3, math.Min(3, *drift))
	hour := float64(local.Hour()) + float64(local.Minute())/60
	day := (1 + math.Tanh(math.Min(hour-5.5, 20.5-hour)/1.2)) / 2
	sum := energy(29 + 8.5*day + wander)
	if s.working(local) && hour >= 7.25 && hour < 17.75 {
		sum += energy([...]float64{49.2, 47.8}[at] + 0.6*wander + 1.4*math.Max(-2, math.Min(2, rng.NormFloat64())))
	}
	if !t.Before(s.at("2025-07-14 08:00")) && t.Before(s.at("2026-04-30 16:00")) {
		sum += energy([...]float64{29, 32}[at] + 0.2*wander)
	}
	if at == 1 && !t.Before(s.at(noisy.from)) && t.Before(s.at(noisy.to)) {
		sum += energy(49.5 + 0.5*rng.NormFloat64())
	}
	return math.Round(100*math.Log10(sum)) / 10
}

func energy(level float64) float64 { return math.Pow(10, level/10) }
