package main

import (
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

// statResult is what stat prints.
type statResult struct {
	File      string       `json:"file"`
	Statistic string       `json:"statistic"`
	Window    string       `json:"window"`
	Zone      string       `json:"zone"`
	Layout    string       `json:"layout"`
	Stamp     string       `json:"stamp"`
	Interval  string       `json:"interval"` // seconds, "local day", or empty for instants
	Rows      int          `json:"rows"`
	Valid     int64        `json:"values"`
	Windows   []statWindow `json:"windows"`
	Judged    int          `json:"judged"` // windows with a value and enough coverage
	TooLittle int          `json:"too_little"`
	Kept      *int         `json:"kept,omitempty"`
	Broken    *int         `json:"broken,omitempty"`
	Open      *int         `json:"open,omitempty"` // less-than results leave it open
	Limit     string       `json:"limit,omitempty"`
	Decisions []string     `json:"decisions"`
	Note      string       `json:"note,omitempty"`

	loc *time.Location
}

type statWindow struct {
	From     string   `json:"from"`
	To       string   `json:"to"`
	Value    *float64 `json:"value"`
	Low      *float64 `json:"low,omitempty"` // with High where results below their limit leave a range
	High     *float64 `json:"high,omitempty"`
	N        int      `json:"n"`
	Coverage *float64 `json:"coverage,omitempty"`
	Enough   bool     `json:"enough"`
	Why      string   `json:"why,omitempty"`
}

func msInstant(ms int64) time.Time { return time.UnixMilli(ms).UTC() }

// loadClock reads a zone by its name or as an offset.
func loadClock(name string) (*time.Location, error) {
	if name != "" && (name[0] == '+' || name[0] == '-') {
		t, err := time.Parse("-07:00", name)
		if err != nil {
			return nil, fmt.Errorf("zone %q is no offset such as +01:00", name)
		}
		return t.Location(), nil
	}
	return calendar.LoadZone(name)
}

// open keeps the windows that lie wholly inside the schedule, and shifts that
// begin inside the file.
func (s *stat) open(spans []calendar.Span, span calendar.Span, loc *time.Location) ([]calendar.Span, error) {
	if s.schedule == nil {
		return spans, nil
	}
	around := calendar.Span{From: span.From.Add(-48 * time.Hour), To: span.To.Add(48 * time.Hour)}
	open, err := s.schedule.Open(around, loc, nil)
	if err != nil {
		return nil, fmt.Errorf("--schedule: %w", err)
	}
	var out []calendar.Span
	for _, w := range spans {
		for _, o := range open {
			if o.Contains(w) {
				out = append(out, w)
				break
			}
		}
	}
	return out, nil
}

// result puts the windows together.
func (s *stat) result(name, zone string, m series.Mapping, parsed *series.Parsed, spans []calendar.Span, results []series.Result) *statResult {
	out := &statResult{File: name, Statistic: s.statistic, Window: s.period.String(), Zone: zone, Layout: m.Time.Layout, Stamp: m.Time.Stamp, Interval: m.Time.Interval,
		Rows: parsed.Rows, Valid: parsed.Channels[0].Valid, Windows: []statWindow{}, Decisions: []string{}, Limit: s.limit}
	if m.Time.Stamp == "instant" && s.stamp != "instant" {
		out.Decisions = append(out.Decisions, "the times keep no step: each value stands for an instant; say --interval if it does not")
	}
	out.Decisions = append(out.Decisions, decisionsOf(parsed.Decisions)...)
	var counts [3]int
	for i := range results {
		w := s.windowOf(spans[i], &results[i])
		out.Windows = append(out.Windows, w)
		if w.Value == nil || !w.Enough {
			out.TooLittle++
			continue
		}
		out.Judged++
		if s.bound != nil {
			counts[s.keeps(&w)]++
		}
	}
	if s.bound != nil {
		out.Kept, out.Broken, out.Open = &counts[0], &counts[1], &counts[2]
	}
	return out
}

// decisionsOf says what was done to rows in reading, each sort once.
func decisionsOf(list []series.Decision) []string {
	var order []string
	rows, first := map[string]int{}, map[string]int{}
	for _, d := range list {
		key := strings.TrimPrefix(d.Column+": "+d.What, ": ")
		if rows[key] == 0 {
			order = append(order, key)
			first[key] = d.From
		}
		rows[key] += d.Rows
	}
	out := make([]string, len(order))
	for i, key := range order {
		out[i] = fmt.Sprintf("%s, %d rows, the first in line %d", key, rows[key], first[key])
	}
	return out
}

func (s *stat) windowOf(span calendar.Span, r *series.Result) statWindow {
	w := statWindow{From: span.From.Format(time.RFC3339), To: span.To.Format(time.RFC3339), N: r.N, Enough: true}
	if !r.Instants && r.WindowMs > 0 {
		c := unit.Round9(r.Coverage)
		w.Coverage = &c
		w.Enough = s.least == nil || r.Covers(*s.least)
	}
	if !r.OK {
		w.Why, w.Enough = r.Why, false
		return w
	}
	v := unit.Round9(r.Value)
	w.Value = &v
	if low, high := unit.Round9(r.Low), unit.Round9(r.High); low != high {
		w.Low, w.High = &low, &high
	}
	return w
}

// keeps compares a window with the limit: 0 kept, 1 broken, 2 open.
func (s *stat) keeps(w *statWindow) int {
	low, high := *w.Value, *w.Value
	if w.Low != nil {
		low, high = *w.Low, *w.High
	}
	a, b := s.bound.Holds(low), s.bound.Holds(high)
	switch {
	case a && b:
		return 0
	case !a && !b:
		return 1
	}
	return 2
}

// extremes returns the windows of least and greatest value among those that
// count, nil with none.
func (r *statResult) extremes() (low, high *statWindow) {
	for i := range r.Windows {
		w := &r.Windows[i]
		if w.Value == nil || !w.Enough {
			continue
		}
		if low == nil || *w.Value < *low.Value {
			low = w
		}
		if high == nil || *w.Value > *high.Value {
			high = w
		}
	}
	return low, high
}

func (r *statResult) clock(text string) string {
	t, err := time.Parse(time.RFC3339, text)
	if err != nil {
		return text
	}
	return t.In(r.loc).Format("Mon 2006-01-02 15:04 -07:00")
}

func (r *statResult) print(w io.Writer) {
	p := func(format string, args ...any) { _, _ = fmt.Fprintf(w, format, args...) }
	interval := r.Interval
	switch interval {
	case "":
		interval = "instants"
	case series.LocalDay:
	default:
		interval += " s"
	}
	p("%s: %s by %s in %s; %d rows, %d values, times as %s, stamped %s, each for %s\n\n", r.File, r.Statistic, r.Window, r.Zone, r.Rows, r.Valid, r.Layout, r.Stamp, interval)
	p("  %-28s %14s %8s %10s\n", "window from", r.Statistic, "values", "measured")
	for i := range r.Windows {
		x := &r.Windows[i]
		value, measured, note := "–", "–", ""
		if x.Value != nil {
			value = grouped(*x.Value, 4)
		}
		if x.Low != nil {
			note = fmt.Sprintf("  from %s to %s", grouped(*x.Low, 4), grouped(*x.High, 4))
		}
		if x.Coverage != nil {
			measured = percent(*x.Coverage)
		}
		if !x.Enough {
			note += "  too little"
			if x.Why != "" {
				note = "  " + x.Why
			}
		}
		p("  %-28s %14s %8d %10s%s\n", r.clock(x.From), value, x.N, measured, note)
	}
	p("\n%d windows, %d with enough data, %d with too little\n", len(r.Windows), r.Judged, r.TooLittle)
	if low, high := r.extremes(); high != nil {
		p("highest %s, %s; lowest %s, %s\n", grouped(*high.Value, 4), r.clock(high.From), grouped(*low.Value, 4), r.clock(low.From))
	}
	if r.Kept != nil {
		p("limit %s: kept by %d, broken by %d", r.Limit, *r.Kept, *r.Broken)
		if *r.Open > 0 {
			p(", %d left open by less-than results", *r.Open)
		}
		p("\n")
	}
	for _, d := range r.Decisions {
		p("%s\n", d)
	}
	if r.Note != "" {
		p("%s\n", r.Note)
	}
}
