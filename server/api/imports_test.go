package api

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/server/app"
)

// winterFile is a logger file as it comes from an instrument of the United
// States: two lines of head, a row of units, month first, twelve-hour clock, no
// summer time. Of each hour's minutes the first days leave the date order open.
func winterFile(from time.Time, minutes int, level func(i int) string) string {
	var b strings.Builder
	b.WriteString("Logger 7,Serial 4711\n\nDate,Time,LAeq\n,,dBA\n")
	for i := range minutes {
		at := from.Add(time.Duration(i) * time.Minute)
		fmt.Fprintf(&b, "%s,%s\n", at.Format("1/2/2006,3:04:05 PM"), level(i))
	}
	return b.String()
}

func (p *browser) sendFile(text string) string {
	p.site.t.Helper()
	return p.send("POST", "/api/files", raw{"text/csv", []byte(text)}).want(http.StatusCreated).text("sha256")
}

func loggerMapping(more map[string]any) map[string]any {
	m := map[string]any{"time_columns": []string{"Date", "Time"}, "stamp": "begin", "zone": "+00:00", "layout": "M/D/YYYY h:mm:ss AP",
		"values": []any{map[string]any{"column": "LAeq", "channel": "NSR2-LAEQ", "quantity": "noise.laeq", "unit": "dB", "place": "NSR1"}}}
	for k, v := range more {
		m[k] = v
	}
	return m
}

func TestImportIsLookedAtTriedAndKept(t *testing.T) {
	s := serve(t)
	p := s.as(app.Officer)
	// 5 April 2025, 10:00 by a clock that is not put forward: 10:00 UTC.
	start := time.Date(2025, 4, 5, 10, 0, 0, 0, time.UTC)
	file := p.sendFile(winterFile(start, 120, func(i int) string { return fmt.Sprintf("%d.5", 50+i%5) }))

	var look LoggerFile
	p.send("POST", "/api/imports/look", map[string]any{"file": file}).want(200).into(&look)
	if look.HeaderRow != 3 || look.Delimiter != "," || strings.Join(look.Times, " ") != "Date Time" || strings.Join(look.Numbers, " ") != "LAeq" || len(look.Past) != 0 || len(look.Quantities) == 0 {
		t.Errorf("it looks like %+v", look)
	}
	try := func(mapping map[string]any, changed bool) (out ImportTrial) {
		t.Helper()
		p.send("POST", "/api/imports/try", map[string]any{"file": file, "name": "april.csv", "mapping": mapping, "changed": changed}).want(200).into(&out)
		return out
	}
	// Nothing is guessed: zone, stamp, quantity, place and the order of day and month are asked for.
	open := try(map[string]any{"time_columns": []string{"Date", "Time"}, "values": []any{map[string]any{"column": "LAeq", "channel": "", "quantity": "", "unit": "", "place": ""}}}, false)
	var fields []string
	for _, f := range open.Faults {
		fields = append(fields, f.Field)
	}
	equal(t, "asked for", strings.Join(fields, " "), "time.zone time.stamp values.0.channel values.0.quantity values.0.place")
	if open.Good || len(open.Orders) != 2 || open.Orders[0].First != "4 May 2025" || open.Orders[1].First != "5 April 2025" || open.Orders[1].Layout != "M/D/YYYY h:mm:ss AP" {
		t.Errorf("orders %+v", open.Orders)
	}
	good := try(loggerMapping(nil), false)
	if !good.Good || good.Rows != 120 || good.Channels[0].New != 120 || !good.Channels[0].First.Equal(start) || good.Mapping.Interval != "60" || good.Mapping.SkipRows != 1 {
		t.Fatalf("%+v", good)
	}
	// What each clock would mean: on summer time the same figures are an hour earlier.
	zones := map[string]time.Time{}
	for _, z := range good.Zones {
		zones[z.Zone] = z.First
	}
	if !zones["+00:00"].Equal(start) || !zones["Europe/London"].Equal(start.Add(-time.Hour)) {
		t.Errorf("zones %+v", good.Zones)
	}
	keep := func(n int, mapping map[string]any, changed bool) *said {
		return p.send("PUT", "/api/imports/"+newID(n), map[string]any{"file": file, "name": "april.csv", "mapping": mapping, "changed": changed})
	}
	keep(1, loggerMapping(map[string]any{"zone": ""}), false).problem(422, app.Invalid)
	keep(1, loggerMapping(nil), false).want(201)
	keep(1, loggerMapping(nil), false).want(200)
	keep(2, loggerMapping(nil), false).problem(422, app.Invalid) // the same bytes
	readings := "/api/readings?channel=NSR2-LAEQ&from=2025-04-05T10:00:00Z&to=2025-04-05T12:00:00Z"
	p.send("GET", readings, nil).want(200).has(`"n":120`)

	// A file of the same logger is offered the same reading; what differs has to be said.
	file = p.sendFile(winterFile(start.Add(time.Hour), 120, func(i int) string {
		if i == 3 {
			return "99"
		}
		return fmt.Sprintf("%d.5", 50+i%5)
	}))
	p.send("POST", "/api/imports/look", map[string]any{"file": file}).want(200).into(&look)
	if len(look.Past) != 1 || look.Past[0].Mapping.Zone != "+00:00" || look.Past[0].Mapping.Values[0].Place != "NSR1" {
		t.Errorf("offered %+v", look.Past)
	}
	again := try(loggerMapping(nil), false)
	if again.Channels[0].New != 60 || again.Channels[0].Changed != 1 || again.Channels[0].Same != 59 || again.Changed != 1 {
		t.Errorf("%+v", again.Channels)
	}
	// What was rejected is the same reading still.
	p.send("PUT", "/api/entries/"+newID(9), map[string]any{"kind": "rejection.1", "at": "2025-04-05T11:10:00.000Z", "until": "2025-04-05T11:40:00.000Z", "at_precision": "minute",
		"body": map[string]any{"channel": "NSR2-LAEQ", "reason": "wind", "note": "gusts"}}).want(201)
	if rejected := try(loggerMapping(nil), false); rejected.Changed != 1 || rejected.Channels[0].Same != 59 {
		t.Errorf("after a rejection: %+v", rejected.Channels)
	}
	keep(3, loggerMapping(nil), false).problem(422, app.Invalid)
	keep(3, loggerMapping(nil), true).want(201)

	// Taken back, visibly: the first file counts again.
	undo := "/api/imports/" + newID(3) + "/withdrawal/" + newID(4)
	p.send("PUT", undo, map[string]any{"reason": ""}).problem(422, app.Invalid)
	p.send("PUT", undo, map[string]any{"reason": "the wrong logger"}).want(201)
	p.send("PUT", undo, map[string]any{"reason": "the wrong logger"}).want(200)
	p.send("PUT", "/api/imports/"+newID(3)+"/withdrawal/"+newID(5), map[string]any{"reason": "again"}).problem(409, app.Conflict)
	p.send("GET", "/api/readings?channel=NSR2-LAEQ&from=2025-04-05T12:00:00Z&to=2025-04-05T13:00:00Z", nil).want(200).has(`"n":0`)
	s.as(app.Regulator).send("POST", "/api/imports/look", map[string]any{"file": file}).problem(403, app.Forbidden)
}

