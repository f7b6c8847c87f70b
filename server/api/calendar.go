package api

import (
	"fmt"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"

	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/duty"
	"github.com/swardbook/swardbook/server/app"
)

// feedToken takes the token out of the last part of a calendar's address.
func feedToken(part string) (string, bool) { return strings.CutSuffix(part, ".ics") }

// calendarOf writes duties as an iCalendar (RFC 5545): an event of the whole
// last day of each, and of the day of writing for what is overdue. What has no
// date and what is done are left out.
func calendarOf(list []duty.Duty, snap *app.Snapshot, role app.Role) string {
	site := snap.Record.Site()
	cal := ics.NewCalendar()
	cal.SetMethod(ics.MethodPublish)
	cal.SetProductId("-//Swardbook//duties//EN")
	cal.SetName(site.Name + ": duties of the " + string(role))
	cal.SetDescription("What is to be done, from the book of " + site.Name + ". " + catalogue.Caution("verdict"))
	cal.SetRefreshInterval("PT1H")
	for i := range list {
		d := &list[i]
		if d.By.IsZero() || d.State == duty.Done {
			continue
		}
		day := d.By.Add(-time.Millisecond).In(site.Zone)
		words := d.What
		if d.State == duty.Overdue {
			words = fmt.Sprintf("Overdue since %s: %s", day.Format("2 Jan 2006"), d.What)
			day = snap.At.In(site.Zone)
		}
		e := cal.AddEvent(d.ID + "@" + site.ID + ".swardbook")
		e.SetDtStampTime(snap.At)
		e.SetSummary(words)
		e.SetAllDayStartAt(day)
		e.SetAllDayEndAt(day.AddDate(0, 0, 1))
		e.SetTimeTransparency(ics.TransparencyTransparent)
		e.SetDescription(dutyWords(d, site.Zone))
		e.AddCategory(string(d.State))
		if d.Place != "" {
			e.SetLocation(d.Place)
		}
	}
	return cal.Serialize(ics.WithNewLineWindows)
}

// dutyWords says of a duty what a calendar has room for.
func dutyWords(d *duty.Duty, zone *time.Location) string {
	lines := []string{"Post: " + d.Post}
	if d.Before != "" {
		lines[0] += ", after the " + d.Before
	}
	if d.Vacant {
		lines[0] += "; nobody is on record as holding it"
	}
	if d.Condition != "" {
		lines = append(lines, fmt.Sprintf("Clause %s of %s: %s", d.Clause, d.Permit, d.Title))
	}
	if d.Why != "" {
		lines = append(lines, d.Why)
	}
	if at := d.By.In(zone); at.Hour() != 0 || at.Minute() != 0 {
		lines = append(lines, "Its time is over at "+at.Format("15:04 MST"))
	}
	if d.More > 1 {
		lines = append(lines, fmt.Sprintf("%d are still wanted", d.More))
	}
	return strings.Join(lines, "\n")
}
