package demo

import (
	"fmt"
	"math"
	"strings"
	"time"
)

// water writes the water discharge: flow, volume and turbidity of each quarter
// of an hour, and a sample in each week.
func (s *scene) water() error {
	index := indexHead()
	rng := s.rng("outlet")
	drift := 0.0
	s.months("2025-07-14 00:00", "2026-05-04 00:00", func(month string, from, to, fetched time.Time) {
		file := "OUT1-" + month + ".csv"
		var b strings.Builder
		b.WriteString("time,flow L/s,volume m3,turbidity NTU\n")
		for t := from; t.Before(to); t = t.Add(quarter) {
			drift = 0.985*drift + 0.05*rng.NormFloat64()
			wander := math.Max(-0.6, math.Min(0.6, drift))
			flow := 0.0
			if !t.Before(s.at("2025-07-14 08:00")) && t.Before(s.at("2026-04-30 16:00")) {
				flow = 3.1 + 1.1*wander + 0.2*rng.Float64()
			}
			turbid := 17*math.Exp(0.8*wander) + 4*rng.Float64()
			fmt.Fprintf(&b, "%s,%.2f,%.3f,%.1f\n", t.UTC().Format("2006-01-02T15:04:05Z"), flow, flow*0.9, turbid)
		}
		s.put("readings/"+file, b.String())
		for _, c := range []channelRow{
			{"OUT1-FLOW", "water.flow", "OUT1", "DF1", "L/s", "FLW1", "logger", file, "flow L/s"},
			{"OUT1-VOL", "water.volume", "OUT1", "DF1", "m³", "FLW1", "logger", file, "volume m3"},
			{"OUT1-NTU", "water.turbidity", "OUT1", "DT1", "NTU", "TRB1", "logger", file, "turbidity NTU"},
		} {
			s.channel(index, c, fetched)
		}
	})
	if err := s.append("readings/index.csv", index); err != nil {
		return err
	}
	return s.samples()
}

// result is one determinand of a sample.
type result struct {
	Determinand string `json:"determinand"`
	Result      string `json:"result"`
	Unit        string `json:"unit"`
	LOD         string `json:"lod,omitempty"`
}

// samples writes a sample at the outlet in each week of pumping. The solids of
// one were reported wrongly and reported again.
func (s *scene) samples() error {
	r := newRegister("id", "at", "places", "number", "taken", "results", "laboratory", "certificate", "received", "temperature [°C]", "supersedes", "reason", "recorded", "by")
	rng := s.rng("samples")
	n := 0
	s.days("2025-07-14", "2026-05-03", func(d time.Time) {
		if d.Weekday() != time.Tuesday {
			return
		}
		n++
		at := d.Add(time.Duration(570+rng.IntN(60)) * time.Minute)
		id := fmt.Sprintf("W%03d", n)
		tss := 14 + rng.IntN(24)
		ammonia := 0.35 + 0.7*rng.Float64()
		if n == 6 || n == 15 || n == 31 {
			ammonia = 1.58 + 0.1*rng.Float64()
		}
		ph := 7.2 + 0.9*rng.Float64()
		results := func(tss int) string {
			return jsonOf([]result{{"tss", fmt.Sprint(tss), "mg/L", "5"}, {"ph", fmt.Sprintf("%.1f", ph), "pH", ""},
				{"ammonia", fmt.Sprintf("%.2f", ammonia), "mg/L", "0.05"}, {"hydrocarbons", "<0.1", "mg/L", "0.1"}})
		}
		row := func(tss int, certificate, supersedes, reason string, recorded time.Time) {
			r.row(id, s.stamp(at), "OUT1", id, "grab", results(tss), "Northbeck Laboratory", certificate, s.stamp(at.Add(5*time.Hour)), fmt.Sprintf("%.1f", 4+3*rng.Float64()),
				supersedes, reason, s.stamp(recorded), "p08")
		}
		certificate := fmt.Sprintf("NL-%05d", 4400+11*n)
		if n != 10 {
			row(tss, certificate, "", "", at.AddDate(0, 0, 3))
			return
		}
		row(64, certificate, "", "", at.AddDate(0, 0, 3))
		row(46, certificate+"A", id, "laboratory reissued the certificate: two figures had changed places", at.AddDate(0, 0, 6))
	})
	return s.table("registers/samples.csv", r)
}