// TestImportsThatAreRefused: what is wrong is named by line, column or field.
func TestImportsThatAreRefused(t *testing.T) {
	s := serve(t)
	p := s.as(app.Officer)
	iso := func(lines ...string) string { return "time,LAeq\n" + strings.Join(lines, "\n") + "\n" }
	mapping := func(more map[string]any) map[string]any {
		m := loggerMapping(map[string]any{"time_columns": []string{"time"}, "layout": "", "zone": "Europe/London"})
		for k, v := range more {
			m[k] = v
		}
		return m
	}
	value := func(key, v string) map[string]any {
		one := map[string]any{"column": "LAeq", "channel": "NSR2-LAEQ", "quantity": "noise.laeq", "unit": "dB", "place": "NSR1"}
		one[key] = v
		return map[string]any{"values": []any{one}}
	}
	fine := iso("2025-04-05 10:00,54", "2025-04-05 10:15,55", "2025-04-05 10:30,55")
	for _, tt := range []struct {
		name, file string
		mapping    map[string]any
		says       string
	}{
		{"text among the figures", iso("2025-04-05 10:00,54", "2025-04-05 10:15,n/a", "2025-04-05 10:30,55"), mapping(nil), `"line":3`},
		{"that text named", iso("2025-04-05 10:00,54", "2025-04-05 10:15,n/a", "2025-04-05 10:30,55"), mapping(map[string]any{"missing": []string{"n/a"}}), `"good":true`},
		{"a time that stands twice with another value", iso("2025-04-05 10:00,54", "2025-04-05 10:00,55", "2025-04-05 10:15,55"), mapping(nil), `"line":3`},
		{"the hour that the clocks go back over", iso("2025-10-26 00:45,54", "2025-10-26 01:00,55", "2025-10-26 01:15,55", "2025-10-26 02:00,55"), mapping(nil), "twice"},
		{"the same by a clock that is not put back", iso("2025-10-26 00:45,54", "2025-10-26 01:00,55", "2025-10-26 01:15,55", "2025-10-26 02:00,55"), mapping(map[string]any{"zone": "+00:00"}), `"good":true`},
		{"an hour that the clock never shows", iso("2025-03-30 00:45,54", "2025-03-30 01:00,55", "2025-03-30 02:00,55"), mapping(nil), `"bad_count":1`},
		{"a gap in the file", iso("2025-04-05 10:00,54", "2025-04-05 10:15,55", "2025-04-05 10:30,55", "2025-04-05 11:30,55"), mapping(nil), `"gaps":[{"from":"2025-04-05T09:45:00Z","to":"2025-04-05T10:30:00Z"}]`},
		{"a column that is not there", fine, mapping(value("column", "LA90")), "no line holds the columns"},
		{"a place that is not on the plan", fine, mapping(value("place", "NOWHERE")), "no place of the plan"},
		{"a unit of something else", fine, mapping(value("unit", "mg/L")), "values.0.unit"},
		{"a channel on file as something else", fine, mapping(value("channel", "AQ1-PM10")), "is on file as dust.pm10"},
		{"a stamp nobody knows", fine, mapping(map[string]any{"stamp": "dawn"}), `"field":"mapping"`},
		{"less than nothing", "time,Rain\n2025-04-05 10:00,-1\n2025-04-05 10:15,2\n2025-04-05 10:30,0\n",
			mapping(map[string]any{"values": []any{map[string]any{"column": "Rain", "channel": "R1", "quantity": "weather.rain", "unit": "mm", "place": "NSR1"}}}), `"below":1`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got := p.send("POST", "/api/imports/try", map[string]any{"file": p.sendFile(tt.file), "name": "x.csv", "mapping": tt.mapping})
			got.t = t
			got.want(200).has(tt.says)
		})
	}
	p.send("POST", "/api/imports/try", map[string]any{"file": strings.Repeat("a", 64), "name": "x.csv", "mapping": mapping(nil)}).problem(404, app.NotFound)
	p.send("POST", "/api/imports/look", map[string]any{"file": "x"}).problem(422, app.Invalid)
}
