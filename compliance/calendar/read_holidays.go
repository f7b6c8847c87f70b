package calendar

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"
)

// maxHolidayFile bounds a holiday file; the published list of three nations
// and ten years is 60 kB.
const maxHolidayFile = 4 << 20

// ReadHolidays reads a holiday list from JSON in one of two forms.
//
// Our own: {"id", "source", "from_year", "to_year", "days": [{"date":
// "2026-04-06", "title", "note"}]}; division is then "" or the id.
//
// The published one of the United Kingdom (data file of alphagov/frontend,
// Open Government Licence v3): "divisions", in each years with days as
// dd/mm/yyyy; division names the nation: england-and-wales, scotland or
// northern-ireland.
//
// Every fault found is in the error.
func ReadHolidays(r io.Reader, division string) (*Holidays, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxHolidayFile+1))
	if err != nil {
		return nil, fmt.Errorf("holiday list: %w", err)
	}
	if len(data) > maxHolidayFile {
		return nil, fmt.Errorf("holiday list: longer than %d bytes", maxHolidayFile)
	}
	var top map[string]json.RawMessage
	if err := json.Unmarshal(data, &top); err != nil {
		return nil, fmt.Errorf("holiday list: not a JSON object: %w", err)
	}
	if divisions, ok := top["divisions"]; ok {
		return readPublished(divisions, top["last_updated"], division)
	}
	return readOwn(data, division)
}

// dayText is one day in either form.
type dayText struct {
	Title string `json:"title"`
	Date  string `json:"date"`
	Notes string `json:"notes"`
	Note  string `json:"note"`
}

func readOwn(data []byte, division string) (*Holidays, error) {
	var own struct {
		ID       string    `json:"id"`
		Source   string    `json:"source"`
		FromYear int       `json:"from_year"`
		ToYear   int       `json:"to_year"`
		Days     []dayText `json:"days"`
	}
	dec := json.NewDecoder(strings.NewReader(string(data)))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&own); err != nil {
		return nil, fmt.Errorf("holiday list: %w", err)
	}
	h := &Holidays{ID: own.ID, Source: own.Source, FromYear: own.FromYear, ToYear: own.ToYear}
	var errs []error
	if own.ID == "" || own.Source == "" {
		errs = append(errs, errors.New("holiday list: id and source must be given"))
	}
	if division != "" && division != own.ID {
		errs = append(errs, fmt.Errorf("holiday list: %q was asked for, the file holds %q", division, own.ID))
	}
	if own.FromYear < 1 || own.ToYear < own.FromYear || own.ToYear > 9999 {
		errs = append(errs, fmt.Errorf("holiday list %s: from_year %d and to_year %d do not make a range", own.ID, own.FromYear, own.ToYear))
	}
	for i, d := range own.Days {
		date, err := ParseDate(d.Date)
		if err != nil {
			errs = append(errs, fmt.Errorf("holiday list %s, day %d: %w", own.ID, i+1, err))
			continue
		}
		h.Days = append(h.Days, Holiday{date, d.Title, d.Note})
	}
	errs = append(errs, h.settle())
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	return h, nil
}

func readPublished(divisions, updated json.RawMessage, division string) (*Holidays, error) {
	var all map[string]map[string]json.RawMessage
	if err := json.Unmarshal(divisions, &all); err != nil {
		return nil, fmt.Errorf("holiday list: divisions: %w", err)
	}
	var on string
	if len(updated) > 0 {
		if err := json.Unmarshal(updated, &on); err != nil {
			return nil, fmt.Errorf("holiday list: last_updated: %w", err)
		}
	}
	var names []string
	for _, key := range slices.Sorted(maps.Keys(all)) {
		name := divisionName(key)
		if name == division && division != "" {
			return readDivision(all[key], division, on)
		}
		names = append(names, name)
	}
	return nil, fmt.Errorf("holiday list: division %q is not in the file; it holds %s", division, strings.Join(names, ", "))
}

// divisionName takes the nation from a key such as
// "common.nations.scotland_slug".
func divisionName(key string) string {
	return strings.TrimSuffix(key[strings.LastIndex(key, ".")+1:], "_slug")
}

func readDivision(years map[string]json.RawMessage, division, on string) (*Holidays, error) {
	h := &Holidays{ID: division, Source: "published list"}
	if on != "" {
		h.Source += ", last updated " + on
	}
	var covered []int
	var errs []error
	for _, key := range slices.Sorted(maps.Keys(years)) {
		raw := years[key]
		year, err := strconv.Atoi(key)
		if err != nil {
			continue // words about the division stand beside its years
		}
		covered = append(covered, year)
		var days []dayText
		if err := json.Unmarshal(raw, &days); err != nil {
			errs = append(errs, fmt.Errorf("holiday list %s, year %d: %w", division, year, err))
			continue
		}
		for i, d := range days {
			t, err := time.Parse("02/01/2006", d.Date)
			if err != nil || t.Year() != year {
				errs = append(errs, fmt.Errorf("holiday list %s, year %d, day %d: %q is not a date of that year as dd/mm/yyyy", division, year, i+1, d.Date))
				continue
			}
			h.Days = append(h.Days, Holiday{dateIn(t), wording(d.Title), wording(d.Notes)})
		}
	}
	if len(covered) == 0 {
		return nil, fmt.Errorf("holiday list %s: no years in it", division)
	}
	h.FromYear, h.ToYear = covered[0], covered[len(covered)-1]
	if h.ToYear-h.FromYear+1 != len(covered) {
		errs = append(errs, fmt.Errorf("holiday list %s: years between %d and %d are missing", division, h.FromYear, h.ToYear))
	}
	errs = append(errs, h.settle())
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	return h, nil
}

// wording makes words of a key such as "bank_holidays.good_friday".
func wording(s string) string {
	s = strings.ReplaceAll(s[strings.LastIndex(s, ".")+1:], "_", " ")
	if s == "" {
		return ""
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
