package site

import (
	"fmt"
	"strconv"

	"github.com/swardbook/swardbook/compliance/book"
)

// calendarKind is a holiday list, or the days proclaimed later for one. Years
// outside from_year to to_year are not covered and cannot be judged.
func calendarKind() *book.Kind {
	return &book.Kind{
		Name: "calendar.1", Subject: "site", Title: "Holiday list",
		Help: "Public holidays as published, with their source and the years they cover.",
		Fields: []book.Field{
			{Name: "id", Title: "List", Type: book.Text, Required: true, Help: "The name that notices use, such as england-and-wales."},
			{Name: "source", Title: "Source", Type: book.Text, Required: true},
			{Name: "from_year", Title: "First year covered", Type: book.Integer, Required: true, Min: "1900", Max: "2200"},
			{Name: "to_year", Title: "Last year covered", Type: book.Integer, Required: true, Min: "1900", Max: "2200"},
			{Name: "days", Title: "Days", Type: book.List, Required: true, Fields: []book.Field{
				{Name: "date", Title: "Date", Type: book.Day, Required: true},
				{Name: "title", Title: "Holiday", Type: book.Text, Required: true},
				{Name: "note", Title: "Note", Type: book.Text},
			}},
		},
		Place: book.NoPlace, Length: book.Moment,
		Check: checkCalendar,
	}
}

func checkCalendar(o book.Object) []book.Fault {
	from, to := o.Integer("from_year"), o.Integer("to_year")
	if from > to {
		return []book.Fault{{Field: "to_year", Reason: fmt.Sprintf("the last year covered, %d, lies before the first, %d", to, from), Remedy: "exchange them"}}
	}
	var faults []book.Fault
	seen := map[string]bool{}
	for i, day := range o.Objects("days") {
		date := day.Text("date")
		field := fmt.Sprintf("days.%d.date", i)
		if len(date) < 4 {
			continue
		}
		if year, err := strconv.ParseInt(date[:4], 10, 64); err == nil && (year < from || year > to) {
			faults = append(faults, book.Fault{Field: field, Reason: date + " lies outside the years covered", Remedy: "widen the years only if the list is whole for them, or remove the day"})
		}
		if seen[date] {
			faults = append(faults, book.Fault{Field: field, Reason: date + " stands twice", Remedy: "keep one"})
		}
		seen[date] = true
	}
	return faults
}
