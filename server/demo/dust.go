package demo

import (
	"fmt"
	"math"
	"strings"
	"time"
)

// dusty are days of soil work in a drying wind.
var dusty = map[string]bool{"2025-06-10": true, "2025-06-11": true, "2025-06-12": true, "2026-06-15": true}

// dust writes hourly PM10 at the western boundary.
func (s *scene) dust() error {
	s.put("readings/mappings/hourly.yaml", "delimiter: \",\"\nheader_row: 1\ntime:\n  columns: [time]\n  stamp: begin\n  interval: 3600\nmissing: [NA]\n")
	index := indexHead()
	rng := s.rng("dust")
	drift := 0.0
	s.months("2025-06-02 00:00", "2026-07-01 00:00", func(month string, from, to, fetched time.Time) {
		file := "DM1-" + month + ".csv"
		var b strings.Builder
		b.WriteString("time,PM10 ug/m3\n")
		for t := from; t.Before(to); t = t.Add(time.Hour) {
			drift = 0.97*drift + 0.14*rng.NormFloat64()
			v := 11 * math.Exp(math.Max(-1, math.Min(1, drift)))
			local := t.In(s.loc)
			if dry := t.Before(s.day("2025-06-28")) || !t.Before(s.day("2026-06-01")); dry && s.working(local) && local.Hour() >= 8 && local.Hour() < 17 {
				v += 25 + 25*rng.Float64()
			}
			if dusty[local.Format("2006-01-02")] && local.Hour() >= 8 && local.Hour() < 17 {
				v += 70 + 20*rng.Float64()
			}
			text := fmt.Sprintf("%.1f", v)
			if rng.IntN(400) == 0 {
				text = "NA"
			}
			fmt.Fprintf(&b, "%s,%s\n", t.UTC().Format("2006-01-02T15:04:05Z"), text)
		}
		s.put("readings/"+file, b.String())
		s.channel(index, channelRow{"DM1-PM10", "dust.pm10", "DM1", "DD1", "µg/m³", "PMD1", "hourly", file, "PM10 ug/m3"}, fetched)
	})
	return s.append("readings/index.csv", index)
}

// append adds rows to a table that stands already with the same head.
func (s *scene) append(name string, r *register) error {
	before := string(s.files[name].Data)
	if err := s.table(name, r); err != nil {
		return err
	}
	_, rows, _ := strings.Cut(string(s.files[name].Data), "\n")
	s.put(name, before+rows)
	return nil
}
